"""Glass in a light: a strip along its edge, quarries, a round in the middle."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from msgspec import Struct

from glasswork.drawing.drawn.arrange import Least, divide
from glasswork.drawing.drawn.curves import Loop, circle, flat
from glasswork.drawing.drawn.foils import FOILS, Round
from glasswork.drawing.drawn.motifs import Bench, foiled
from glasswork.drawing.drawn.patterns import PATTERNS, ROWS
from glasswork.drawing.drawn.strips import Strip, moved_in, strip_along
from glasswork.errors import DrawingError
from glasswork.model.geometry import Box
from glasswork.model.window import Role

_SMALL = 0.08
"""A cut quarry smaller than this share of a whole one joins its neighbour."""
_HALVINGS = 24
_PLACES = 240
"""Places for bars that are tried in glass without quarries."""


class Glazing(Struct, frozen=True, kw_only=True):
    """How lights are filled.

    pattern : one of `PATTERNS` · quarry : width and height of one · strip_mm : glass border, 0 for
    none · roundel : "none", "plain" or one of `FOILS` · rim_mm : width of what is round a light
    """

    pattern: str
    quarry: tuple[float, float]
    strip_mm: float
    roundel: str
    rim_mm: float

    def edge_mm(self, lead: float) -> float:
        """From the middle of what is round a light to the glass inside the strip."""
        return self.rim_mm / 2.0 + (self.strip_mm + lead if self.strip_mm > 0.0 else 0.0)

    def rows(self, top: float, bottom: float) -> list[float]:
        """Heights between top and bottom of the glass at which a bar may cross it: where quarries
        meet, across the uprights of a honeycomb, anywhere in plain glass.
        """
        if self.pattern == "none":
            return [bottom - (bottom - top) * k / _PLACES for k in range(1, _PLACES)]
        start, step = ROWS[self.pattern]
        count = int(max(0.0, bottom - top) / (step * self.quarry[1])) + 1
        return [bottom - (start + k * step) * self.quarry[1] for k in range(count)]

    @property
    def scrap_mm2(self) -> float:
        """A cut quarry smaller than this joins its neighbour."""
        return _SMALL * self.quarry[0] * self.quarry[1]

    def cell(self, glass: Box) -> tuple[float, float]:
        """A quarry as it is where a light is narrower or lower than one."""
        return (min(self.quarry[0], glass.width), min(self.quarry[1], glass.height))


def check_strip(zones: Sequence[Loop], how: Glazing, lead: float, where: str) -> None:
    """Raises: DrawingError, if a glass border leaves no room for quarries: with how wide it may be

    zones : the lights, by the middles of what is round them
    """
    if how.strip_mm <= 0.0 or all(_room(zone, how.strip_mm, how, lead) for zone in zones):
        return
    least, most = 0.0, how.strip_mm
    for _ in range(_HALVINGS):
        middle = (least + most) / 2.0
        if all(_room(zone, middle, how, lead) for zone in zones):
            least = middle
        else:
            most = middle
    limit = int(10.0 * least) / 10.0
    quarries = "" if how.pattern == "none" else "quarries of "
    wide, high = how.quarry
    size = f"{wide:.3g} x {high:.3g} mm" if quarries else "glass"
    raise DrawingError(
        where,
        f"a glass border of {how.strip_mm:.3g} mm leaves a light no room for {quarries}{size} "
        f"between leads of {lead:.3g} mm",
        f"make it at most {limit:g} mm wide" if limit > 0.0 else "leave the glass border out",
    )


def _room(zone: Loop, strip_mm: float, how: Glazing, lead: float) -> bool:
    """Quarries inside such a strip show, none has to join its neighbour for want of room."""
    inner = moved_in(zone, how.rim_mm / 2.0 + strip_mm + lead / 2.0)
    if inner is None:
        return False
    glass = Box.around(flat(inner)).grown(-lead / 2.0)
    if min(glass.width, glass.height) < 2.0 * lead:
        return False
    if glass.width >= 2.0 * how.quarry[0] and glass.height >= 2.0 * how.quarry[1]:
        return True  # some are whole, whatever becomes of those that are cut
    wide, high = how.cell(glass)
    least = _least(how, glass, lead / 2.0, lead / 2.0)
    if how.pattern == "diamond":
        half, times = (wide + lead) / 2.0, (wide + lead) / wide  # beside the jamb, to its lead
        slant = hypot(wide, high) / 2.0 * times
        sides = [(high * times, True), (slant, False), (slant, False)]
        return least.fits(half * high * times / 2.0, sides)
    part = (wide / 2.0 if how.pattern in ("brick", "honeycomb") else wide) + lead / 2.0
    return least.fits(part * high, [(2.0 * (part + high), False)])


def _least(how: Glazing, glass: Box, half_lead: float, half_rim: float) -> Least:
    """What a quarry must show in this glass, or it joins its neighbour."""
    wide, high = how.cell(glass)
    return Least(
        area_mm2=_SMALL * wide * high,
        wide_mm=0.12 * min(wide, high),
        half_lead_mm=half_lead,
        half_rim_mm=half_rim,
    )


def glaze(bench: Bench, zone: Loop, how: Glazing) -> Round | None:
    """Border strip, quarries and roundel of one light; the roundel is returned, if there is one.

    zone : the light, by the middles of what is round it
    """
    lead, glazier, design = bench.pens.lead, bench.glazier, bench.design
    inner, edge = zone, how.rim_mm / 2.0
    if how.strip_mm > 0.0:
        strip = strip_along(zone, edge + how.strip_mm + lead / 2.0, 3.0 * how.strip_mm)
        assert strip is not None  # as `check_strip` has found
        _draw_strip(bench, strip)
        inner, edge = strip.inner, lead / 2.0
    box = Box.around(flat(inner))
    glass = box.grown(-edge)
    lowest = box.bottom > design.height_mm - 2.0 * bench.pens.border - how.strip_mm - edge
    hole = _roundel(glass, how) if lowest else None
    field = divide(
        inner,
        PATTERNS[how.pattern](glass, *how.quarry, 2.0 * edge),
        holes=[circle(hole.centre, hole.radius)] if hole else [],
        least=_least(how, glass, lead / 2.0, edge),
    )
    for pane in field.panes:
        ys = [p[1] for p in flat(pane)]
        middle = (min(ys) + max(ys)) / 2.0
        design.paint(pane, glazier.field((box.bottom - middle) / max(box.height, 1e-9)))
    for run in field.leads:
        design.lead(run, Role.LEAD, lead)
    if hole:
        _draw_roundel(bench, hole, how.roundel)
    return hole


def _draw_strip(bench: Bench, strip: Strip) -> None:
    for index, piece in enumerate(strip.pieces):
        bench.design.paint(piece, bench.glazier.strip(index))
    for cut in strip.cuts:
        bench.design.lead([cut], Role.LEAD, bench.pens.lead)
    bench.design.lead(strip.inner, Role.LEAD, bench.pens.lead)


def _roundel(glass: Box, how: Glazing) -> Round | None:
    if how.roundel == "none":
        return None
    radius = 0.36 * min(glass.width, glass.height)
    return Round(centre=(glass.centre[0], glass.bottom - 0.42 * glass.height), radius=radius)


def _draw_roundel(bench: Bench, place: Round, roundel: str) -> None:
    ring = circle(place.centre, place.radius)
    bench.design.paint(ring, bench.glazier.part("medallion"))
    bench.design.lead(ring, Role.LEAD, bench.pens.lead)
    if roundel in FOILS:
        foiled(bench, place.centre, place.radius, FOILS[roundel])
