"""The window on one, two and three films, composed and by hand: what the stacking is for."""

from __future__ import annotations

from typing import Final

import numpy as np

from glasswork.colour.black import black_of
from glasswork.colour.by_hand import print_by_hand
from glasswork.colour.separate import COUNTS, glass_areas, on_film, separate
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.window import Window

BY_HAND: Final = (1, 2, 3)
"""Films that a maker stacks by hand: one, and the same one doubled and trebled."""


def compare_films(
    window: Window, palette: Palette, profile: PrinterProfile, light: Light
) -> tuple[tuple[str, Separation], ...]:
    """Captions and separations: composed for 1, 2 and 3 films, then by hand.

    Raises: ProfileError, as `separate` does
    """
    found: list[tuple[str, Separation]] = []
    for films in COUNTS:
        separation, _ = separate(window, palette, profile, light, films=films)
        found.append((_caption(films, window, separation, "composed"), separation))
    for films in BY_HAND:
        separation = by_hand_separation(window, palette, profile, light, films=films)
        found.append((_caption(films, window, separation, "by hand"), separation))
    return tuple(found)


def by_hand_separation(
    window: Window, palette: Palette, profile: PrinterProfile, light: Light, *, films: int
) -> Separation:
    """The palette's sRGB values sent to the printer as they are, on so many films alike."""
    areas = glass_areas(window)
    glasses = tuple(glass for glass in palette.glasses if glass.id in areas)
    stack = print_by_hand(glasses, profile, light, films=films)
    return Separation(
        count=films,
        identical=True,
        glasses=tuple(on_film(glass, stack, i) for i, glass in enumerate(glasses)),
        table=(),
        black=black_of(stack.model, np.zeros(stack.model.values, np.int64)),
        throughput=stack.model.throughput,
    )


def _caption(films: int, window: Window, separation: Separation, how: str) -> str:
    areas = glass_areas(window)
    total = sum(areas.values())
    mean = sum(areas[glass.glass] * glass.delta_e00 for glass in separation.glasses) / total
    count = ("one film", "two films", "three films")[films - 1]
    return f"{how}, {count}: off by {mean:.1f}"
