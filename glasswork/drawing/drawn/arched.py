"""Windows under one head: lights between mullions, tracery over them, quarries in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from glasswork.drawing.drawn.across import saddle_bars, tiers, transoms
from glasswork.drawing.drawn.arrange import divide
from glasswork.drawing.drawn.colours import NO_COLOURS, SCHEMES, Glazier
from glasswork.drawing.drawn.curves import Arc, Curve, Line, Loop
from glasswork.drawing.drawn.design import Design
from glasswork.drawing.drawn.foils import FOILS
from glasswork.drawing.drawn.glazed import Glazing, check_strip, glaze
from glasswork.drawing.drawn.heads import SHAPES, Head, rise_of
from glasswork.drawing.drawn.measures import (
    LEAST_LIGHT_MM,
    Measures,
    choice,
    count,
    length,
    ratio,
    scale_choice,
)
from glasswork.drawing.drawn.motifs import Bench, Pens
from glasswork.drawing.drawn.patterns import PATTERNS
from glasswork.drawing.drawn.specks import fill_specks
from glasswork.drawing.drawn.tracery import Opening, tracery
from glasswork.errors import DrawingError
from glasswork.model.window import Role

TRACERIES = ("none", "intersecting", *FOILS, "triangle", "dagger")
_TWO_CENTRED = ("equilateral", "lancet", "drop", "round")


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchedWindow:
    """Parameters of a window under an arch, or under a flat head."""

    width_mm: float | None = length("Width of the window.", panel=100.0, real=1200.0, least=10.0)
    height_mm: float | None = length("Height of the window.", panel=160.0, real=1920.0, least=10.0)
    rise: float | None = ratio("Rise of the head over its span; leave out for the usual one.")
    lights: int = count("Openings side by side.", 1, 1, 4)
    light_head: str = choice(
        "Head of each light under tracery; auto takes round ones under round heads.",
        "auto",
        ("auto", *SHAPES),
    )
    tracery: str = choice("What fills the head above the lights.", "none", TRACERIES)
    pattern: str = choice("Quarries in the lights.", "diamond", tuple(PATTERNS))
    quarry_width_mm: float | None = length(
        "Width of a quarry, about.", panel=8.5, real=101.6, least=0.5
    )
    quarry_height_mm: float | None = length(
        "Height of a quarry.", panel=12.7, real=152.4, least=0.5
    )
    glass_border_mm: float | None = length("Strip of glass round each light.", panel=0.0, real=0.0)
    roundel: str = choice(
        "A round in the middle of each light: plain, or with a foil.",
        "none",
        ("none", "plain", *FOILS),
    )
    transoms: int = count("Mullions across the lights.", 0, 0, 4)
    bars: int = count("Saddle bars across the lights.", 0, 0, 12)
    border_mm: float | None = length("Width of the border.", panel=4.0, real=100.0, least=0.2)
    mullion_mm: float | None = length(
        "Width of mullions and tracery.", panel=3.0, real=90.0, least=0.2
    )
    bar_mm: float | None = length("Width of a saddle bar.", panel=2.0, real=10.0, least=0.2)
    lead_mm: float | None = length("Width of the leads.", panel=0.9, real=6.0, least=0.05)
    colours: str = choice("Colours of the glass.", "tide", (*SCHEMES, NO_COLOURS))
    scale: str = scale_choice()
    seed: int = count("Another number, other quarries in other tints.", 0, 0, 1_000_000)


def arched(params: ArchedWindow, *, head: str, title: str) -> Design:
    """The window.

    Raises: DrawingError, if the head, the lights or the border leave no room
    """
    measures = Measures(params)
    wide, high = measures.sure("width_mm"), measures.sure("height_mm")
    pens = Pens(
        border=measures.lead("border_mm"),
        mullion=measures.lead("mullion_mm"),
        bar=measures.lead("bar_mm"),
        lead=measures.lead("lead_mm"),
    )
    rise = wide * rise_of(head, params.rise, where=f"{title}, rise")
    _check(params, pens, (wide, high, rise), title)
    if params.pattern != "none":
        quarry = (measures.sure("quarry_width_mm"), measures.sure("quarry_height_mm"))
        _check_quarries(quarry, pens.lead, title)
    design = Design(title=title, width_mm=wide, height_mm=high)
    bench = Bench(design=design, glazier=Glazier(params.colours, params.seed), pens=pens)
    arch = Head(name=head, left=0.0, right=wide, spring=rise, rise_mm=rise).under_mitre(pens.border)
    inset = pens.border - pens.mullion / 2.0 if _has_mullions(params) else pens.border / 2.0
    opening = Opening(
        arch=arch,
        inset=inset,
        bottom=high,
        lights=params.lights,
        light_head=_light_head(params, head),
        border_mm=pens.border,
    )
    zones, across = transoms(bench, opening, _zones(bench, opening, params, title), params.transoms)
    how = _glazing(params, measures, pens)
    check_strip(zones, how, pens.lead, title)
    lights = [(zone, glaze(bench, zone, how)) for zone in zones]
    if params.bars:
        rows = tiers(lights, across, how.edge_mm(pens.lead))
        saddle_bars(bench, opening, rows, how, params.bars)
    design.lead(arch.loop(high, pens.border / 2.0), Role.BORDER, pens.border)
    design.notes += measures.notes
    fill_specks(design)
    return design


def _glazing(params: ArchedWindow, measures: Measures, pens: Pens) -> Glazing:
    return Glazing(
        pattern=params.pattern,
        quarry=(measures.sure("quarry_width_mm"), measures.sure("quarry_height_mm")),
        strip_mm=measures.sure("glass_border_mm"),
        roundel=params.roundel,
        rim_mm=pens.mullion if _has_mullions(params) else pens.border,
    )


def _has_mullions(params: ArchedWindow) -> bool:
    return params.lights > 1 or params.transoms > 0 or params.tracery != "none"


def _light_head(params: ArchedWindow, head: str) -> str:
    if params.light_head != "auto":
        return params.light_head
    return "round" if head in ("round", "segmental", "square") else "equilateral"


def _check(params: ArchedWindow, pens: Pens, size: tuple[float, float, float], where: str) -> None:
    wide, high, rise = size
    room = high - rise - 2.0 * pens.border
    if room < LEAST_LIGHT_MM:
        raise DrawingError(
            where,
            f"the head rises {rise:.4g} mm of {high:.4g} mm: {max(room, 0.0):.3g} mm are left "
            f"for the lights, under {LEAST_LIGHT_MM:g} mm",
            "make the window taller, or its rise less",
        )
    glass = (wide - 2.0 * pens.border - (params.lights - 1) * pens.mullion) / params.lights
    if glass < LEAST_LIGHT_MM:
        raise DrawingError(
            where,
            f"each light would be {max(glass, 0.0):.3g} mm wide, under {LEAST_LIGHT_MM:g} mm",
            "fewer lights, or thinner border and mullions",
        )
    used = {"mullion": "mullions"} if _has_mullions(params) else {}
    used |= {"bar": "saddle bars"} if params.bars else {}
    pens.check(where, **used, lead="leads")


def _check_quarries(quarry: tuple[float, float], lead: float, where: str) -> None:
    if min(quarry) < 2.0 * lead:
        raise DrawingError(
            where,
            f"leads of {lead:g} mm leave less than half of a quarry of "
            f"{quarry[0]:.3g} x {quarry[1]:.3g} mm open",
            "thinner leads or larger quarries",
        )


# -- where the glass goes -----------------------------------------------------------------------


def _zones(bench: Bench, opening: Opening, params: ArchedWindow, where: str) -> tuple[Loop, ...]:
    """The lights' openings, by the middles of what is round them; tracery is drawn."""
    if params.tracery == "none":
        return _plain(bench, opening)
    if params.tracery == "intersecting":
        return _intersecting(bench, opening, where)
    return tracery(bench, opening, params.tracery, where=where)


