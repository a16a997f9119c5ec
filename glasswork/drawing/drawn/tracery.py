"""Tracery: the lights' own heads, and figures in what is left under the arch.

Circles touch the arch above them and the heads below them exactly. Three lights carry two circles
and one on top of them; four lights stand in two pairs, each under a head with its own figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from msgspec import Struct

from glasswork.drawing.drawn.curves import Curve, Line, Loop, inside
from glasswork.drawing.drawn.foils import FOILS, Clearance, Round, axis_circle
from glasswork.drawing.drawn.heads import SHAPES, Head
from glasswork.drawing.drawn.motifs import (
    Bench,
    Gap,
    largest_dagger,
    largest_triangle,
    medallion,
    pointed_dagger,
    triangle,
)
from glasswork.errors import DrawingError
from glasswork.model.geometry import Point
from glasswork.model.window import Role

_ROOM = 0.15
"""The figure on top is at least this large, radius over the opening's span; the lights' heads
are lowered until it is."""
_SINGLE_ROOM = 0.28


class Opening(Struct, frozen=True, kw_only=True):
    """What lies inside the border, by the middles of bars.

    inset : of that middle line from the outermost edge · bottom : y of the outermost sill
    """

    arch: Head
    inset: float
    bottom: float
    lights: int
    light_head: str
    border_mm: float

    @property
    def loop(self) -> Loop:
        return self.arch.loop(self.bottom, self.inset)

    @property
    def sill(self) -> float:
        return self.bottom - self.inset

    @property
    def pitch(self) -> float:
        return (self.arch.span - 2.0 * self.inset) / self.lights

    @property
    def mullions(self) -> tuple[float, ...]:
        left = self.arch.left + self.inset
        return tuple(left + i * self.pitch for i in range(1, self.lights))


def tracery(bench: Bench, opening: Opening, figure: str, *, where: str) -> tuple[Loop, ...]:
    """Heads and figures drawn; the lights' openings are returned.

    Raises: DrawingError, if the head leaves no room for them
    """
    bench.design.paint(opening.loop, bench.glazier.part("ground"))
    if opening.lights == 1:
        return _single(bench, opening, figure, where)
    spring = _spring(opening, where)
    left = opening.arch.left + opening.inset
    lines: list[tuple[Curve, ...]] = []
    lights: list[Loop] = []
    rim = _uppers(opening.loop, opening.sill)
    _group(bench, (rim, opening.loop), (left, opening.lights, spring), (opening, figure),
           (lines, lights))  # fmt: skip
    _draw_heads(bench, opening, lines)
    for x in opening.mullions:
        foot = opening.bottom - opening.border_mm / 2.0
        bench.design.lead([Line((x, spring), (x, foot))], Role.MULLION, bench.pens.mullion)
    return tuple(lights)


def _draw_heads(bench: Bench, opening: Opening, lines: Sequence[tuple[Curve, ...]]) -> None:
    """The heads' bars; where one springs from the border it starts at the border's middle."""
    middle = opening.border_mm / 2.0
    for line in lines:
        drawn = list(line)
        (x0, y0), (x1, y1) = line[0].start, line[-1].end
        left, right = opening.arch.left + middle, opening.arch.right - middle
        if abs(x0 - opening.arch.left - opening.inset) < 1e-9 and x0 - left > 1e-9:
            drawn.insert(0, Line((left, y0), (x0, y0)))
        if abs(x1 - opening.arch.right + opening.inset) < 1e-9 and right - x1 > 1e-9:
            drawn.append(Line((x1, y1), (right, y1)))
        bench.design.lead(drawn, Role.MULLION, bench.pens.mullion)


def _uppers(loop: Loop, sill: float) -> tuple[Curve, ...]:
    """The opening's edge without its sill."""
    return tuple(c for c in loop if min(c.start[1], c.end[1]) < sill - 1e-9)


def _away_from(curves: Sequence[Curve]) -> Clearance:
    return lambda point: min(curve.distance_mm(point) for curve in curves)


def _head(opening: Opening, left: float, wide: float, spring: float) -> Head:
    shape = SHAPES[opening.light_head]
    return Head(
        name=opening.light_head,
        left=left,
        right=left + wide,
        spring=spring,
        rise_mm=shape.rise * wide,
    )


def _spring(opening: Opening, where: str) -> float:
    """The lights' springing line: the arch's own, or lower until the top figure has room."""
    left = opening.arch.left + opening.inset
    wide = opening.pitch * (2 if opening.lights == 4 else 1)
    rim = _uppers(opening.loop, opening.sill)
    lowest = opening.sill - 0.15 * (opening.sill - opening.arch.spring)
    few = 2 if opening.lights == 4 else opening.lights
    room = 0.75 * _ROOM if few == 3 else _ROOM
    steps = 60
    for step in range(steps):
        spring = opening.arch.spring + (lowest - opening.arch.spring) * step / steps
        heads = [_head(opening, left + i * wide, wide, spring) for i in range(few)]
        top = _top(opening.arch.middle, opening.loop, rim, heads)
        if top is not None and top.radius >= room * opening.arch.span:
            return spring
    raise DrawingError(
        where, "the head leaves no room for tracery above the lights", "make the window taller"
    )


