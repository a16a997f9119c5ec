"""Colours of the guide's pictures: display sRGB of lit glass, and the look of board and film."""

from __future__ import annotations

from typing import Final

from glasswork.cielab import bytes_of_linear, linear_srgb_of_lab
from glasswork.model.film import FilmBlack, GlassOnFilm
from glasswork.model.sheet import Colour

BOARD: Final = (222, 212, 196)
BOARD_RAISED: Final = (240, 233, 221)
BOARD_EDGE: Final = (122, 110, 94)
FILM: Final = (206, 224, 232)
WALL: Final = (236, 236, 236)
DIMENSION: Final = (70, 78, 88)


def lit_colour(glass: GlassOnFilm | FilmBlack) -> Colour:
    """8-bit sRGB of the lit glass as printed, white = the lit clear stack."""
    return bytes_of_linear(glass.lit_srgb)


def asked_colour(glass: GlassOnFilm) -> Colour:
    """8-bit sRGB of the glass that was asked for."""
    return bytes_of_linear(linear_srgb_of_lab(glass.target_lab))


def is_dark(colour: Colour) -> bool:
    red, green, blue = colour
    return 0.3 * red + 0.59 * green + 0.11 * blue < 120.0
