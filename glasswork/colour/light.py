"""What the light is to the eye: tristimulus weights, chromaticity, colour temperature."""

from __future__ import annotations

from typing import Any

import numpy as np

from glasswork.colour.observer import CIE_1931
from glasswork.colour.spectra import (
    BANDS,
    DENSE_NM,
    FINE_NM,
    WAVELENGTHS_NM,
    Floats,
    dense_of_bands,
    dense_of_fine,
)
from glasswork.errors import ColourError
from glasswork.model.light import Light

_C2 = 1.438776877e-2
"""Second radiation constant, m K. Source: [codata2018]"""

FAR_FROM_WHITE_DUV = 0.05
"""Past this distance from the Planckian locus a colour temperature means nothing [cie15]."""


def fine_power(light: Light) -> Floats:
    """Power of the light behind its diffuser, (81,), 380-780 nm by 5 nm, relative.

    Raises: ColourError, if a table has the wrong length, a value below zero, or no power at all
    """
    if light.fine:
        power = np.asarray(light.fine, dtype=float)
        wanted = len(FINE_NM)
    else:
        power = np.asarray(light.spectrum, dtype=float)
        wanted = BANDS
    if len(power) != wanted:
        raise ColourError(
            light.name, f"spectrum has {len(power)} values, {wanted} are wanted", "see the grid"
        )
    if not np.isfinite(power).all() or power.min() < 0.0 or power.max() <= 0.0:
        raise ColourError(light.name, "spectrum has a value below zero, or no power", "mend it")
    if not light.fine:
        power = np.interp(FINE_NM, WAVELENGTHS_NM, power)
    if light.diffuser:
        if len(light.diffuser) != BANDS:
            raise ColourError(
                light.name, f"diffuser has {len(light.diffuser)} values, {BANDS} are wanted", ""
            )
        power = power * (dense_of_bands()[::5] @ np.asarray(light.diffuser, dtype=float))
    return power


def tristimulus_weights(light: Light) -> Floats:
    """Weights that turn a transmittance into XYZ under this light, (36, 3).

    `transmittance @ weights` is XYZ with Y = 1 for transmittance 1.
    Source: [cie15], sums by 1 nm, the light read off its table by straight lines; [astm-e2022]
    """
    power = np.interp(DENSE_NM, FINE_NM, fine_power(light))
    stimulus = power[:, None] * (dense_of_fine() @ CIE_1931[:, 1:])
    weights = dense_of_bands().T @ stimulus
    return np.asarray(weights / stimulus[:, 1].sum())


def describe_light(light: Light) -> tuple[float | None, tuple[float, float]]:
    """Correlated colour temperature in K and CIE 1931 chromaticity of a light on its diffuser.

    Returns: (None, xy) where the light is too far from white to have a colour temperature
    """
    xyz = fine_power(light) @ CIE_1931[:, 1:]
    x, y, _ = (xyz / xyz.sum()).tolist()
    kelvin, distance = correlated_temperature(x, y)
    return (kelvin if distance <= FAR_FROM_WHITE_DUV else None), (x, y)


def correlated_temperature(x: float, y: float) -> tuple[float, float]:
    """Temperature of the black body nearest in the CIE 1960 diagram, and the distance there.

    x, y : CIE 1931 chromaticity
    Returns: kelvin within 1000-40000, distance in u, v
    Source: [cie15]; the nearest point is found by halving brackets in 1/T
    """
    uv = np.array(_uv(x, y))
    low, high = 1.0 / 40_000.0, 1.0 / 1000.0
    for _ in range(12):
        inverse = np.linspace(low, high, 17)
        away = np.hypot(*(_planck_uv(inverse) - uv).T)
        best = int(np.clip(away.argmin(), 1, 15))
        low, high = inverse[best - 1], inverse[best + 1]
    return float(1.0 / inverse[away.argmin()]), float(away.min())


def _planck_uv(inverse_kelvin: Floats) -> Floats:
    metres = FINE_NM * 1e-9
    power = metres**-5 / np.expm1(_C2 * inverse_kelvin[:, None] / metres)
    xyz = power @ CIE_1931[:, 1:]
    total = xyz.sum(axis=1)
    return np.stack(_uv(xyz[:, 0] / total, xyz[:, 1] / total), axis=-1)


def _uv(x: Any, y: Any) -> tuple[Any, Any]:
    below = -2.0 * x + 12.0 * y + 3.0
    return 4.0 * x / below, 6.0 * y / below