def _top(x: float, around: Loop, rim: Sequence[Curve], heads: Sequence[Head]) -> Round | None:
    """The circle on the axis between arch and heads, if the heads stay inside the arch."""
    arcs = [arc for head in heads for arc in head.arcs()]
    marks = [arc.at(i / 8.0) for arc in arcs for i in range(1, 8)]
    if not all(inside(p, around) for p in marks):
        return None
    apex = min(p[1] for curve in rim for p in (curve.start, curve.end, curve.at(0.5)))
    feet = _foot(x, heads)
    if feet - apex < 1e-6:
        return None
    return axis_circle(x, _away_from(rim), _away_from(arcs), (apex, feet))


def _foot(x: float, heads: Sequence[Head]) -> float:
    """Where the axis meets the heads: at an apex, or where two of them spring."""
    for head in heads:
        if abs(head.middle - x) < 1e-6:
            return head.spring - head.rise_mm
    return heads[0].spring


def _group(
    bench: Bench,
    around: tuple[tuple[Curve, ...], Loop],
    row: tuple[float, int, float],
    what: tuple[Opening, str],
    into: tuple[list[tuple[Curve, ...]], list[Loop]],
) -> None:
    """Lights side by side under one arch: their heads, and figures above them."""
    (rim, loop), (left, count, spring), (opening, figure) = around, row, what
    lines, lights = into
    wide = opening.pitch * (2 if count == 4 else 1)
    few = 2 if count == 4 else count
    heads = [_head(opening, left + i * wide, wide, spring) for i in range(few)]
    loops = [head.loop(opening.sill) for head in heads]
    for head, inner in zip(heads, loops, strict=True):
        lines.append(head.arcs())
        if count == 4:
            rims = _uppers(inner, opening.sill)
            bench.design.paint(inner, bench.glazier.part("ground"))
            _group(bench, (rims, inner), (head.left, 2, spring), what, into)
        else:
            lights.append(inner)
    gap = Gap.between(loop, tuple(loops))
    for place, foot in _places(loop, rim, heads):
        _figure(bench, place, gap, (figure, foot))


def _places(loop: Loop, rim: Sequence[Curve], heads: Sequence[Head]) -> list[tuple[Round, float]]:
    """Where figures go, and how far down a pointed one may reach: the mullion's top below."""
    arcs = [arc for head in heads for arc in head.arcs()]
    middle = (heads[0].left + heads[-1].right) / 2.0
    if len(heads) == 2:
        found = _top(middle, loop, rim, heads)
        return [] if found is None else [(found, heads[0].spring)]
    pitch = heads[0].span
    apex = min(p[1] for curve in rim for p in (curve.start, curve.end, curve.at(0.5)))
    above = _away_from(rim)
    low: list[Round] = []
    for x in (middle - pitch / 2.0, middle + pitch / 2.0):
        low.append(
            axis_circle(
                x,
                lambda p: min(above(p), pitch / 2.0),
                _away_from(arcs),
                (apex, heads[0].spring),
            )
        )

    def feet(point: Point) -> float:
        off = [hypot(point[0] - r.centre[0], point[1] - r.centre[1]) - r.radius for r in low]
        return min(*off, _away_from(arcs)(point))

    lowest = min(r.centre[1] for r in low)
    top = axis_circle(middle, above, feet, (apex, lowest))
    spring = heads[0].spring
    return [*((r, spring) for r in low), (top, top.centre[1] + top.radius)]


def _figure(bench: Bench, place: Round, gap: Gap, what: tuple[str, float]) -> None:
    """One figure at a place."""
    figure, foot = what
    if figure in FOILS:
        medallion(bench, place, FOILS[figure])
    elif figure == "triangle":
        side, centre = largest_triangle(gap, place)
        if side > 3.0 * bench.pens.mullion:
            triangle(bench, side, centre)
    else:
        tip = min(foot, place.centre[1] + 1.9 * place.radius)
        loop = largest_dagger(gap, place, tip)
        if loop is not None:
            pointed_dagger(bench, loop)
            if foot - tip > 1e-6:
                x = place.centre[0]
                stub = Line((x, tip), (x, foot))
                bench.design.lead([stub], Role.MULLION, bench.pens.mullion)


def _single(bench: Bench, opening: Opening, figure: str, where: str) -> tuple[Loop, ...]:
    """One light under a transom, a figure in the head above it."""
    arch = opening.arch
    left, right = arch.left + opening.inset, arch.right - opening.inset
    rim = _uppers(opening.loop, opening.sill)
    apex = min(p[1] for curve in rim for p in (curve.start, curve.end, curve.at(0.5)))
    steps = 60
    for step in range(steps):
        y = arch.spring + 0.8 * (opening.sill - arch.spring) * step / steps
        if y < rim[0].start[1] - 1e-9:
            continue
        line = Line((left, y), (right, y))
        place = axis_circle(arch.middle, _away_from(rim), _away_from([line]), (apex, y))
        if place.radius >= _SINGLE_ROOM * arch.span:
            break
    else:
        raise DrawingError(where, "the head leaves no room for tracery", "make it taller")
    middle = opening.border_mm / 2.0
    bench.design.lead(
        [Line((arch.left + middle, y), (arch.right - middle, y))], Role.MULLION, bench.pens.mullion
    )
    low: Loop = (
        line,
        Line((right, y), (right, opening.sill)),
        Line((right, opening.sill), (left, opening.sill)),
        Line((left, opening.sill), (left, y)),
    )
    _figure(bench, place, Gap.between(opening.loop, (low,)), (figure, y))
    return (low,)
