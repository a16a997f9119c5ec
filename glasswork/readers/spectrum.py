"""Spectra in CSV files, brought onto the grids of Glasswork."""

from __future__ import annotations

import csv
import re
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.errors import ReadError

Floats = NDArray[np.float64]

COARSE_NM: Final[Floats] = np.arange(380, 731, 10, dtype=float)
FINE_NM: Final[Floats] = np.arange(380, 781, 5, dtype=float)
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\Z")


def read_spectrum(data: bytes, *, where: str) -> tuple[Floats, Floats]:
    """Wavelengths in nm and values of a CSV file: two columns, one row a wavelength.

    Separators may be comma, semicolon, tab or blanks; decimal commas are read where the
    separator is another one; one heading row and lines that begin with # are passed over.
    Raises: ReadError, if a row is not two numbers, or wavelengths do not rise
    """
    text = data.decode("utf-8-sig", errors="replace")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    rows = [_cells(line) for line in lines]
    if rows and not all(map(_NUMBER.match, rows[0])):
        rows = rows[1:]
    table = []
    for number, row in enumerate(rows, start=1):
        if len(row) != 2 or not all(map(_NUMBER.match, row)):
            raise ReadError(
                f"{where}, row {number}",
                "is not a wavelength and a value",
                "two columns of numbers",
            )
        table.append((float(row[0]), float(row[1])))
    if len(table) < 2:
        raise ReadError(
            where, f"{len(table)} rows of a spectrum, at least 2 are wanted", "export it again"
        )
    nm, values = np.array(table).T
    if not (np.diff(nm) > 0.0).all():
        raise ReadError(where, "wavelengths do not rise from row to row", "sort the rows")
    if nm[0] < 100.0 or nm[-1] > 3000.0:
        raise ReadError(where, f"wavelengths {nm[0]:g}-{nm[-1]:g} are not in nm", "give nm")
    return nm, values


def _cells(line: str) -> list[str]:
    for separator in (";", "\t"):
        if separator in line:
            cells = next(csv.reader([line], delimiter=separator))
            return [cell.strip().replace(",", ".") for cell in cells if cell.strip()]
    if "," in line:
        return [cell.strip() for cell in next(csv.reader([line])) if cell.strip()]
    return line.split()


def onto_grid(nm: Floats, values: Floats, grid: Floats, *, where: str) -> Floats:
    """Values at the grid's wavelengths: read off a coarser table by straight lines, averaged
    over the grid's step from a finer one, so that a narrow line keeps its power.

    Raises: ReadError, if the table ends more than one grid step inside the grid
    """
    step = grid[1] - grid[0]
    if nm[0] > grid[0] + step or nm[-1] < grid[-1] - 5.0 * step:
        raise ReadError(
            where,
            f"runs {nm[0]:g}-{nm[-1]:g} nm, {grid[0]:g}-{grid[-1]:g} nm are wanted",
            "measure the whole visible range",
        )
    if np.diff(nm).max() >= step:
        return np.asarray(np.interp(grid, nm, values))
    fine = np.arange(grid[0] - step, grid[-1] + step + 0.25, 0.5)
    dense = np.interp(fine, nm, values)
    hats = np.maximum(0.0, 1.0 - np.abs(fine[None, :] - grid[:, None]) / step)
    return np.asarray(hats @ dense / hats.sum(axis=1))
