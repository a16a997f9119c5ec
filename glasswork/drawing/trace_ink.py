"""Ink told from paper: a light level for every place, whatever the light, the ground, the pencil.

The paper's brightness is followed over the sheet; the limit lies midway between it and the ink.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.trace_rings import Mask
from glasswork.drawing.trace_tiles import Limits, dark_pixels, softened
from glasswork.model.window import Scan

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
FAINT = 0.60
"""What is as dark as this may be a thin line."""
MOST_THIN_PX = 40
WASH_CHROMA = 24.0
"""A wash differs at least so much between its brightest and darkest channel."""
_WASH_CELLS = 4
_SAMPLES = 30_000
_FEWEST = 5
_ROWS = 256


class Ink(Struct, frozen=True, kw_only=True):
    """lines : 255 where ink is, else 0 · grey : the softened picture · level : the limit between
    ink and paper in cells · tone : of the ink, likewise · cell_px : how many pixels a cell is wide
    · paper : how many times as bright as the limit · too_thin : some lines are for this picture
    """

    lines: Mask
    grey: Mask
    level: NDArray[np.float32]
    tone: NDArray[np.float32]
    cell_px: int
    paper: float
    too_thin: bool = False

    def limit_near(self, x: NDArray[Any], y: NDArray[Any]) -> NDArray[np.float32]:
        """The limit in the cells of pixels."""
        at = (y // self.cell_px) * self.level.shape[1] + x // self.cell_px
        return np.asarray(self.level.take(at), np.float32)

    def tone_at(self, points: Floats) -> Floats:
        """The ink's own light at places, (n, 2) px."""
        return light_at(self.tone, (points + 0.5) / self.cell_px - 0.5)


def light_at(picture: NDArray[Any], places: Floats) -> Floats:
    """A picture's values between its pixels, places (n, 2) x and y; its rim goes on outside."""
    rows, columns = picture.shape
    x, y = np.clip(places, 0.0, (columns - 1.0, rows - 1.0)).T
    i, j = y.astype(np.intp), x.astype(np.intp)
    fy, fx = y - i, x - j
    down, right = np.minimum(i + 1, rows - 1), np.minimum(j + 1, columns - 1)
    top = picture[i, j] * (1.0 - fx) + picture[i, right] * fx
    low = picture[down, j] * (1.0 - fx) + picture[down, right] * fx
    return np.asarray(top * (1.0 - fy) + low * fy)


def ink_grey(scan: Scan) -> Mask:
    """Grey in which black ink is dark and coloured washes are not: the brightest channel."""
    import cv2

    if scan.rgb is None:
        return scan.grey
    found = np.empty(scan.rgb.shape[:2], np.uint8)
    for top in range(0, len(found), _ROWS):
        red, green, blue = cv2.split(scan.rgb[top : top + _ROWS])
        cv2.max(cv2.max(red, green), blue, dst=found[top : top + _ROWS])
    return found


def find_ink(
    grey: Mask,
    *,
    mm_per_px: float,
    sheet: Floats | None = None,
    rgb: Mask | None = None,
    small: Mask | None = None,
    pitch: int = 1,
) -> Ink | None:
    """The ink of a sheet; None if nothing on it is dark.

    sheet : its corners in turn, (4, 2) px, where it does not fill the picture · rgb : the same in
    colour: dark washes are told from ink by it · small : the picture in cells, if it is known
    pitch : how many pixels of the scan a pixel is wide, of which it is the mean; rgb is the scan's
    """
    import cv2

    cell = cell_size_px(mm_per_px)
    with ThreadPoolExecutor(1) as beside:
        means = beside.submit(lambda: None if pitch == 1 else cv2.blur(grey, (3, 3)))
        soft = softened(grey) if pitch == 1 else grey
        small = cells_of(grey, cell) if small is None else small
        washes = None if rgb is None else wash_light(cells_of(rgb, cell * pitch), small)
        paper = paper_light(small, cell_mm=mm_per_px * cell, washes=washes)
        tones = _tones(grey, (paper, washes), cell, sheet)
    if tones is None:
        return None
    dark, bright = tones
    tone = paper * np.float32(dark)
    shares = (0.5, CORE, FAINT)
    if washes is None:
        level, core, faint = (paper * np.float32(dark + k * (bright - dark)) for k in shares)
    else:
        across = 2 * _WASH_CELLS + 1
        near = np.asarray(cv2.erode(washes, np.ones((across, across), np.uint8)), np.float32)
        depth = np.minimum(paper * np.float32(bright), near) - tone
        level, core, faint = (tone + np.float32(k) * depth for k in shares)
    limits = Limits(
        level=level,
        core=core,
        faint=None if pitch == 1 else faint,
        cell_px=cell,
        reach_px=max(1 if pitch == 1 else 2, round(EDGE_MM / mm_per_px)),
    )
    together = means.result()
    lines, thin = dark_pixels(soft, soft if together is None else np.asarray(together), limits)
    return Ink(
        lines=lines,
        grey=soft,
        level=level,
        tone=tone,
        cell_px=cell,
        paper=2.0 * bright / (dark + bright),
        too_thin=thin > MOST_THIN_PX,
    )


def cell_size_px(mm_per_px: float) -> int:
    return max(1, round(CELL_MM / mm_per_px))


