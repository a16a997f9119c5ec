"""The separation: every glass of a window becomes 8-bit device values for each film."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, Literal

import numpy as np
from msgspec import Struct

from glasswork.cielab import delta_e00
from glasswork.colour.advice import advise, alike_pairs
from glasswork.colour.black import printed_black
from glasswork.colour.describe import describe_glass
from glasswork.colour.film import ink_load
from glasswork.colour.predict import StackModel, make_stack
from glasswork.colour.quantise import quantise
from glasswork.colour.solve import solve
from glasswork.colour.spectra import Floats, triple
from glasswork.colour.starve import starved_glasses
from glasswork.colour.table import Cache, codes_key, keep_array, kept_array
from glasswork.colour.targets import target_labs
from glasswork.errors import ProfileError
from glasswork.model.film import FilmsRow, GlassOnFilm, PrinterProfile, Separation
from glasswork.model.finding import Finding
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.model.window import Window

COUNTS: Final = (1, 2, 3)
"""How many films are tried."""

WITHIN: Final = 3.0
"""A glass is in reach up to this ΔE00."""

ENOUGH: Final = 0.95
"""Share of the glass area that must be within for `auto` to be content."""

AS_GOOD: Final = 0.25
"""Mean ΔE00 by which one more film must better a window out of reach to be worth its print."""

PLAINLY_OFF: Final = 6.0
"""From this ΔE00 on the maker is asked to choose. Source: [johnthemathguy], "pleasing" at 6"""


class Printed(Struct, frozen=True, eq=False):
    """Glasses as printed on one stack. codes : (glasses, values) 0-255"""

    model: StackModel
    wanted: Floats
    codes: np.ndarray
    seen: Floats
    off: Floats


def separate(
    window: Window,
    palette: Palette,
    profile: PrinterProfile,
    light: Light,
    *,
    films: int | Literal["auto"] = "auto",
    films_differ: bool = False,
    lights: Sequence[Light] = (),
    cache: Cache | None = None,
) -> tuple[Separation, tuple[Finding, ...]]:
    """Device values for the glasses of a window.

    films : how many, or "auto" for the fewest with 95 % of the glass area within ΔE00 3
    films_differ : let each film carry its own values where that comes nearer
    lights : others the maker could use, to name one where this light starves a glass
    cache : where device values are kept between runs
    Raises: ProfileError, if the printer does not take RGB or a pane's glass is not in the
        palette; ColourError, if a quantity lies outside its domain
    """
    if profile.device != "rgb":
        raise ProfileError(
            profile.name, "takes CMYK, and film pages are printed as RGB", "use an RGB profile"
        )
    areas = glass_areas(window)
    glasses = _glasses(palette, areas)

    def printed(films: int) -> Printed:
        return _printed(glasses, profile, light, films=films, unlike=films_differ, cache=cache)

    stacks = {n: printed(n) for n in COUNTS}
    weights = np.array([areas[glass.id] for glass in glasses])
    table = tuple(_row(n, stacks[n], weights) for n in COUNTS)
    count = films if films != "auto" else fewest_films(table)
    if count not in stacks:
        stacks[count] = printed(count)
    chosen = stacks[count]
    entries = tuple(on_film(glass, chosen, i) for i, glass in enumerate(glasses))
    separation = Separation(
        count=count,
        identical=all(len(set(entry.device)) == 1 for entry in entries),
        glasses=entries,
        table=table,
        black=printed_black(profile, light, films=count),
        throughput=chosen.model.throughput,
    )
    through = chosen.model.transmittance(chosen.codes / 255.0) / chosen.model.clear
    told = (
        *advise(
            separation,
            profile,
            plainly_off=PLAINLY_OFF,
            unlike=_unlike_would_give(glasses, chosen, profile, light),
            instead=_instead(separation, palette, profile, light),
        ),
        *starved_glasses(glasses, through, light, lights),
    )
    return separation, told


def _unlike_would_give(
    glasses: Sequence[Glass], chosen: Printed, profile: PrinterProfile, light: Light
) -> dict[str, float]:
    """ΔE00 that unlike films would bring the glasses out of reach to, where they pay."""
    lost = np.flatnonzero(chosen.off > WITHIN)
    if chosen.model.unlike or chosen.model.films == 1 or not len(lost):
        return {}
    stack = print_unlike([glasses[int(i)] for i in lost], profile, light, films=chosen.model.films)
    return {
        glasses[int(i)].id: float(off)
        for i, off in zip(lost, stack.off, strict=True)
        if off < chosen.off[i] - 0.5
    }


def _instead(
    separation: Separation, palette: Palette, profile: PrinterProfile, light: Light
) -> dict[tuple[str, str], str]:
    """For each pair of look-alikes the glass that could take the second one's place."""
    pairs = alike_pairs(separation)
    if not pairs:
        return {}
    from glasswork.colour.palette_tools import suggest_instead

    used = [glass.glass for glass in separation.glasses]
    found = {}
    for one, other, _, _ in pairs:
        better = suggest_instead(other, used, palette, profile, light, films=separation.count)
        if better is not None:
            found[one, other] = better
    return found


