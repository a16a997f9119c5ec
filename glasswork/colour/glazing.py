"""Panes get their glass: as chosen, else by the drawing's colour, else by an even scheme."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Final

import numpy as np
from msgspec.structs import replace

from glasswork.cielab import delta_e00, lab_of_ratios, lab_of_srgb, parse_hex
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.spectra import Floats
from glasswork.errors import GlassworkError, ProfileError, raise_all
from glasswork.model.finding import Finding, Severity
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.model.window import Pane, Window

FAR: Final = 10.0
"""A drawn colour further than this ΔE00 from every glass is told of."""

_APART: Final = 12.0
"""Glasses of an automatic scheme lie at least this ΔE00 apart, if the palette has them."""


def choose_glass(
    window: Window, palette: Palette, *, chosen: Mapping[str, str], groups: Mapping[str, int]
) -> tuple[Window, tuple[Finding, ...]]:
    """Every pane of the window gets a glass of the palette.

    chosen : pane id to glass id; wins over everything
    groups : pane id to a small number, unlike for neighbours; panes without colour are glazed by
        it
    Raises: ProfileError or Faults, if a chosen pane or glass is unknown; near names are listed
    """
    _check(window, palette, chosen)
    fills = _fills(window, chosen)
    matches = _matches(palette, sorted(set(fills.values())))
    scheme = even_scheme(palette, max(groups.values(), default=0) + 1)
    panes, bare = [], 0
    for pane in window.panes:
        if pane.id in chosen:
            glass = chosen[pane.id]
        elif pane.id in fills:
            glass = matches[fills[pane.id]][0]
        else:
            glass = _from_scheme(pane, groups.get(pane.id, 0), scheme)
            bare += 1
        panes.append(replace(pane, glass=glass))
    return replace(window, panes=tuple(panes)), _findings(matches, bare, len(panes))


def _check(window: Window, palette: Palette, chosen: Mapping[str, str]) -> None:
    panes = {pane.id for pane in window.panes}
    known = [glass.id for glass in palette.glasses]
    faults: list[GlassworkError] = []
    for pane, glass in chosen.items():
        if pane not in panes:
            near = get_close_matches(pane, panes, n=3)
            faults.append(
                ProfileError(
                    f"glass, {pane}",
                    "the window has no such pane",
                    f"near names: {', '.join(near)}" if near else "inspect shows the names",
                )
            )
        if glass not in known:
            near = get_close_matches(glass, known, n=3, cutoff=0.4) or known
            faults.append(
                ProfileError(
                    f"glass, {pane}",
                    f'palette {palette.name} has no glass "{glass}"',
                    f"near names: {', '.join(near)}",
                )
            )
    raise_all(faults)


def _fills(window: Window, chosen: Mapping[str, str]) -> dict[str, str]:
    """The drawn colours that mean a glass. A drawing that is white all over has none."""
    fills = {pane.id: pane.fill for pane in window.panes if pane.fill and pane.id not in chosen}
    colours = set(fills.values())
    if len(colours) == 1 and len(fills) > 1:
        only = lab_of_srgb(parse_hex(next(iter(colours))))
        if only[0] > 90.0 and np.hypot(*only[1:]) < 5.0:
            return {}
    return fills


def plain_labs(glasses: Sequence[Glass]) -> Floats:
    """CIELAB of glasses apart from any printer, spectral ones under an even light, (glasses, 3)."""
    even = tristimulus_weights(Light(name="even", title="even", spectrum=(1.0,) * 36))
    white = even.sum(axis=0)
    rows = []
    for glass in glasses:
        if glass.transmittance is not None:
            rows.append(lab_of_ratios(np.asarray(glass.transmittance) @ even / white))
        elif glass.lab is not None:
            rows.append(np.asarray(glass.lab, dtype=float))
        else:
            rows.append(lab_of_srgb(parse_hex(glass.srgb or "#ffffff")))
    return np.array(rows)


def _matches(palette: Palette, fills: Sequence[str]) -> dict[str, tuple[str, float]]:
    """For each drawn colour the nearest glass and how far it is."""
    labs = plain_labs(palette.glasses)
    found = {}
    for fill in fills:
        away = delta_e00(lab_of_srgb(parse_hex(fill)), labs)
        best = int(away.argmin())
        found[fill] = (palette.glasses[best].id, float(away[best]))
    return found


def even_scheme(palette: Palette, groups: int) -> tuple[tuple[str, ...], ...]:
    """Glasses for each group of panes that never touch: no glass stands in two groups.

    The first group, the largest, gets pale glasses; the others strong ones, each chosen as far as
    can be from those before, and beside it a near relation for variety.
    """
    labs = plain_labs(palette.glasses)
    chroma, light = np.hypot(labs[:, 1], labs[:, 2]), labs[:, 0]
    order = np.lexsort(
        (np.arange(len(labs)), -_suits(light, 88.0, 8.0) - _suits(chroma, 16.0, 8.0))
    )
    taken = [int(order[0])]
    while len(taken) < min(groups, len(labs)):
        away = np.min([delta_e00(labs, labs[i]) for i in taken], axis=0)
        score = np.minimum(away, 3.0 * _APART) * (
            0.2 + _suits(light, 55.0, 22.0) * np.clip(chroma / 50.0, 0.0, 1.0)
        )
        score[taken] = -1.0
        taken.append(int(score.argmax()))
    families = [[palette.glasses[i].id] for i in taken]
    for family, first in zip(families, tuple(taken), strict=True):
        away = delta_e00(labs, labs[first])
        away[taken] = np.inf
        near = np.flatnonzero((away > 4.0) & (away < _APART))
        if len(near):
            relation = int(near[away[near].argmin()])
            taken.append(relation)
            family.append(palette.glasses[relation].id)
    while len(families) < groups:
        families.append(families[len(families) % len(labs)])
    return tuple(map(tuple, families))


def _suits(values: Floats, middle: float, width: float) -> Floats:
    return np.asarray(np.exp(-(((values - middle) / width) ** 2)))


def _from_scheme(pane: Pane, group: int, scheme: Sequence[Sequence[str]]) -> str:
    """A glass of the group's family, one in four its relation, by the pane's place."""
    family = scheme[group % len(scheme)]
    x, y = pane.seed_point
    odd = int(abs(x) * 7.0 + abs(y) * 13.0) % 4 == 3
    return family[-1] if odd else family[0]


def _findings(
    matches: Mapping[str, tuple[str, float]], bare: int, panes: int
) -> tuple[Finding, ...]:
    found = [
        Finding(
            severity=Severity.NOTE,
            where=f"colour {fill}",
            what=f"nearest glass {glass} is ΔE00 {away:.1f} away, {FAR:g} is the limit",
            hint="name the glass of these panes in the project file, or add one to the palette",
        )
        for fill, (glass, away) in matches.items()
        if away > FAR
    ]
    if bare:
        found.append(
            Finding(
                severity=Severity.NOTE,
                where="glass",
                what=f"{bare} of {panes} panes have no colour in the drawing; glazed by scheme",
                hint="name their glass in the project file",
            )
        )
    return tuple(found)
