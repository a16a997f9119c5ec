"""CIELAB, CIEDE2000 and sRGB as their standards have them; the last axis is the colour.

What every stage and writer knows of colour alike, as `units` is of lengths.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from glasswork.errors import ColourError

Floats = NDArray[np.float64]

D65_XYZ: Final[Floats] = np.array([0.95047, 1.0, 1.08883])
"""White of sRGB, Y = 1. Source: [iec61966-2-1]"""

_EPSILON: Final = (6.0 / 29.0) ** 3
_SLOPE: Final = (29.0 / 6.0) ** 2 / 3.0

XYZ_OF_SRGB: Final[Floats] = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
"""Linear sRGB to X, Y, Z. Source: [iec61966-2-1]"""

SRGB_OF_XYZ: Final[Floats] = np.asarray(np.linalg.inv(XYZ_OF_SRGB), dtype=float)


def cube_root(ratios: Any) -> Any:
    """Cube root, straight near black, as CIELAB has it; in the precision given. Source: [cie15]"""
    return np.where(ratios > _EPSILON, np.cbrt(ratios), _SLOPE * ratios + 4.0 / 29.0)


def cube_root_slope(ratios: Any) -> Any:
    """Slope of `cube_root`."""
    return np.where(ratios > _EPSILON, np.cbrt(np.maximum(ratios, _EPSILON)) ** -2 / 3.0, _SLOPE)


def lab_of_ratios(ratios: Any) -> Floats:
    """CIELAB of X/Xn, Y/Yn, Z/Zn.

    ratios : (..., 3)
    Returns: (..., 3) L*, a*, b*
    Source: [cie15]
    """
    f = cube_root(np.asarray(ratios, dtype=float))
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack((116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)), axis=-1)


def ratios_of_lab(lab: Any) -> Floats:
    """X/Xn, Y/Yn, Z/Zn of CIELAB; the inverse of `lab_of_ratios`."""
    lab = np.asarray(lab, dtype=float)
    y = (lab[..., 0] + 16.0) / 116.0
    f = np.stack((y + lab[..., 1] / 500.0, y, y - lab[..., 2] / 200.0), axis=-1)
    return np.asarray(np.where(f > 6.0 / 29.0, f**3, (f - 4.0 / 29.0) / _SLOPE))


def encode_srgb(linear: Any) -> Floats:
    """sRGB code values 0-1 of linear light; what is outside 0-1 is cut. Source: [iec61966-2-1]"""
    c = np.clip(np.asarray(linear, dtype=float), 0.0, 1.0)
    return np.asarray(np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** (1.0 / 2.4) - 0.055))


def decode_srgb(code: Any) -> Floats:
    """Linear light of sRGB code values 0-1. Source: [iec61966-2-1]"""
    c = np.asarray(code, dtype=float)
    return np.asarray(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4))


def encode_value(linear: float) -> float:
    """`encode_srgb` of one value, without an array."""
    c = min(max(linear, 0.0), 1.0)
    return 12.92 * c if c <= 0.0031308 else float(1.055 * c ** (1.0 / 2.4) - 0.055)


def bytes_of_linear(linear: Iterable[float]) -> tuple[int, int, int]:
    """8-bit sRGB of one colour's linear light."""
    r, g, b = (round(255.0 * encode_value(float(value))) for value in linear)
    return (r, g, b)


def parse_hex(text: str) -> Floats:
    """Code values 0-1 of "#rrggbb" or "#rgb".

    Raises: ColourError, if the text is neither
    """
    digits = text.strip().removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * d for d in digits)
    try:
        if len(digits) != 6:
            raise ValueError
        return np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)]) / 255.0
    except ValueError:
        raise ColourError(text, "is not a colour such as #8a1c2b", "write six hex digits") from None


def lab_of_srgb(code: Any) -> Floats:
    """CIELAB relative to the white of sRGB of code values 0-1.

    Code values outside 0-1 are refused by no one: clip first.
    """
    return lab_of_ratios(decode_srgb(code) @ XYZ_OF_SRGB.T / D65_XYZ)


