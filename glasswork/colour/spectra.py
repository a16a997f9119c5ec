"""The wavelength grid of Glasswork and the way sums over finer tables are brought onto it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from glasswork.errors import ColourError

Floats = NDArray[np.floating[Any]]

START_NM: Final = 380
END_NM: Final = 730
STEP_NM: Final = 10
BANDS: Final = 36
WAVELENGTHS_NM: Final[Floats] = np.arange(START_NM, END_NM + 1, STEP_NM, dtype=float)
"""Where transmittances are known."""

FINE_NM: Final[Floats] = np.arange(380, 781, 5, dtype=float)
"""Where lights and the observer are tabulated."""


def check_spectrum(values: Floats, *, where: str, what: str = "transmittance") -> Floats:
    """The values as an array on the 36-band grid, each 0-1.

    values : (..., 36)
    Raises: ColourError, if the grid is another one or a value lies outside 0-1
    """
    array = np.asarray(values, dtype=float)
    if array.ndim == 0 or array.shape[-1] != BANDS:
        found = array.shape[-1] if array.ndim else 1
        raise ColourError(
            where,
            f"{what} has {found} values, {BANDS} are wanted",
            f"give {START_NM}-{END_NM} nm by {STEP_NM} nm",
        )
    bad = ~((array >= 0.0) & (array <= 1.0))
    if bad.any():
        place = int(np.argwhere(bad)[0][-1])
        raise ColourError(
            where,
            f"{what} {array[bad][0]:g} at {WAVELENGTHS_NM[place]:g} nm is not between 0 and 1",
            "a density below zero makes a transmittance over 1; zero the instrument on the film",
        )
    return array


DENSE_NM: Final[Floats] = np.arange(380, 781, 1, dtype=float)
"""Where sums over a spectrum are taken."""


def lagrange_basis(targets_nm: Floats, nodes_nm: Floats, *, degree: int) -> Floats:
    """What each node of a table adds to its values between the nodes.

    targets_nm : (points,) nm; past the ends the table is held constant
    nodes_nm : (nodes,) nm, evenly spaced
    degree : of the polynomial through the nodes around, lower in the first and last intervals
    Returns: (points, nodes)
    Source: [astm-e2022], the Lagrange method, there of degree 3
    """
    step, last = nodes_nm[1] - nodes_nm[0], len(nodes_nm) - 1
    at = (np.clip(targets_nm, nodes_nm[0], nodes_nm[-1]) - nodes_nm[0]) / step
    left = np.minimum(at.astype(np.intp), last - 1)
    nodes = left[:, None] - (degree - 1) // 2 + np.arange(degree + 1)
    there = (nodes >= 0) & (nodes <= last)
    gaps = np.arange(degree + 1)[:, None] - np.arange(degree + 1)
    others = there[:, None, :] & (gaps != 0)
    parts = (at[:, None] - nodes)[:, None, :] / np.where(gaps != 0, gaps, 1)
    basis = np.zeros((len(targets_nm), len(nodes_nm)))
    rows, which = np.nonzero(there)
    basis[rows, nodes[rows, which]] = np.where(others, parts, 1.0).prod(axis=2)[rows, which]
    return basis


@lru_cache(maxsize=1)
def dense_of_bands() -> Floats:
    """A spectrum on the 36 bands at every nanometre, (401, 36)."""
    return lagrange_basis(DENSE_NM, WAVELENGTHS_NM, degree=5)


@lru_cache(maxsize=1)
def dense_of_fine() -> Floats:
    """A table by 5 nm at every nanometre, (401, 81)."""
    return lagrange_basis(DENSE_NM, FINE_NM, degree=5)


def triple(values: Floats) -> tuple[float, float, float]:
    """Three values as floats."""
    a, b, c = (float(value) for value in values)
    return (a, b, c)
