"""Densities as an instrument shows them: Status A red, green, blue, and visual."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from glasswork.colour.spectra import BANDS, END_NM, START_NM, STEP_NM, Floats
from glasswork.errors import ColourError

_TABLE_START_NM = 340


@lru_cache(maxsize=1)
def _weights() -> Floats:
    """(36, 4) red, green, blue, visual, each summing to 1.

    The tables run 340-830 nm; what lies outside the grid counts at the grid's ends.
    """
    from colormath import density_standards as tables

    full = np.stack(
        (
            tables.ANSI_STATUS_A_RED,
            tables.ANSI_STATUS_A_GREEN,
            tables.ANSI_STATUS_A_BLUE,
            tables.ISO_VISUAL,
        ),
        axis=-1,
    )
    first = (START_NM - _TABLE_START_NM) // STEP_NM
    last = (END_NM - _TABLE_START_NM) // STEP_NM
    weights = full[first : last + 1].copy()
    weights[0] += full[:first].sum(axis=0)
    weights[-1] += full[last + 1 :].sum(axis=0)
    return np.asarray(weights / weights.sum(axis=0))


def broadband_density(transmittance: Any) -> Floats:
    """Status A red, green, blue and ISO visual density.

    transmittance : (..., 36), 0-1
    Returns: (..., 4). Densities of a stack come from the stack's transmittance; those of its
        films do not add
    Raises: ColourError, if no light passes at all, or a value lies below 0
    Source: [iso5-3], products as kept by colormath
    """
    t = np.asarray(transmittance, dtype=float)
    if t.shape[-1] != BANDS:
        raise ColourError("density", f"{t.shape[-1]} bands, {BANDS} are wanted", "")
    passed = t @ _weights()
    if not (passed > 0.0).all() or not (t >= 0.0).all():
        raise ColourError("density", "a transmittance is not over 0", "no density is infinite")
    return np.asarray(-np.log10(passed))
