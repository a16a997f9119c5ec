"""What a printed glass is to its maker: densities, looks, and a plain sentence."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from msgspec import Struct

from glasswork.cielab import D65_XYZ, lab_of_ratios, linear_srgb_of_lab
from glasswork.colour.density import broadband_density
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.predict import StackModel
from glasswork.colour.spectra import Floats
from glasswork.colour.stack import stack_plate
from glasswork.model.light import Light

WALL: Final = 0.5
"""How much of the room's light the switched-off diffuser throws back [common practice]."""

_COUNTS: Final = ("no film", "one film", "two films", "three films", "four films")
_BANDS: Final = ("red", "green", "blue")


class Told(Struct, frozen=True, eq=False):
    """stack_density : Status A red, green, blue, and visual, above the clear stack, (4,)
    film_density : the same for each film above the bare film, (films, 4)
    lit_srgb, unlit_srgb : linear, cut to 0-1, (3,)"""

    stack_density: Floats
    film_density: Floats
    lit_srgb: Floats
    unlit_srgb: Floats
    sentence: str


def describe_glass(model: StackModel, device: Floats) -> Told:
    """device : (values,) 0-1, as printed"""
    films = np.stack([model.film.transmittance(film) for film in model.films_of(device)])
    above = broadband_density(model.transmittance(device) / model.clear)
    each = broadband_density(films)
    lit = np.clip(linear_srgb_of_lab(model.lab(device)), 0.0, 1.0)
    return Told(above, each, lit, unlit_srgb(model, films), sentence(each))


def unlit_srgb(model: StackModel, films: Floats) -> Floats:
    """Linear sRGB by daylight from the front, against white paper, the light behind switched off.

    films : (films, 36) transmittance relative to the bare film

    Light goes in through the stack, comes back from the diffuser and out through the stack; the
    mirror image of the room in the faces is not part of it.
    """
    pile = stack_plate(films * model.base, face=model.face)
    returned = pile.transmittance**2 * WALL / (1.0 - pile.back * WALL)
    xyz = returned @ _daylight()
    return np.clip(linear_srgb_of_lab(lab_of_ratios(xyz / D65_XYZ)), 0.0, 1.0)


@lru_cache(maxsize=1)
def _daylight() -> Floats:
    """Tristimulus weights of an even spectrum, scaled to the white of sRGB."""
    even = Light(name="room", title="room light", spectrum=(1.0,) * 36)
    weights = tristimulus_weights(even)
    return np.asarray(weights / weights.sum(axis=0) * D65_XYZ)


def sentence(each: Floats) -> str:
    """ "two films; about 1.2 above base in green, 0.5 in blue each"

    each : (films, 4) densities of the films
    """
    count = len(each)
    head = _COUNTS[count] if count < len(_COUNTS) else f"{count} films"
    if np.ptp(each, axis=0).max() < 0.005:
        return f"{head}; {_amounts(each[0])}{' each' if count > 1 else ''}"
    parts = [f"film {i}: {_amounts(film)}" for i, film in enumerate(each, start=1)]
    return f"{head}; " + "; ".join(parts)


def _amounts(film: Floats) -> str:
    ordered = sorted(zip(film[:3].tolist(), _BANDS, strict=True), reverse=True)
    told = [(density, band) for density, band in ordered if density >= 0.05]
    if not told:
        return "almost no ink"
    first, *others = [f"{density:.1f} {{}}in {band}" for density, band in told]
    return ", ".join(["about " + first.format("above base "), *(o.format("") for o in others)])
