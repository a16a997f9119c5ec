"""What runs across the lights: transoms, and saddle bars at even places between them.

A bar lies where quarries meet, and leaves glass free between itself and what it does not touch.
Source: saddle bars tie large panels [chestofbooks-bars].
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence

from msgspec import Struct

from glasswork.drawing.drawn.arrange import Least, divide
from glasswork.drawing.drawn.curves import Line, Loop, flat
from glasswork.drawing.drawn.foils import Round
from glasswork.drawing.drawn.glazed import Glazing
from glasswork.drawing.drawn.measures import LEAST_LIGHT_MM
from glasswork.drawing.drawn.motifs import Bench
from glasswork.drawing.drawn.tracery import Opening
from glasswork.errors import DrawingError
from glasswork.model.window import Role

_FREE_ROWS = 0.25
"""Glass beside a bar is at least this share of a quarry's height."""
_HEAD_SHARE = 0.3
"""Under a curved head the first bar lies lower by this share of a distance between bars."""


class Tier(Struct, frozen=True, kw_only=True):
    """Lights side by side, between two transoms or between a transom and head or sill.

    zones : by the middles of what is round them · holes : roundels in them · top, bottom : of the
    glass inside the strips · arched : the top is a curve
    """

    zones: tuple[Loop, ...]
    holes: tuple[Round, ...]
    top: float
    bottom: float
    arched: bool

    def wanted(self, count: int) -> list[float]:
        """Even places for so many bars."""
        low = _HEAD_SHARE if self.arched else 0.0
        share = (self.bottom - self.top) / (count + 1 + low)
        return [self.top + (k + low) * share for k in range(1, count + 1)]


def transoms(
    bench: Bench, opening: Opening, lights: tuple[Loop, ...], count: int
) -> tuple[tuple[Loop, ...], list[float]]:
    """The lights parted by bars as strong as mullions, the lowest part the tallest; and at which
    heights.

    Raises: DrawingError, if the parts would be too low for glass
    """
    if not count:
        return lights, []
    tops = [min(p[1] for p in flat(light)) for light in lights]
    top = max(*tops, opening.arch.spring)
    share = (opening.sill - top) / (count + 0.75)
    ys = [top + (k - 0.25) * share for k in range(1, count + 1)]
    low = min(ys[0] - max(tops), share) - bench.pens.mullion
    if low < LEAST_LIGHT_MM:
        raise DrawingError(
            bench.design.title,
            f"between {count} transoms the glass would be {max(low, 0.0):.3g} mm high, "
            f"under {LEAST_LIGHT_MM:g} mm",
            "fewer transoms, thinner mullions, or a taller window",
        )
    ends = (opening.arch.left, opening.arch.right)
    across = [Line((ends[0], y), (ends[1], y)) for y in ys]
    found: list[Loop] = []
    for light in lights:
        parted = divide(light, across)
        found += parted.panes
        for run in parted.leads:
            bench.design.lead(run, Role.MULLION, bench.pens.mullion)
    return tuple(found), ys


def tiers(
    lights: Sequence[tuple[Loop, Round | None]], across: Sequence[float], edge_mm: float
) -> list[Tier]:
    """The lights in their rows, from the top down.

    lights : each with the roundel in it · across : heights of the transoms, from the top down
    edge_mm : from the middle of what is round a light to the glass inside its strip
    """
    rows: dict[int, list[tuple[Loop, Round | None]]] = {}
    for zone, hole in lights:
        ys = [p[1] for p in flat(zone)]
        rows.setdefault(bisect(across, (min(ys) + max(ys)) / 2.0), []).append((zone, hole))
    found = []
    for _, row in sorted(rows.items()):
        zones = tuple(zone for zone, _ in row)
        places = [p[1] for zone in zones for p in flat(zone)]
        top = min(places)
        found.append(
            Tier(
                zones=zones,
                holes=tuple(hole for _, hole in row if hole is not None),
                top=top + edge_mm,
                bottom=max(places) - edge_mm,
                arched=not any(_level(zone, top) for zone in zones),
            )
        )
    return found


def _level(zone: Loop, y: float) -> bool:
    """A side of the light lies level at this height."""
    return any(
        isinstance(side, Line) and abs(side.a[1] - y) < 1e-6 and abs(side.b[1] - y) < 1e-6
        for side in zone
    )


def saddle_bars(bench: Bench, opening: Opening, rows: Sequence[Tier], how: Glazing,
                count: int) -> None:  # fmt: skip
    """Bars at even places, shared out among the tiers by their height; those that have no room are
    left out and noted.
    """
    left_out = 0
    for tier, share in zip(rows, _shares(rows, count), strict=True):
        ys = _places(bench, tier, how, share)
        left_out += share - len(ys)
        for y in ys:
            _draw(bench, (opening.arch.left, opening.arch.right, y), tier, how)
    if left_out:
        bench.design.notes.append(
            f"{left_out} of {count} saddle bars have no room between quarries, transoms and "
            "roundels, and are left out."
        )


def _shares(rows: Sequence[Tier], count: int) -> list[int]:
    """How many bars each tier gets: one after the other, where they lie farthest apart."""
    found = [0] * len(rows)
    for _ in range(count):
        wide = [(t.bottom - t.top) / (n + 1) for t, n in zip(rows, found, strict=True)]
        found[wide.index(max(wide))] += 1
    return found


def _places(bench: Bench, tier: Tier, how: Glazing, count: int) -> list[float]:
    """Where in a tier the bars lie: each at the place nearest to the even one that is free."""
    half = bench.pens.bar / 2.0
    free = max(bench.pens.bar, _FREE_ROWS * how.quarry[1])
    places = [
        y
        for y in how.rows(tier.top, tier.bottom)
        if tier.top + free <= y - half and y + half <= tier.bottom - free
    ]
    for hole in tier.holes:
        clear = hole.radius + bench.pens.lead / 2.0 + half + free
        places = [y for y in places if abs(y - hole.centre[1]) >= clear]
    found: list[float] = []
    for wanted in tier.wanted(count):
        left = [y for y in places if all(abs(y - z) >= 2.0 * half + free for z in found)]
        if left:
            found.append(min(left, key=lambda y: abs(y - wanted)))
    return found


def _draw(bench: Bench, at: tuple[float, float, float], tier: Tier, how: Glazing) -> None:
    """One bar across every light of a tier that is large enough there."""
    left, right, y = at
    least = Least(
        area_mm2=how.scrap_mm2,
        half_lead_mm=bench.pens.bar / 2.0,
        half_rim_mm=how.rim_mm / 2.0,
    )
    for zone in tier.zones:
        for run in divide(zone, [Line((left, y), (right, y))], least=least).leads:
            bench.design.lead(run, Role.BAR, bench.pens.bar)