def print_glasses(
    glasses: Sequence[Glass], profile: PrinterProfile, light: Light, *, films: int
) -> Printed:
    """Glasses on identical films: solved, then brought to the nearest 8-bit values."""
    model = make_stack(profile, light, films)
    wanted = target_labs(glasses, model)
    solved = solve(model, wanted)
    codes = quantise(model, solved.device, wanted, solved.miss)
    seen = model.lab(codes / 255.0)
    return Printed(model, wanted, codes, seen, delta_e00(seen, wanted))


def print_unlike(
    glasses: Sequence[Glass], profile: PrinterProfile, light: Light, *, films: int
) -> Printed:
    """The same with unlike films for the glasses where they pay."""
    from glasswork.colour.unlike import improve

    return improve(print_glasses(glasses, profile, light, films=films), profile, light)


def _printed(
    glasses: Sequence[Glass],
    profile: PrinterProfile,
    light: Light,
    *,
    films: int,
    unlike: bool,
    cache: Cache | None,
) -> Printed:
    """Glasses as printed, from the cache where their very search is kept there.

    What the values look like is computed from them in any case, so that a run that found them
    kept tells the same numbers to the last digit.
    """
    model = make_stack(profile, light, films, unlike=unlike and films > 1)
    wanted = target_labs(glasses, model)
    key = codes_key(profile, light, films, wanted, unlike=model.unlike)
    codes = kept_array(cache, key, (len(glasses), model.values))
    if codes is None:
        search = print_unlike if model.unlike else print_glasses
        codes = search(glasses, profile, light, films=films).codes.astype(np.uint8)
        keep_array(cache, key, codes)
    seen = model.lab(codes / 255.0)
    return Printed(model, wanted, codes, seen, delta_e00(seen, wanted))


def glass_areas(window: Window) -> dict[str, float]:
    """Area of each glass in the window, mm²."""
    areas: dict[str, float] = {}
    for pane in window.panes:
        if pane.glass is None:
            raise ProfileError(f"pane {pane.id}", "no glass was chosen", "choose one")
        areas[pane.glass] = areas.get(pane.glass, 0.0) + pane.region.area_mm2
    return areas


def fewest_films(table: Sequence[FilmsRow]) -> int:
    """The fewest films with enough of the glass area within reach; if none has, the fewest whose
    mean difference comes near the least: area out of reach says nothing of how far out it is."""
    for row in table:
        if row.area_within_3 >= ENOUGH:
            return row.count
    best = min(row.mean_delta_e00 for row in table)
    return next(row.count for row in table if row.mean_delta_e00 <= best + AS_GOOD)


def _glasses(palette: Palette, areas: Mapping[str, float]) -> tuple[Glass, ...]:
    known = {glass.id for glass in palette.glasses}
    for glass_id in areas:
        if glass_id not in known:
            raise ProfileError(
                palette.name, f'no glass "{glass_id}" in the palette', "name one of its glasses"
            )
    return tuple(glass for glass in palette.glasses if glass.id in areas)


def _row(count: int, stack: Printed, weights: Floats) -> FilmsRow:
    share = weights / weights.sum()
    return FilmsRow(
        count=count,
        mean_delta_e00=float(share @ stack.off),
        area_within_3=float(share @ (stack.off <= WITHIN)),
    )


def on_film(glass: Glass, stack: Printed, i: int) -> GlassOnFilm:
    """The i-th of the glasses of a stack, as it is printed."""
    device = stack.codes[i] / 255.0
    told = describe_glass(stack.model, device)
    films = stack.model.films_of(stack.codes[i])
    return GlassOnFilm(
        glass=glass.id,
        device=tuple((int(r), int(g), int(b)) for r, g, b in films),
        target_lab=triple(stack.wanted[i]),
        predicted_lab=triple(stack.seen[i]),
        delta_e00=float(stack.off[i]),
        in_reach=bool(stack.off[i] <= WITHIN),
        status_a=triple(told.stack_density[:3]),
        visual=float(told.stack_density[3]),
        film_status_a=tuple(triple(row[:3]) for row in told.film_density),
        lit_srgb=triple(told.lit_srgb),
        ink_load=tuple(float(ink_load(f / 255.0, kind=stack.model.kind)) for f in films),
        unlit_srgb=triple(told.unlit_srgb),
        sentence=told.sentence,
    )
