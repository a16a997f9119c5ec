"""Colours of the guide's pictures: display sRGB of lit glass, and the look of board and film."""

from __future__ import annotations

from typing import Final

from glasswork.model.film import FilmBlack, GlassOnFilm
from glasswork.model.sheet import Colour

BOARD: Final = (222, 212, 196)
BOARD_RAISED: Final = (240, 233, 221)
BOARD_EDGE: Final = (122, 110, 94)
FILM: Final = (206, 224, 232)
WALL: Final = (236, 236, 236)
DIMENSION: Final = (70, 78, 88)

_D65: Final = (0.95047, 1.0, 1.08883)
_FROM_XYZ: Final = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)


def lit_colour(glass: GlassOnFilm | FilmBlack) -> Colour:
    """8-bit sRGB of the lit glass as printed, white = the lit clear stack."""
    return _encoded(glass.lit_srgb)


def asked_colour(glass: GlassOnFilm) -> Colour:
    """8-bit sRGB of the glass that was asked for."""
    return srgb_of_lab(glass.target_lab)


def srgb_of_lab(lab: tuple[float, float, float]) -> Colour:
    """8-bit sRGB of a CIELAB colour whose white is the display's.

    Source: [cie15], [iec61966-2-1]
    """
    lightness, a, b = lab
    fy = (lightness + 16.0) / 116.0
    ratios = [_inverse(f) for f in (fy + a / 500.0, fy, fy - b / 200.0)]
    xyz = [white * ratio for white, ratio in zip(_D65, ratios, strict=True)]
    return _encoded([sum(m * v for m, v in zip(row, xyz, strict=True)) for row in _FROM_XYZ])


def lab_of_hex(text: str) -> tuple[float, float, float]:
    """CIELAB of "#rrggbb", white = the display's.

    Source: [cie15], [iec61966-2-1]
    """
    values = [int(text.lstrip("#")[k : k + 2], 16) / 255.0 for k in (0, 2, 4)]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values)
    x = 0.4124564 * red + 0.3575761 * green + 0.1804375 * blue
    y = 0.2126729 * red + 0.7151522 * green + 0.0721750 * blue
    z = 0.0193339 * red + 0.1191920 * green + 0.9503041 * blue
    fx, fy, fz = (_forward(v / w) for v, w in zip((x, y, z), _D65, strict=True))
    return (116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz))


def is_dark(colour: Colour) -> bool:
    red, green, blue = colour
    return 0.3 * red + 0.59 * green + 0.11 * blue < 120.0


def _forward(ratio: float) -> float:
    return float(ratio ** (1 / 3)) if ratio > (6 / 29) ** 3 else ratio * (29 / 6) ** 2 / 3 + 4 / 29


def _inverse(f: float) -> float:
    return f**3 if f > 6 / 29 else 3 * (6 / 29) ** 2 * (f - 4 / 29)


def _encoded(linear: tuple[float, ...] | list[float]) -> Colour:
    red, green, blue = (
        round(255 * (12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055))
        for v in (min(1.0, max(0.0, float(value))) for value in linear)
    )
    return (red, green, blue)