def _plain(bench: Bench, opening: Opening) -> tuple[Loop, ...]:
    """Mullions go straight up to the head."""
    lines = [Line((x, opening.arch.spring - opening.arch.rise_mm), (x, opening.sill))
             for x in opening.mullions]  # fmt: skip
    parted = divide(opening.loop, lines)
    for run in parted.leads:
        bench.design.lead(_into_border(run, opening), Role.MULLION, bench.pens.mullion)
    return parted.panes


def _intersecting(bench: Bench, opening: Opening, where: str) -> tuple[Loop, ...]:
    """Each mullion parts in two arcs as wide as the window's own; they cross each other."""
    arch = opening.arch
    if arch.name not in _TWO_CENTRED or opening.lights < 2:
        raise DrawingError(
            where,
            "intersecting tracery needs two lights or more under an equilateral, lancet, drop or "
            "round head",
            "choose another tracery",
        )
    first = arch.arcs(opening.inset)[0]
    assert isinstance(first, Arc)
    leads: list[Curve] = []
    for x in opening.mullions:
        leads.append(Line((x, opening.sill), (x, arch.spring)))
        for side in (1.0, -1.0):
            start, sweep = (3.141592653589793, 1.7) if side > 0.0 else (0.0, -1.7)
            leads.append(Arc((x + side * first.radius, arch.spring), first.radius, start, sweep))
    parted = divide(opening.loop, leads)
    for run in parted.leads:
        bench.design.lead(_into_border(run, opening), Role.MULLION, bench.pens.mullion)
    lights: list[Loop] = []
    heads: list[Loop] = []
    for pane in parted.panes:
        low = max(curve.start[1] for curve in pane)
        (lights if low > opening.sill - 1e-6 else heads).append(pane)
    for index, pane in enumerate(heads):
        bench.design.paint(pane, bench.glazier.petal(1, index))
    return tuple(lights)


def _into_border(run: Sequence[Curve], opening: Opening) -> tuple[Curve, ...]:
    """A line that ends at the opening's sill carried on to the middle of the border."""
    first = run[0]
    deep = opening.bottom - opening.border_mm / 2.0
    if len(run) == 1 and isinstance(first, Line):
        ends = [(p[0], deep) if abs(p[1] - opening.sill) < 1e-6 else p for p in (first.a, first.b)]
        return (Line(ends[0], ends[1]),)
    return tuple(run)
