"""The window on one, two and three films, composed and by hand: what the stacking is for."""

from __future__ import annotations

from typing import Final

import numpy as np

from glasswork.colour.black import printed_black
from glasswork.colour.describe import describe_glass
from glasswork.colour.film import ink_load
from glasswork.colour.lab import delta_e00
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import COUNTS, glass_areas, separate
from glasswork.colour.targets import display_codes, target_labs
from glasswork.model.film import GlassOnFilm, PrinterProfile, Separation
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
    model = make_stack(profile, light, films)
    wanted = target_labs(glasses, model)
    entries = []
    for glass, lab in zip(glasses, wanted, strict=True):
        codes = np.rint(np.asarray(display_codes(glass, lab)) * 255.0)
        device = codes / 255.0
        told = describe_glass(model, device)
        seen = model.lab(device)
        off = float(delta_e00(seen, lab))
        r, g, b = (int(code) for code in codes)
        status = [(float(d[0]), float(d[1]), float(d[2])) for d in told.film_density]
        entries.append(
            GlassOnFilm(
                glass=glass.id,
                device=((r, g, b),) * films,
                target_lab=_triple(lab),
                predicted_lab=_triple(seen),
                delta_e00=off,
                in_reach=off <= 3.0,
                status_a=_triple(told.stack_density[:3]),
                visual=float(told.stack_density[3]),
                film_status_a=tuple(status),
                lit_srgb=_triple(told.lit_srgb),
                ink_load=(float(ink_load(device, kind=model.kind)),) * films,
                unlit_srgb=_triple(told.unlit_srgb),
                sentence=told.sentence,
            )
        )
    return Separation(
        count=films,
        identical=True,
        glasses=tuple(entries),
        table=(),
        black=printed_black(profile, light, films=films),
        throughput=model.throughput,
    )


def _caption(films: int, window: Window, separation: Separation, how: str) -> str:
    areas = glass_areas(window)
    total = sum(areas.values())
    mean = sum(areas[glass.glass] * glass.delta_e00 for glass in separation.glasses) / total
    count = ("one film", "two films", "three films")[films - 1]
    return f"{how}, {count}: off by {mean:.1f}"


def _triple(values: object) -> tuple[float, float, float]:
    a, b, c = (float(value) for value in np.asarray(values))
    return (a, b, c)
