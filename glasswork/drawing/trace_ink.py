"""Ink told from paper: a light level for every place, whatever the light, the ground, the pencil.

The paper's brightness is followed over the sheet; the limit lies midway between it and the ink.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.model.window import Scan

Mask = NDArray[np.uint8]
Floats = NDArray[np.float64]

CELL_MM = 0.4
"""The paper's light is known in cells of this size."""
WIDEST_INK_MM = 14.0
"""The paper is the brightest within this; broader ink is told by DARKEST_PAPER."""
DARKEST_PAPER = 0.45
"""Paper is never darker than this share of the brightest paper on the sheet."""
LEAST_CONTRAST = 0.15
CORE = 0.40
"""Ink is as dark as this, between ink 0 and paper 1, or lies beside what is: pencil does not."""
EDGE_MM = 0.08
"""How far the soft edge of a line reaches."""
_SAMPLES = 400_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Ink:
    """lines : 255 where ink is, else 0 · grey : the softened picture · level : the limit between
    ink and paper in cells · cell_px : how many pixels a cell is wide
    """

    lines: Mask
    grey: Mask
    level: NDArray[np.float32]
    cell_px: int

    def level_at(self, points: Floats) -> Floats:
        """The limit at places, (n, 2) px."""
        rows, columns = self.level.shape
        x = np.clip((points[:, 0] + 0.5) / self.cell_px - 0.5, 0.0, columns - 1.001)
        y = np.clip((points[:, 1] + 0.5) / self.cell_px - 0.5, 0.0, rows - 1.001)
        i, j = y.astype(np.intp), x.astype(np.intp)
        fy, fx = y - i, x - j
        down, right = np.minimum(i + 1, rows - 1), np.minimum(j + 1, columns - 1)
        top = self.level[i, j] * (1.0 - fx) + self.level[i, right] * fx
        low = self.level[down, j] * (1.0 - fx) + self.level[down, right] * fx
        return np.asarray(top * (1.0 - fy) + low * fy)


def ink_grey(scan: Scan) -> Mask:
    """Grey in which black ink is dark and coloured washes are not: the brightest channel."""
    import cv2

    if scan.rgb is None:
        return scan.grey
    red, green, blue = cv2.split(scan.rgb)
    return np.asarray(cv2.max(cv2.max(red, green), blue)).astype(np.uint8, copy=False)


def find_ink(grey: Mask, *, mm_per_px: float, sheet: Floats | None = None) -> Ink | None:
    """The ink of a sheet; None if nothing on it is dark.

    sheet : its corners in turn, (4, 2) px, where it does not fill the picture
    """
    import cv2

    cell = max(1, round(CELL_MM / mm_per_px))
    paper = paper_light(grey, cell_px=cell, mm_per_px=mm_per_px)
    tones = _tones(grey, paper, cell, sheet)
    if tones is None:
        return None
    dark, bright = tones
    share = (dark + bright) / 2.0
    soft = np.asarray(cv2.GaussianBlur(grey, (3, 3), 0))
    level = paper * np.float32(share)
    lines = cv2.compare(soft, _grown(level, cell, grey.shape), cv2.CMP_LT)
    core = paper * np.float32(dark + CORE * (bright - dark))
    sure = cv2.compare(soft, _grown(core, cell, grey.shape), cv2.CMP_LT)
    reach = 2 * max(2, round(EDGE_MM / mm_per_px)) + 1
    cv2.dilate(sure, np.ones((reach, reach), np.uint8), dst=sure)
    cv2.bitwise_and(lines, sure, dst=lines)
    return Ink(
        lines=np.asarray(lines).astype(np.uint8, copy=False),
        grey=soft.astype(np.uint8, copy=False),
        level=level,
        cell_px=cell,
    )


def _grown(level: NDArray[np.float32], cell: int, shape: tuple[int, int]) -> Mask:
    """The level of every pixel."""
    import cv2

    rows, columns = level.shape
    large = cv2.resize(
        np.round(level).astype(np.uint8), (columns * cell, rows * cell),
        interpolation=cv2.INTER_LINEAR,
    )  # fmt: skip
    return np.asarray(large).astype(np.uint8, copy=False)[: shape[0], : shape[1]]


def cells_of(grey: Mask, cell_px: int) -> Mask:
    """The picture in cells, the mean of each; cells at the far edges are filled up."""
    import cv2

    high, wide = grey.shape
    more = (-high % cell_px, -wide % cell_px)
    full = grey
    if any(more):
        full = np.asarray(
            cv2.copyMakeBorder(grey, 0, more[0], 0, more[1], cv2.BORDER_REPLICATE)
        ).astype(np.uint8, copy=False)
    size = (full.shape[1] // cell_px, full.shape[0] // cell_px)
    return np.asarray(cv2.resize(full, size, interpolation=cv2.INTER_AREA)).astype(np.uint8)


def paper_light(grey: Mask, *, cell_px: int, mm_per_px: float) -> NDArray[np.float32]:
    """How bright the paper is in every cell: the brightest about it, smoothed."""
    import cv2

    small = cells_of(grey, cell_px)
    reach = max(3, round(WIDEST_INK_MM / (mm_per_px * cell_px)) | 1)
    reach = min(reach, (min(small.shape) // 2) | 1)
    bright = cv2.dilate(small, np.ones((reach, reach), np.uint8))
    floor = DARKEST_PAPER * float(np.percentile(bright, 95.0))
    bright = np.maximum(np.asarray(bright, np.float32), np.float32(floor))
    return np.asarray(cv2.GaussianBlur(bright, (0, 0), reach / 2.0), np.float32)


def _tones(
    grey: Mask, paper: NDArray[np.float32], cell: int, sheet: Floats | None
) -> tuple[float, float] | None:
    """How bright ink and paper are as shares of the paper's light; None if nothing is dark."""
    step = max(1, round((grey.size / _SAMPLES) ** 0.5))
    rows = np.arange(step // 2, grey.shape[0], step)
    columns = np.arange(step // 2, grey.shape[1], step)
    lit = grey[np.ix_(rows, columns)] / np.maximum(
        paper[np.ix_(rows // cell, columns // cell)], 1.0
    )
    if sheet is not None:
        lit = lit[_inside(sheet, rows, columns)]
    counts, edges = np.histogram(lit, bins=256, range=(0.0, 1.28))
    split = _otsu(counts.astype(np.float64), edges)
    dark, bright = lit[lit < split], lit[lit >= split]
    if not len(dark) or not len(bright):
        return None
    ink, ground = float(np.percentile(dark, 35.0)), float(np.median(bright))
    if ground - ink < LEAST_CONTRAST:
        return None
    return ink, ground


def _inside(sheet: Floats, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> Any:
    """Which places of a lattice lie in a convex sheet, corners clockwise on paper."""
    found = np.ones((len(rows), len(columns)), dtype=bool)
    for (x0, y0), (x1, y1) in zip(sheet, np.roll(sheet, -1, axis=0), strict=True):
        found &= (x1 - x0) * (rows[:, None] - y0) - (y1 - y0) * (columns[None] - x0) > 0.0
    return found


def _otsu(counts: Floats, edges: Floats) -> float:
    """The value that parts a histogram into the two narrowest classes. Source: [otsu1979]"""
    middles = (edges[:-1] + edges[1:]) / 2.0
    below = np.cumsum(counts)
    mass = np.cumsum(counts * middles)
    above = below[-1] - below
    apart = (mass[-1] * below / below[-1] - mass) ** 2 / np.maximum(below * above, 1e-9)
    return float(edges[1:][np.argmax(apart)])