def linear_srgb_of_lab(lab: Any) -> Floats:
    """Linear sRGB of CIELAB, its white kept white; values outside 0-1 are not cut."""
    return np.asarray((ratios_of_lab(lab) * D65_XYZ) @ SRGB_OF_XYZ.T)


def srgb_of_lab(lab: Any) -> Floats:
    """sRGB code values 0-1 of CIELAB, cut to what a display shows."""
    return encode_srgb(linear_srgb_of_lab(lab))


def hue_deg(lab: Any) -> Floats:
    """CIELAB hue angle, 0-360."""
    lab = np.asarray(lab, dtype=float)
    return np.asarray(np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360.0)


def hue_shift_deg(lab: Any, other: Any) -> Floats:
    """How far two hues lie apart, 0-180."""
    return np.asarray(np.abs((hue_deg(lab) - hue_deg(other) + 180.0) % 360.0 - 180.0))


def delta_e00(first: Any, second: Any) -> Floats:
    """CIEDE2000 difference with all weights 1.

    first, second : (..., 3) CIELAB, broadcast together
    Source: [sharma2005]
    """
    one, two = np.broadcast_arrays(np.asarray(first, dtype=float), np.asarray(second, dtype=float))
    mean_c = (np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2])) / 2.0
    c7 = mean_c**7
    stretch = 1.5 - 0.5 * np.sqrt(c7 / (c7 + 25.0**7))
    a1, a2 = stretch * one[..., 1], stretch * two[..., 1]
    c1, c2 = np.hypot(a1, one[..., 2]), np.hypot(a2, two[..., 2])
    h1 = np.degrees(np.arctan2(one[..., 2], a1)) % 360.0
    h2 = np.degrees(np.arctan2(two[..., 2], a2)) % 360.0
    grey = c1 * c2 == 0.0
    turn = np.where(grey, 0.0, (h2 - h1 + 180.0) % 360.0 - 180.0)
    # A half turn counts positive or negative by the order of the hues, as in the published code.
    turn = np.where((turn == -180.0) & (h2 - h1 == 180.0), 180.0, turn)
    far = np.abs(h1 - h2) > 180.0
    total = h1 + h2
    mean_h = np.where(far, np.where(total < 360.0, total + 360.0, total - 360.0), total) / 2.0
    mean_h = np.where(grey, total, mean_h)
    return _weighted(
        two[..., 0] - one[..., 0],
        c2 - c1,
        2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2.0),
        (one[..., 0] + two[..., 0]) / 2.0,
        (c1 + c2) / 2.0,
        mean_h,
    )


def _weighted(dl: Floats, dc: Floats, dh: Floats, *means: Floats) -> Floats:
    s_l, s_c, s_h, r_t = de00_weights(*means)
    l, c, h = dl / s_l, dc / s_c, dh / s_h  # noqa: E741 - lightness
    return np.asarray(np.sqrt(np.maximum(l * l + c * c + h * h + r_t * c * h, 0.0)))


def de00_weights(
    mean_l: Any, mean_c: Any, mean_h_deg: Any
) -> tuple[Floats, Floats, Floats, Floats]:
    """S_L, S_C, S_H and R_T of CIEDE2000 at mean lightness, chroma and hue."""
    l50 = (np.asarray(mean_l) - 50.0) ** 2
    h = np.radians(mean_h_deg)
    t = (
        1.0
        - 0.17 * np.cos(h - np.radians(30.0))
        + 0.24 * np.cos(2.0 * h)
        + 0.32 * np.cos(3.0 * h + np.radians(6.0))
        - 0.20 * np.cos(4.0 * h - np.radians(63.0))
    )
    c7 = np.asarray(mean_c) ** 7
    turn = np.radians(30.0) * np.exp(-(((np.asarray(mean_h_deg) - 275.0) / 25.0) ** 2))
    r_t = -np.sin(2.0 * turn) * 2.0 * np.sqrt(c7 / (c7 + 25.0**7))
    return (
        1.0 + 0.015 * l50 / np.sqrt(20.0 + l50),
        1.0 + 0.045 * np.asarray(mean_c),
        1.0 + 0.015 * np.asarray(mean_c) * t,
        r_t,
    )
