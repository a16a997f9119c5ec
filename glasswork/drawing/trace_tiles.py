"""Dark pixels of a whole picture, found strip by strip in memory that is used again.

A picture whose pixels are the means of several is soft already, and tells by itself whether every
line in it is broad enough to be followed there.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Mask = NDArray[np.uint8]
Cells = NDArray[np.float32]

STRIP_PX = 1_200_000
"""Pixels of a strip, about."""
BLOCK_PX = 512
EVEN = 6.0
"""Grey levels by which the limit may differ in a part that is taken as one."""
_THREADS = 2


class Limits(Struct, frozen=True, kw_only=True):
    """What counts as dark, in cells: below `level`, if it lies within `reach_px` of a place below
    `core`. If `faint` is told, what is below it and not near such a place is a line too thin to be
    followed.
    """

    level: Cells
    core: Cells
    faint: Cells | None
    cell_px: int
    reach_px: int


def dark_pixels(soft: Mask, cores: Mask, limits: Limits) -> tuple[Mask, int]:
    """255 where a soft picture is dark, else 0; and how many pixels are of lines too thin.

    cores : what is held against `limits.core`: the same picture, or the means of three by three
    pixels, which are as dark as ink on a line that is two pixels wide, wherever it lies
    """
    lines = np.empty_like(soft)
    step = max(64, STRIP_PX // soft.shape[1])
    strips = [(top, min(len(soft), top + step)) for top in range(0, len(soft), step)]

    def paint(some: list[tuple[int, int]]) -> int:
        # the same memory for every strip
        room = np.empty((2, step + 2 * limits.reach_px, soft.shape[1]), np.uint8)
        return sum(_paint((soft, cores, lines), limits, rows, room) for rows in some)

    with ThreadPoolExecutor(_THREADS) as pool:
        thin = sum(pool.map(paint, [strips[first::_THREADS] for first in range(_THREADS)]))
    return lines, thin


def softened(grey: Mask) -> Mask:
    import cv2

    return np.asarray(cv2.GaussianBlur(grey, (3, 3), 0), np.uint8)


def _paint(
    pictures: tuple[Mask, Mask, Mask], limits: Limits, rows: tuple[int, int], room: Mask
) -> int:
    """The dark pixels of one strip; returns how many are of lines too thin.

    pictures : soft, cores and lines, as in `dark_pixels` · rows : first and one after the last
    room : two pictures to work in
    """
    import cv2

    (soft, cores, lines), (top, bottom), (one, other) = pictures, rows, room
    found = lines[top:bottom]
    _below(soft[top:bottom], limits.level, limits.cell_px, (top, bottom), found)
    first, last = max(0, top - limits.reach_px), min(len(soft), bottom + limits.reach_px)
    sure, wide = one[: last - first], other[: last - first]
    _below(cores[first:last], limits.core, limits.cell_px, (first, last), sure)
    across = 2 * limits.reach_px + 1
    cv2.dilate(sure, np.ones((across, across), np.uint8), dst=wide)
    near = wide[top - first : bottom - first]
    cv2.bitwise_and(found, near, dst=found)
    if limits.faint is None:
        return 0
    thin = sure[: bottom - top]
    _below(soft[top:bottom], limits.faint, limits.cell_px, (top, bottom), thin)
    cv2.subtract(thin, near, dst=thin)
    return cv2.countNonZero(thin)


def _below(light: Mask, level: Cells, cell: int, rows: tuple[int, int], found: Mask) -> None:
    """255 into `found` where rows of the picture are darker than the limit there, else 0.

    rows : first and one after the last of `light` in the picture
    """
    import cv2

    top, bottom = rows
    band = level[top // cell : (bottom - 1) // cell + 1]
    if _even_below(light, band, found):
        return
    for left in range(0, light.shape[1], BLOCK_PX):
        right = min(light.shape[1], left + BLOCK_PX)
        part = band[:, left // cell : (right - 1) // cell + 1]
        here, into = light[:, left:right], found[:, left:right]
        if not _even_below(here, part, into):
            cv2.compare(here, _grown(level, cell, rows, (left, right)), cv2.CMP_LT, dst=into)


def _even_below(light: Mask, level: Cells, found: Mask) -> bool:
    """As `_below`, if the limit is even enough to be one number; returns whether it is."""
    import cv2

    least, most = float(level.min()), float(level.max())
    if most - least > EVEN:
        return False
    limit = float(np.ceil((least + most) / 2.0) - 1.0)
    cv2.threshold(light, limit, 255, cv2.THRESH_BINARY_INV, dst=found)
    return True


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
