"""Shapes the ink fit is made of: common inks, the bumps by which inks differ, the cube root."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.calibrate.eyes import NM

Floats = NDArray[np.float64]

_SOLIDS: Final = (
    ((640.0, 58.0, 58.0, 1.30), (590.0, 32.0, 28.0, 0.25), (395.0, 25.0, 30.0, 0.20)),
    ((548.0, 36.0, 26.0, 1.25), (514.0, 28.0, 22.0, 0.35), (395.0, 28.0, 32.0, 0.20)),
    ((430.0, 42.0, 32.0, 1.25), (462.0, 20.0, 20.0, 0.25), (388.0, 22.0, 22.0, 0.20)),
    ((555.0, 150.0, 150.0, 1.30),),
)
"""Densities of common cyan, magenta, yellow and black inks on film: peak, flanks, height."""


def common_inks() -> Floats:
    """Spectral density of four common inks where solid, (4, 36)."""
    rows = [
        sum(
            height * np.exp(-0.5 * ((NM - at) / np.where(at > NM, left, right)) ** 2)
            for at, left, right, height in ink
        )
        for ink in _SOLIDS
    ]
    return np.asarray(np.maximum(np.array(rows), 2e-3), dtype=np.float64)


def hats(count: int) -> Floats:
    """Smooth bumps, adding up to 1, on which an ink's log density bends, (36, knots)."""
    centres = np.linspace(380.0, 730.0, count)
    raw = np.exp(-0.5 * ((NM[:, None] - centres) / (0.75 * (centres[1] - centres[0]))) ** 2)
    return np.asarray(raw / raw.sum(axis=1, keepdims=True))
