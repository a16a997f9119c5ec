"""Spectra that stand in where only camera bands are known.

A photo gives three broad bands of a patch. Broadband values of a stack cannot be had from those
of its films: each film changes the light that the next one filters. So every node gets a smooth
spectrum that a dye print could have, chosen so that the camera would have seen the same three
values, and stacks are predicted from that.

What it cannot know: where in a band the ink absorbs. Two prints that a camera sees alike may
part ways when doubled; a dark saturated node that the photo clipped is only a guess; and the
light the photo was taken by is taken for daylight. `LIMITS` says so in a sentence, and a test
measures how far doubled films are off.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from glasswork.cielab import D65_XYZ, XYZ_OF_SRGB, cube_root_slope, lab_of_ratios
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.spectra import BANDS, WAVELENGTHS_NM, Floats
from glasswork.errors import ProfileError
from glasswork.model.light import Light

LIMITS: Final = (
    "the printer was measured by camera bands alone: spectra are stood in for, so the colour of "
    "a stack may be off by several ΔE00, most for deep reds, blues and greens"
)

_DYES: Final = (
    ((630.0, 55.0, 1.0), (580.0, 35.0, 0.18), (400.0, 30.0, 0.12)),
    ((546.0, 30.0, 1.0), (512.0, 26.0, 0.50), (395.0, 32.0, 0.16)),
    ((428.0, 36.0, 1.0), (464.0, 18.0, 0.32), (390.0, 22.0, 0.20)),
)
"""Common shapes of cyan, magenta and yellow dyes: peak nm, width nm, height. Invented."""


def spectra_of_camera(bands: Any, *, where: str) -> Floats:
    """A smooth spectrum for each camera value.

    bands : (..., 3) linear sRGB relative to the bare film, 0-1
    Returns: (..., 36) transmittance 0-1
    Raises: ProfileError, if a value lies outside 0-1 or there are not three
    """
    rgb = np.asarray(bands, dtype=float)
    if rgb.shape[-1] != 3 or not ((rgb >= 0.0) & (rgb <= 1.0)).all():
        raise ProfileError(f"{where}, node", "camera needs three values 0-1", "linear sRGB")
    flat = np.maximum(rgb.reshape(-1, 3), 1e-4)
    wanted = lab_of_ratios(flat @ XYZ_OF_SRGB.T / D65_XYZ)
    dyes, weights = _dyes(), _weights()
    amounts = np.clip(-np.log10(flat), 0.0, 4.0)
    damping = np.full(len(flat), 1e-2)
    seen, slopes = _seen(amounts, dyes, weights)
    for _ in range(60):
        rows = seen - wanted
        turned = slopes.transpose(0, 2, 1)
        normal = turned @ slopes
        normal += (
            damping[:, None, None]
            * np.eye(3)
            * (1.0 + np.trace(normal, axis1=1, axis2=2))[:, None, None]
        )
        step = np.linalg.solve(normal, -(turned @ rows[:, :, None]))[:, :, 0]
        trial = np.clip(amounts + step, 0.0, 4.5)
        new, new_slopes = _seen(trial, dyes, weights)
        better = ((new - wanted) ** 2).sum(axis=1) < (rows**2).sum(axis=1)
        amounts = np.where(better[:, None], trial, amounts)
        seen = np.where(better[:, None], new, seen)
        slopes = np.where(better[:, None, None], new_slopes, slopes)
        damping = np.where(better, damping * 0.2, np.minimum(damping * 5.0, 1e3))
    return np.asarray(10.0 ** -(amounts @ dyes)).reshape(*rgb.shape[:-1], BANDS)


def _dyes() -> Floats:
    return np.array(
        [
            sum(h * np.exp(-(((WAVELENGTHS_NM - at) / w) ** 2) / 2.0) for at, w, h in dye)
            for dye in _DYES
        ]
    )


def _weights() -> Floats:
    """Transmittance to X/Xn, Y/Yn, Z/Zn by an even light, near enough to daylight."""
    weights = tristimulus_weights(Light(name="even", title="even", spectrum=(1.0,) * BANDS))
    return np.asarray(weights / weights.sum(axis=0))


def _seen(amounts: Floats, dyes: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """CIELAB of dye amounts, and its slopes, (batch, 3, 3)."""
    through = 10.0 ** -(amounts @ dyes)
    ratios = through @ weights
    moved = -np.log(10.0) * (through[:, None, :] * dyes[None]) @ weights
    x, y, z = np.moveaxis(moved * cube_root_slope(ratios)[:, None, :], -1, 0)
    slopes = np.stack((116.0 * y, 500.0 * (x - y), 200.0 * (y - z)), axis=1)
    return lab_of_ratios(ratios), slopes
