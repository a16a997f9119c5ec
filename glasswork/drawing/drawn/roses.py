"""Round windows: roses of petals and wheels of spokes, in rings about an eye.

Petals end in lobes that touch each other and their ring, spokes carry round arches that do the
same; both have the classic radius [computed-foils].
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin, tau

from glasswork.drawing.drawn.colours import NO_COLOURS, SCHEMES, Glazier
from glasswork.drawing.drawn.curves import Arc, Line, Loop, circle
from glasswork.drawing.drawn.design import Design
from glasswork.drawing.drawn.foils import FOILS, Round, cusp_radius, foil, lobe_centres, lobe_ratio
from glasswork.drawing.drawn.measures import Measures, choice, count, length, scale_choice
from glasswork.drawing.drawn.motifs import Bench, Pens, foiled
from glasswork.drawing.drawn.specks import fill_specks
from glasswork.errors import DrawingError
from glasswork.model.geometry import Point
from glasswork.model.window import Role

_LEAST_LOBE_MM = 1.5
_EYE = {1: 0.30, 2: 0.19, 3: 0.14}


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundWindow:
    """Parameters of a rose or a wheel."""

    diameter_mm: float | None = length("Width of the window.", panel=120.0, real=1440.0, least=10.0)
    petals: int = count("Petals, or spokes, in each ring.", 8, 3, 32)
    rings: int = count("Rings of petals round the eye.", 2, 1, 3)
    eye: str = choice("Foil in the eye.", "quatrefoil", ("none", *FOILS))
    rounds: str = choice("Foil in a round in every lobe of the outer ring.", "none",
                         ("none", "plain", *FOILS))  # fmt: skip
    border_mm: float | None = length("Width of the border.", panel=4.0, real=100.0, least=0.2)
    mullion_mm: float | None = length("Width of rings and spokes.", panel=2.4, real=90.0, least=0.2)
    lead_mm: float | None = length("Width of the leads.", panel=0.9, real=6.0, least=0.05)
    colours: str = choice("Colours of the glass.", "tide", (*SCHEMES, NO_COLOURS))
    scale: str = scale_choice()
    seed: int = count("Another number, the petals' tints in another turn.", 0, 0, 1_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ring:
    """Radii in mm: of the circle inside it and of its own; first_rad: where its first petal is."""

    index: int
    inner: float
    outer: float
    first_rad: float


def rose(params: RoundWindow, *, title: str) -> Design:
    """Petals in rings; each ring is turned by half a petal against the one inside it.

    Raises: DrawingError, if the petals would be too small
    """
    bench, middle, rings = _begun(params, title)
    pens, design, glazier = bench.pens, bench.design, bench.glazier
    for ring in reversed(rings):
        rim = circle(middle, ring.outer)
        design.paint(rim, glazier.part("ground" if ring.index % 2 else "medallion"))
        for i, petal in enumerate(_petals(middle, ring, params.petals)):
            design.paint(petal, glazier.petal(ring.index, i + params.seed))
        shape = foil(middle, ring.outer, params.petals, first_rad=ring.first_rad)
        design.lead(shape, Role.MULLION, pens.mullion)
        cusp = cusp_radius(ring.outer, params.petals)
        for i in range(params.petals):
            angle = ring.first_rad + (i + 0.5) * tau / params.petals
            design.lead([_spoke(middle, angle, (ring.inner, cusp))], Role.MULLION, pens.mullion)
        if ring is not rings[-1]:
            design.lead(rim, Role.MULLION, pens.mullion)
    _rounds(bench, middle, rings[-1], params)
    return _ended(bench, middle, rings, params)


def wheel(params: RoundWindow, *, title: str) -> Design:
    """Spokes from the eye to the rim, round arches between them, rings across.

    Raises: DrawingError, if the bays would be too small
    """
    bench, middle, rings = _begun(params, title)
    pens, design, glazier = bench.pens, bench.design, bench.glazier
    rim, turn = rings[-1].outer, rings[0].first_rad
    half = pi / params.petals
    design.paint(circle(middle, rim), glazier.part("ground"))
    lobe = rim * lobe_ratio(params.petals)
    spring = cusp_radius(rim, params.petals)
    edges = [ring.inner for ring in rings] + [spring]
    for i in range(params.petals):
        first = turn + (2 * i - 1) * half
        for ring in rings:
            bay = _bay(middle, (edges[ring.index], edges[ring.index + 1]), (first, 2.0 * half))
            if ring is rings[-1]:
                bay = _petals(middle, ring, params.petals, only=i, turn=turn)[0]
            design.paint(bay, glazier.petal(ring.index, i + ring.index + params.seed))
    for i, centre in enumerate(lobe_centres(middle, rim, params.petals, first_rad=turn)):
        out = turn + 2 * i * half
        arch = Arc(centre, lobe, out - (pi / 2.0 + half), pi + 2.0 * half)
        design.lead([arch], Role.MULLION, pens.mullion)
        design.lead([_spoke(middle, out + half, (rings[0].inner, rim))], Role.MULLION, pens.mullion)
    for radius in edges[1:-1]:
        design.lead(circle(middle, radius), Role.MULLION, pens.mullion)
    _rounds(bench, middle, rings[-1], params, turn=turn)
    return _ended(bench, middle, rings, params)


def _begun(params: RoundWindow, title: str) -> tuple[Bench, Point, tuple[_Ring, ...]]:
    measures = Measures(params)
    wide = measures.sure("diameter_mm")
    mullion = measures.lead("mullion_mm")
    pens = Pens(border=measures.lead("border_mm"), mullion=mullion, bar=mullion,
                lead=measures.lead("lead_mm"))  # fmt: skip
    pens.check(title, mullion="spokes", lead="leads")
    rim = wide / 2.0 - pens.border + pens.mullion / 2.0
    rings = _rings(rim, params)
    for ring in rings:
        glass = ring.outer * lobe_ratio(params.petals) - pens.mullion / 2.0
        if glass < _LEAST_LOBE_MM:
            raise DrawingError(
                title,
                f"{params.petals} petals in {params.rings} rings leave lobes of "
                f"{max(glass, 0.0):.2g} mm radius, under {_LEAST_LOBE_MM:g} mm",
                "fewer petals or rings, or a larger window",
            )
    design = Design(title=title, width_mm=wide, height_mm=wide, notes=measures.notes)
    bench = Bench(design=design, glazier=Glazier(params.colours, params.seed), pens=pens)
    return bench, (wide / 2.0, wide / 2.0), rings


def _rings(rim: float, params: RoundWindow) -> tuple[_Ring, ...]:
    """The rings from the eye outwards, each growing by the same factor; cusps clear of the eye."""
    deep = 0.8 * cusp_radius(1.0, params.petals)
    grow = 1.0 / min(_EYE[params.rings] ** (1.0 / params.rings), deep)
    eye = rim / grow**params.rings
    half = pi / params.petals
    return tuple(
        _Ring(
            index=i,
            inner=eye * grow**i,
            outer=eye * grow ** (i + 1),
            first_rad=-pi / 2.0 + (half if (params.rings - 1 - i) % 2 else 0.0),
        )
        for i in range(params.rings)
    )


def _spoke(middle: Point, angle: float, radii: tuple[float, float]) -> Line:
    (x, y), (c, s) = middle, (cos(angle), sin(angle))
    return Line(*((x + r * c, y + r * s) for r in radii))


def _petals(
    middle: Point, ring: _Ring, petals: int, *, only: int | None = None, turn: float | None = None
) -> list[Loop]:
    """Every petal: from the inner circle along two spokes to the cusps, and round its lobe."""
    half = pi / petals
    lobe = ring.outer * lobe_ratio(petals)
    first = ring.first_rad if turn is None else turn
    cusp = cusp_radius(ring.outer, petals)
    found: list[Loop] = []
    for i, centre in enumerate(lobe_centres(middle, ring.outer, petals, first_rad=first)):
        out = first + 2 * i * half
        if only is None or i == only:
            found.append(
                (
                    _spoke(middle, out - half, (ring.inner, cusp)),
                    Arc(centre, lobe, out - (pi / 2.0 + half), pi + 2.0 * half),
                    _spoke(middle, out + half, (cusp, ring.inner)),
                    Arc(middle, ring.inner, out + half, -2.0 * half),
                )
            )
    return found


def _bay(middle: Point, radii: tuple[float, float], turn: tuple[float, float]) -> Loop:
    """The piece of a ring between two directions."""
    (inner, outer), (first, sweep) = radii, turn
    return (
        _spoke(middle, first, (inner, outer)),
        Arc(middle, outer, first, sweep),
        _spoke(middle, first + sweep, (outer, inner)),
        Arc(middle, inner, first + sweep, -sweep),
    )


def _rounds(
    bench: Bench, middle: Point, ring: _Ring, params: RoundWindow, *, turn: float | None = None
) -> None:
    """A round with a foil in every lobe of the outer ring."""
    if params.rounds == "none":
        return
    lobe = ring.outer * lobe_ratio(params.petals)
    radius = (lobe - bench.pens.mullion / 2.0) * 0.72
    if radius < 3.0 * bench.pens.lead:
        raise DrawingError(
            bench.design.title,
            f"rounds of {radius:.2g} mm radius are under {3.0 * bench.pens.lead:.2g} mm",
            "leave the rounds out, or make fewer petals",
        )
    first = ring.first_rad if turn is None else turn
    for centre in lobe_centres(middle, ring.outer, params.petals, first_rad=first):
        loop = circle(centre, radius)
        bench.design.paint(loop, bench.glazier.part("medallion"))
        bench.design.lead(loop, Role.LEAD, bench.pens.lead)
        if params.rounds == "plain":
            bench.design.paint(loop, bench.glazier.part("eye"))
        else:
            foiled(bench, centre, radius, FOILS[params.rounds])


def _ended(bench: Bench, middle: Point, rings: tuple[_Ring, ...], params: RoundWindow) -> Design:
    """Eye and border."""
    place = Round(centre=middle, radius=rings[0].inner)
    eye = circle(middle, place.radius)
    bench.design.paint(eye, bench.glazier.part("medallion"))
    bench.design.lead(eye, Role.MULLION, bench.pens.mullion)
    if params.eye != "none":
        foiled(bench, middle, place.radius - bench.pens.mullion / 2.0, FOILS[params.eye])
    else:
        bench.design.paint(eye, bench.glazier.part("eye"))
    outer = middle[0] - bench.pens.border / 2.0
    bench.design.lead(circle(middle, outer), Role.BORDER, bench.pens.border)
    fill_specks(bench.design)
    return bench.design