def cells_of(grey: Mask, cell_px: int) -> Mask:
    """The picture in cells, the mean of each; a cell cut short at the far edges is like the one
    before it.
    """
    import cv2

    high, wide = (side // cell_px * cell_px for side in grey.shape[:2])
    if not high or not wide:
        return np.full((1, 1, *grey.shape[2:]), grey.mean(axis=(0, 1)), np.uint8)
    size = (wide // cell_px, high // cell_px)
    small = np.asarray(cv2.resize(grey[:high, :wide], size, interpolation=cv2.INTER_AREA))
    more = (int(grey.shape[0] > high), int(grey.shape[1] > wide))
    if any(more):
        small = np.asarray(cv2.copyMakeBorder(small, 0, more[0], 0, more[1], cv2.BORDER_REPLICATE))
    return small.astype(np.uint8, copy=False)


def paper_light(
    small: Mask, *, cell_mm: float, washes: NDArray[np.float32] | None = None
) -> NDArray[np.float32]:
    """How bright the paper is in every cell: the brightest about it, smoothed.

    washes : as `wash_light` gives them; they are no paper, unless most of the sheet is so coloured
    """
    import cv2

    reach = max(3, round(WIDEST_INK_MM / cell_mm) | 1)
    reach = min(reach, (min(small.shape) // 2) | 1)
    # so wide a blur is straight between every fourth cell
    few = 4 if reach >= 4 * _FEWEST else 1
    around = np.ones(((reach // few) | 1,) * 2, np.uint8)
    bright = np.asarray(cv2.dilate(_brightest(small, few), around), np.float32)
    floor = np.float32(DARKEST_PAPER * float(np.percentile(bright, 95.0)))
    if washes is not None:
        washed = washes < 255.0
        if washed.any() and washed.mean() < 0.5 * (small >= floor).mean():
            bare = _brightest(np.where(washed, np.uint8(0), small), few)
            bright = _bridged(np.asarray(cv2.dilate(bare, around), np.float32), floor, reach / few)
    soft = _smoothed(np.maximum(bright, floor), reach / 2.0 / few)
    whole = cv2.resize(soft, small.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return np.asarray(whole, np.float32)


def _brightest(cells: Mask, few: int) -> Mask:
    """The brightest of so many cells across and down; those cut short at the far edges too."""
    if few == 1:
        return cells
    rows, columns = (-(-side // few) * few for side in cells.shape)
    more = ((0, rows - cells.shape[0]), (0, columns - cells.shape[1]))
    whole = np.pad(cells, more, mode="edge")
    down = np.maximum.reduce([whole[first::few] for first in range(few)])
    return np.asarray(np.maximum.reduce([down[:, first::few] for first in range(few)]))


def _smoothed(cells: NDArray[np.float32], reach: float) -> NDArray[np.float32]:
    import cv2

    return np.asarray(cv2.GaussianBlur(cells, (0, 0), max(0.5, reach)), np.float32)


def _bridged(bright: NDArray[np.float32], floor: np.float32, reach: float) -> NDArray[np.float32]:
    """Cells where no paper is near take the light of the paper about them."""
    known = bright >= floor
    if known.all() or not known.any():
        return bright
    light, weight = (_smoothed(part.astype(np.float32), 2.0 * reach) for part in
                     (bright * known, known))  # fmt: skip
    far = np.where(weight > 1e-4, light / np.maximum(weight, 1e-4), np.median(bright[known]))
    return np.where(known, bright, far).astype(np.float32)


def wash_light(rgb: Mask, grey: Mask) -> NDArray[np.float32]:
    """How bright the colour wash in every cell is, 255 in cells without one, of a picture in cells.

    A wash is even and coloured from the cell before to the cell after, both ways.
    """
    import cv2

    red, green, blue = cv2.split(rgb)
    top = np.asarray(cv2.max(cv2.max(red, green), blue), np.float32)
    chroma = top - np.asarray(cv2.min(cv2.min(red, green), blue), np.float32)
    coloured = (chroma >= np.maximum(WASH_CHROMA, 0.25 * top)).astype(np.uint8)
    coloured = np.asarray(cv2.erode(coloured, np.ones((3, 3), np.uint8)))
    light = grey.astype(np.float32)
    spread = cv2.dilate(light, np.ones((3, 3), np.uint8)) - cv2.erode(
        light, np.ones((3, 3), np.uint8)
    )
    even = (coloured > 0) & (np.asarray(spread) <= 0.35 * light)
    return np.where(even, light, np.float32(255.0))


def _tones(
    grey: Mask,
    lights: tuple[NDArray[np.float32], NDArray[np.float32] | None],
    cell: int,
    sheet: Floats | None,
) -> tuple[float, float] | None:
    """How bright ink and paper are as shares of the paper's light; None if nothing is dark.

    lights : of paper and washes, in cells
    """
    paper, washes = lights
    step = max(1, round((grey.size / _SAMPLES) ** 0.5))
    rows = np.arange(step // 2, grey.shape[0], step)
    columns = np.arange(step // 2, grey.shape[1], step)
    in_cells = np.ix_(rows // cell, columns // cell)
    lit = grey[step // 2 :: step, step // 2 :: step] / np.maximum(paper[in_cells], 1.0)
    bare = np.ones(lit.shape, dtype=bool) if washes is None else washes[in_cells] == 255.0
    if sheet is not None:
        inside = _inside(sheet, rows, columns)
        lit, bare = lit[inside], bare[inside]
    edges = np.linspace(0.0, 1.28, 257)
    counts = np.bincount((lit.ravel() * (256 / 1.28)).astype(np.intp), minlength=256)[:256]
    split = _otsu(counts.astype(np.float64), edges)
    # washes may be as dark as ink, and are none
    dark, bright = lit[(lit < split) & bare], lit[lit >= split]
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
