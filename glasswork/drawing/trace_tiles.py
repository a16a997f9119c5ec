"""Dark pixels of a whole picture, found tile by tile: a tile stays in the processor's cache."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.uint8]
Cells = NDArray[np.float32]

TILE_PX = 512
EVEN = 6.0
"""Grey levels by which the limit may differ in a tile that is taken as one."""
_THREADS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What counts as dark, in cells: below `level`, if it lies within `reach_px` of a place below
    `core`.
    """

    level: Cells
    core: Cells
    cell_px: int
    reach_px: int


def dark_pixels(grey: Mask, limits: Limits) -> tuple[Mask, Mask]:
    """255 where the softened picture is dark, else 0; and the softened picture."""
    lines, soft = np.empty_like(grey), np.empty_like(grey)

    def work(tile: _Tile) -> None:
        tile.paint(grey, limits, lines, soft)

    with ThreadPoolExecutor(_THREADS) as pool:
        list(pool.map(work, _tiles(grey.shape, limits)))
    return lines, soft


@dataclass(frozen=True, slots=True)
class _Tile:
    """Rows and columns from and to, and how far beyond them the picture is looked at."""

    top: int
    bottom: int
    left: int
    right: int
    beyond: int

    def paint(self, grey: Mask, limits: Limits, lines: Mask, soft: Mask) -> None:
        import cv2

        rows, columns = grey.shape
        y0, x0 = max(0, self.top - self.beyond), max(0, self.left - self.beyond)
        y1, x1 = min(rows, self.bottom + self.beyond), min(columns, self.right + self.beyond)
        # the outermost pixels of the look are softened without what lies beyond, and cut off
        light = np.asarray(cv2.GaussianBlur(grey[y0:y1, x0:x1], (3, 3), 0), np.uint8)
        spot = (y0, y1, x0, x1)
        found = _below(light, limits.level, limits.cell_px, spot)
        if cv2.countNonZero(found):
            sure = _below(light, limits.core, limits.cell_px, spot)
            across = 2 * limits.reach_px + 1
            cv2.dilate(sure, np.ones((across, across), np.uint8), dst=sure)
            cv2.bitwise_and(found, sure, dst=found)
        inner = (
            slice(self.top - y0, self.bottom - y0),
            slice(self.left - x0, self.right - x0),
        )
        own = (slice(self.top, self.bottom), slice(self.left, self.right))
        lines[own] = found[inner]
        soft[own] = light[inner]


def _tiles(shape: tuple[int, ...], limits: Limits) -> Iterator[_Tile]:
    beyond = limits.reach_px + 2
    for top in range(0, shape[0], TILE_PX):
        for left in range(0, shape[1], TILE_PX):
            bottom, right = min(shape[0], top + TILE_PX), min(shape[1], left + TILE_PX)
            yield _Tile(top, bottom, left, right, beyond)


def _below(light: Mask, level: Cells, cell: int, spot: tuple[int, int, int, int]) -> Mask:
    """255 where a part of the picture is darker than the limit there."""
    import cv2

    y0, y1, x0, x1 = spot
    top, left = y0 // cell, x0 // cell
    part = level[top : (y1 - 1) // cell + 1, left : (x1 - 1) // cell + 1]
    least, most = float(part.min()), float(part.max())
    if most - least <= EVEN:
        limit = np.ceil((least + most) / 2.0) - 1.0
        _, found = cv2.threshold(light, limit, 255, cv2.THRESH_BINARY_INV)
        return np.asarray(found, np.uint8)
    # a cell more each way, so that the limit runs on smoothly from tile to tile
    top, left = max(0, top - 1), max(0, left - 1)
    part = level[top : (y1 - 1) // cell + 2, left : (x1 - 1) // cell + 2]
    grown = cv2.resize(
        np.round(part).astype(np.uint8),
        (part.shape[1] * cell, part.shape[0] * cell),
        interpolation=cv2.INTER_LINEAR,
    )
    at = (y0 - top * cell, x0 - left * cell)
    here = np.asarray(grown)[at[0] : at[0] + y1 - y0, at[1] : at[1] + x1 - x0]
    return np.asarray(cv2.compare(light, here, cv2.CMP_LT), np.uint8)
