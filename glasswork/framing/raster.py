"""Parts as masks of cells, for nesting. A mask covers its part and the room round it entirely."""

from __future__ import annotations

from math import ceil, sqrt
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.geometry import Affine, Box, Region, Ring
from glasswork.planar import Area

Cells = NDArray[np.bool_]
Spectrum = NDArray[np.complexfloating[Any, Any]]
TURNS = (
    Affine(),
    Affine(a=0.0, b=1.0, c=-1.0, d=0.0),
    Affine(a=-1.0, d=-1.0),
    Affine(a=0.0, b=-1.0, c=1.0, d=0.0),
)
"""No turn, and a quarter, half and three quarters."""


class Mask(Struct, frozen=True, eq=False):
    """A part turned. move : maps the part so that the mask's first cell begins at (0, 0)."""

    cells: Cells
    move: Affine

    @property
    def size(self) -> tuple[int, int]:
        rows, columns = self.cells.shape
        return rows, columns


def grown_for_mask(shape: Region, *, room_mm: float, cell_mm: float, least_hole_mm: float) -> Area:
    """The part with half the spacing round it, and as much again as makes every cell it touches
    have its middle inside. Holes that no part fits are filled.
    """
    holes = tuple(hole for hole in shape.holes if _side(hole) > least_hole_mm)
    pad = room_mm + cell_mm * sqrt(0.5)
    whole = Area.of((Region(shape.outer, holes),)).grown(pad, join="round", segments=4)
    return whole.simplified(cell_mm * 0.05).grown(cell_mm * 0.05, join="mitre")


def _side(ring: Ring) -> float:
    box = Box.around(ring)
    return min(box.width, box.height)


def mask_of(area: Area, turn: Affine, *, cell_mm: float) -> Mask:
    """The cells whose middle lies in the turned area."""
    turned = area.mapped(turn)
    box = turned.bounds
    columns = ceil(box.width / cell_mm - 1e-9)
    rows = ceil(box.height / cell_mm - 1e-9)
    inside = np.zeros((rows, columns), dtype=np.bool_)
    for region in turned.regions():
        inside |= _filled(region, box, (rows, columns), cell_mm)
    return Mask(inside, turn.then(Affine.shift(-box.left, -box.top)))


def _filled(region: Region, box: Box, shape: tuple[int, int], cell_mm: float) -> Cells:
    """Even-odd crossings of each row of middles with the rings."""
    rows, columns = shape
    flips = np.zeros((rows, columns + 1), dtype=np.int32)
    for ring in region.rings:
        points = (np.asarray(ring, dtype=np.float64) - (box.left, box.top)) / cell_mm - 0.5
        ends = np.roll(points, -1, axis=0)
        low, high = np.minimum(points[:, 1], ends[:, 1]), np.maximum(points[:, 1], ends[:, 1])
        first = np.maximum(np.ceil(low), 0).astype(int)
        last = np.minimum(np.ceil(high) - 1, rows - 1).astype(int)
        counts = np.maximum(last - first + 1, 0)
        edge = np.repeat(np.arange(len(points)), counts)
        start = np.repeat(np.cumsum(counts) - counts, counts)
        row = first[edge] + np.arange(len(edge)) - start
        a, b = points[edge], ends[edge]
        x = a[:, 0] + (row - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
        column = np.clip(np.ceil(x - 1e-9), 0, columns).astype(int)
        np.add.at(flips, (row, column), 1)
    return np.asarray(np.cumsum(flips, axis=1)[:, :-1] % 2 == 1)


class Bed:
    """What is taken of one sheet, and where a mask still fits."""

    def __init__(self, rows: int, columns: int) -> None:
        self.shape = (rows, columns)
        self._grid = (_smooth(rows), _smooth(columns))
        self._taken = np.zeros(self._grid, dtype=np.float32)
        self._spectrum: Spectrum | None = None
        self.empty = True

    def holds(self, mask: Mask) -> bool:
        """The mask is no larger than the bed."""
        rows, columns = mask.size
        return rows <= self.shape[0] and columns <= self.shape[1]

    def spectrum_of(self, mask: Mask) -> Spectrum | None:
        """The mask ready for `first_place`; None if it is larger than the bed."""
        if not self.holds(mask):
            return None
        rows, columns = mask.size
        padded = np.zeros(self._grid, dtype=np.float32)
        padded[:rows, :columns] = mask.cells
        return np.asarray(np.conj(np.fft.rfft2(padded)))

    def first_place(self, mask: Mask, spectrum: Spectrum) -> tuple[int, int] | None:
        """Leftmost, then topmost row and column at which the mask overlaps nothing taken."""
        taken = self._spectrum if self._spectrum is not None else np.fft.rfft2(self._taken)
        self._spectrum = taken
        overlap = np.fft.irfft2(taken * spectrum, s=self._grid)
        rows, columns = self.shape[0] - mask.size[0] + 1, self.shape[1] - mask.size[1] + 1
        free = overlap[:rows, :columns] < 0.5
        by_column = free.any(axis=0)
        if not by_column.any():
            return None
        column = int(np.argmax(by_column))
        return int(np.argmax(free[:, column])), column

    def take(self, mask: Mask, row: int, column: int) -> None:
        """The mask's cells are taken."""
        rows, columns = mask.size
        self._taken[row : row + rows, column : column + columns] += mask.cells
        self._spectrum = None
        self.empty = False

    def close(self) -> None:
        """Nothing more goes on this sheet."""
        self._taken[:] = 1.0
        self._spectrum = None
        self.empty = False


def _smooth(count: int) -> int:
    """The next number with no factor over 5, for a fast transform."""
    while True:
        rest = count
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return count
        count += 1
