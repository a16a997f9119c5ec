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


@lru_cache(maxsize=8)
def _basis(step_nm: int) -> Floats:
    targets = np.arange(START_NM, 781, step_nm, dtype=float)
    return lagrange_basis(targets)


def lagrange_basis(targets_nm: Floats) -> Floats:
    """What each of the 36 bands adds to a spectrum at finer wavelengths.

    targets_nm : (points,) nm, from 380 up
    Returns: (points, 36); a spectrum on the grid times its transpose is the spectrum there:
        cubic between bands, quadratic in the first and last interval, constant past the ends
    Source: [astm-e2022], the Lagrange method
    """
    basis = np.zeros((len(targets_nm), BANDS))
    for row, nm in enumerate(np.clip(targets_nm, START_NM, END_NM)):
        at = (nm - START_NM) / STEP_NM
        left = min(int(at), BANDS - 2)
        first, last = max(left - 1, 0), min(left + 2, BANDS - 1)
        nodes = range(first, last + 1)
        for i in nodes:
            others = [j for j in nodes if j != i]
            basis[row, i] = np.prod([(at - j) / (i - j) for j in others])
    return basis


def fine_basis() -> Floats:
    """`lagrange_basis` for `FINE_NM`, (81, 36)."""
    return _basis(5)
