"""Dark pixels of a whole picture, found strip by strip: one stays in the processor's cache.

A picture whose pixels are the means of several is soft already, and tells by itself whether every
line in it is broad enough to be followed there.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.uint8]
Cells = NDArray[np.float32]

STRIP_PX = 600_000
"""Pixels of a strip, about."""
BLOCK_PX = 512
EVEN = 6.0
"""Grey levels by which the limit may differ in a part that is taken as one."""
_THREADS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What counts as dark, in cells: below `level`, if it lies within `reach_px` of a place below
    `core`. If `faint` is told, three by three pixels together must be below `core`, as they are on
    a line that is two pixels wide, wherever it lies; what is below `faint` and not near such a
    place is a line too thin to be followed.
    """

    level: Cells
    core: Cells
    faint: Cells | None
    cell_px: int
    reach_px: int


def dark_pixels(soft: Mask, limits: Limits) -> tuple[Mask, int]:
    """255 where a soft picture is dark, else 0; and how many pixels are of lines too thin."""
    lines = np.empty_like(soft)
    with ThreadPoolExecutor(_THREADS) as pool:
        step = max(64, STRIP_PX // soft.shape[1])
        tops = range(0, len(soft), step)
        thin = pool.map(lambda top: _paint(soft, limits, lines, (top, top + step)), tops)
        return lines, sum(thin)


def softened(grey: Mask) -> Mask:
    import cv2

    return np.asarray(cv2.GaussianBlur(grey, (3, 3), 0), np.uint8)


def _paint(soft: Mask, limits: Limits, lines: Mask, rows: tuple[int, int]) -> int:
    """The dark pixels of one strip of rows; returns how many are of lines too thin."""
    import cv2

    top, bottom = rows[0], min(len(soft), rows[1])
    found = lines[top:bottom]
    _below(soft[top:bottom], limits.level, limits.cell_px, (top, bottom), found)
    first, last = max(0, top - limits.reach_px), min(len(soft), bottom + limits.reach_px)
    sure = np.empty((last - first, soft.shape[1]), np.uint8)
    light = soft[first:last]
    light = light if limits.faint is None else np.asarray(cv2.blur(light, (3, 3)))
    _below(light, limits.core, limits.cell_px, (first, last), sure)
    across = 2 * limits.reach_px + 1
    wide = np.asarray(cv2.dilate(sure, np.ones((across, across), np.uint8)))
    wide = wide[top - first : bottom - first]
    cv2.bitwise_and(found, wide, dst=found)
    if limits.faint is None:
        return 0
    thin = np.empty_like(found)
    _below(soft[top:bottom], limits.faint, limits.cell_px, (top, bottom), thin)
    return cv2.countNonZero(cv2.subtract(thin, wide))


def _below(light: Mask, level: Cells, cell: int, rows: tuple[int, int], found: Mask) -> None:
    """255 into `found` where rows of the picture are darker than the limit there, else 0.

    rows : first and one after the last of `light` in the picture
    """
    import cv2

    top, bottom = rows
    band = level[top // cell : (bottom - 1) // cell + 1]
    for left, right in _blocks(band, light.shape[1]):
        part = band[:, left // cell : (right - 1) // cell + 1]
        here, into = light[:, left:right], found[:, left:right]
        least, most = float(part.min()), float(part.max())
        if most - least <= EVEN:
            limit = float(np.ceil((least + most) / 2.0) - 1.0)
            cv2.threshold(here, limit, 255, cv2.THRESH_BINARY_INV, dst=into)
        else:
            cv2.compare(here, _grown(level, cell, rows, (left, right)), cv2.CMP_LT, dst=into)


def _blocks(band: Cells, columns: int) -> Iterator[tuple[int, int]]:
    """The whole width, if the limit is even over it, else blocks."""
    step = columns if float(np.ptp(band)) <= EVEN else BLOCK_PX
    for left in range(0, columns, step):
        yield left, min(columns, left + step)


def _grown(level: Cells, cell: int, rows: tuple[int, int], columns: tuple[int, int]) -> Mask:
    """The limit of every pixel of some rows and columns."""
    import cv2

    # a cell more each way, so that the limit runs on smoothly from part to part
    top, left = max(0, rows[0] // cell - 1), max(0, columns[0] // cell - 1)
    part = level[top : (rows[1] - 1) // cell + 2, left : (columns[1] - 1) // cell + 2]
    size = (part.shape[1] * cell, part.shape[0] * cell)
    grown = np.asarray(cv2.resize(np.round(part).astype(np.uint8), size), np.uint8)
    y, x = rows[0] - top * cell, columns[0] - left * cell
    return grown[y : y + rows[1] - rows[0], x : x + columns[1] - columns[0]]
