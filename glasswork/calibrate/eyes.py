"""What looked at the strip: a camera of unknown make, or an instrument of known bands."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import D65_XYZ, SRGB_OF_XYZ

Floats = NDArray[np.float64]

NM: Final[Floats] = np.arange(380.0, 731.0, 10.0)

_TYPICAL: Final = (
    ((598.0, 21.0, 42.0, 1.0), (540.0, 26.0, 26.0, 0.12)),
    ((530.0, 34.0, 42.0, 1.0), (460.0, 25.0, 25.0, 0.05)),
    ((457.0, 26.0, 31.0, 1.0), (530.0, 32.0, 32.0, 0.05)),
)
"""Bands of a silicon sensor behind dyes and an infrared filter: peak nm, flanks nm, height.
[common practice]: no camera was measured for this."""

BUMPS: Final = 6
"""Ways in which each channel of a camera may differ from the typical one."""


class Eye(Struct, frozen=True, eq=False):
    """Band weights, (36, 3): transmittance to what is seen, 1 for transmittance 1.

    matrix : from the bands to the values read, rows add up to 1
    free : a camera: weights, matrix, flare and tone may differ from what is said here
    """

    weights: Floats
    matrix: Floats
    free: bool


def bumps() -> Floats:
    """Smooth functions of wavelength on which the logarithm of a channel may bend, (36, 6)."""
    centres = np.linspace(400.0, 700.0, BUMPS)
    return np.asarray(np.exp(-0.5 * ((NM[:, None] - centres) / 35.0) ** 2))


def typical_camera(power: Floats, weights: Floats) -> Eye:
    """A camera of the common sort, before this light.

    power : (36,) of the light; weights : (36, 3) transmittance to X, Y, Z under it
    Its matrix to sRGB is the one that a maker would fit on everyday colours.
    """
    bands = np.zeros((len(NM), 3))
    for channel, parts in enumerate(_TYPICAL):
        for at, left, right, height in parts:
            spread = np.where(at > NM, left, right)
            bands[:, channel] += height * np.exp(-0.5 * ((NM - at) / spread) ** 2)
    bands *= np.maximum(power, 1e-6)[:, None]
    bands /= bands.sum(axis=0)
    return Eye(bands, fitted_matrix(bands, weights), free=True)


def fitted_matrix(bands: Floats, weights: Floats) -> Floats:
    """The matrix from camera bands to linear sRGB that suits everyday colours best, grey kept."""
    samples = everyday()
    raw, wanted = samples @ bands, srgb_of(samples, weights)
    rows = []
    for i in range(3):
        others = [j for j in range(3) if j != i]
        slope = raw[:, others] - raw[:, [i]]
        mix, *_ = np.linalg.lstsq(slope, wanted[:, i] - raw[:, i], rcond=None)
        row = np.zeros(3)
        row[others] = mix
        row[i] = 1.0 - mix.sum()
        rows.append(row)
    return np.array(rows)


def srgb_of(samples: Floats, weights: Floats) -> Floats:
    """Linear sRGB of transmittances, white for transmittance 1."""
    ratios = (samples @ weights) / weights.sum(axis=0)
    return np.asarray((ratios * D65_XYZ) @ SRGB_OF_XYZ.T)


@lru_cache(maxsize=1)
def everyday() -> Floats:
    """Smooth spectra of everyday colours, moderately saturated, (samples, 36)."""
    rows = []
    for edge in range(430, 691, 20):
        step = 1.0 / (1.0 + np.exp(-(NM - edge) / 22.0))
        rows += [0.08 + 0.55 * step, 0.08 + 0.55 * (1.0 - step)]
    for at in range(420, 681, 20):
        hill = np.exp(-0.5 * ((NM - at) / 38.0) ** 2)
        rows += [0.08 + 0.4 * hill, 0.6 - 0.45 * hill]
    rows += [np.full(len(NM), level) for level in (0.05, 0.2, 0.5, 0.9)]
    return np.array(rows)
