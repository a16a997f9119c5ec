"""Heads of windows, by exact arcs: from the springing on the left over the apex to the right.

An arch is described by its outermost edge: `span` between the springing points, `rise` from the
springing line to the apex. Every line further in runs round the same centres.

Sources: two-centred arches after Bloxam [bloxam]: equilateral, radius = breadth; lancet, longer;
drop, shorter; ogee and four-centred by four centres. Rise of a two-centred arch
h = sqrt(r S − S²/4), of a segment by the chord theorem [computed-arches].
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin, sqrt

from msgspec import Struct
from msgspec.structs import replace

from glasswork.drawing.drawn.curves import Arc, Curve, Line, Loop, arc_between
from glasswork.errors import DrawingError
from glasswork.model.geometry import Point


class Shape(Struct, frozen=True, kw_only=True):
    """What an arch may be. rise : default rise over span; least, most : limits of that ratio."""

    name: str
    title: str
    rise: float
    least: float
    most: float


_SHOULDER = pi / 4.0
_OGEE_TURN = pi / 3.0
SHAPES: dict[str, Shape] = {
    shape.name: shape
    for shape in (
        Shape(name="equilateral", title="pointed, radius = span", rise=sqrt(0.75), least=sqrt(0.75),
              most=sqrt(0.75)),
        Shape(name="lancet", title="sharply pointed, radius longer than the span", rise=1.0,
              least=0.867, most=3.0),
        Shape(name="drop", title="bluntly pointed, radius shorter than the span", rise=sqrt(0.5),
              least=0.51, most=0.865),
        Shape(name="round", title="half a circle", rise=0.5, least=0.5, most=0.5),
        Shape(name="segmental", title="less than half a circle", rise=0.2, least=0.02, most=0.499),
        Shape(name="four-centred", title="low and pointed, by four centres", rise=0.42, least=0.30,
              most=0.48),
        Shape(name="ogee", title="swung out and in again to the tip", rise=0.70, least=0.60,
              most=1.0),
        Shape(name="square", title="no arch", rise=0.0, least=0.0, most=0.0),
    )
}  # fmt: skip


def rise_of(name: str, ratio: float | None, *, where: str) -> float:
    """Rise over span of a head.

    Raises: DrawingError, if the ratio is none that the head can have
    """
    shape = SHAPES[name]
    if ratio is None:
        return shape.rise
    if not shape.least - 1e-9 <= ratio <= shape.most + 1e-9:
        limits = (
            f"{shape.least:.3g}"
            if shape.least == shape.most
            else f"{shape.least:.3g} to {shape.most:.3g}"
        )
        raise DrawingError(
            where,
            f"a rise of {ratio:g} times the span is none of a {name} head ({limits})",
            "give another head, or leave the rise out",
        )
    return ratio


def two_centred_radius(span: float, rise: float) -> float:
    """Radius of a two-centred arch. Source: [computed-arches]"""
    return (span**2 / 4.0 + rise**2) / span


def segment_radius(span: float, rise: float) -> float:
    """Radius of a segment of a circle over a chord. Source: [computed-arches]"""
    return (span**2 / 4.0 + rise**2) / (2.0 * rise)


class Head(Struct, frozen=True, kw_only=True):
    """A head over a springing line.

    left, right : x of the springing points · spring : y of the springing line · rise_mm : to the
    apex · name : one of SHAPES
    """

    name: str
    left: float
    right: float
    spring: float
    rise_mm: float

    @property
    def span(self) -> float:
        return self.right - self.left

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2.0

    def arcs(self, inset: float = 0.0) -> tuple[Curve, ...]:
        """From the left springing over the apex to the right one, moved inwards by the inset.

        Its ends stand over `left + inset` and `right − inset`.
        """
        if self.name == "square":
            y = self.spring + inset
            return (Line((self.left + inset, y), (self.right - inset, y)),)
        half = _HALVES[self.name](self.span, self.rise_mm, inset)
        left = [self._placed(arc) for arc in half]
        if self.name in ("round", "segmental"):
            first, *_ = left
            assert isinstance(first, Arc)
            end = _mirrored(first, self.middle)
            return (arc_between(first.start, end.start, first.centre, clockwise=True),)
        right = [_mirrored(arc, self.middle).back() for arc in reversed(left)]
        return (*left, *right)

    def under_mitre(self, border_mm: float) -> Head:
        """The same head so much lower that a border drawn as a stroke reaches y = 0 at its tip.

        A stroke is mitred with straight sides where the border's outer arcs would bend in.
        """
        if self.name in ("round", "segmental", "square"):
            return self
        arcs = self.arcs(border_mm / 2.0)
        last = arcs[len(arcs) // 2 - 1]
        assert isinstance(last, Arc)
        lean = abs(last.end[1] - last.centre[1]) / last.radius
        tip = last.end[1] - border_mm / 2.0 / lean
        return replace(self, spring=self.spring - tip)

    def _placed(self, arc: Arc) -> Arc:
        x, y = arc.centre
        return Arc((self.left + x, self.spring + y), arc.radius, arc.start_rad, arc.sweep_rad)

    def loop(self, bottom: float, inset: float = 0.0) -> Loop:
        """The whole opening: jambs and sill added, moved inwards by the inset; clockwise."""
        arcs = self.arcs(inset)
        (x0, y0), (x1, y1) = arcs[0].start, arcs[-1].end
        sill = bottom - inset
        return (*arcs, Line((x1, y1), (x1, sill)), Line((x1, sill), (x0, sill)),
                Line((x0, sill), (x0, y0)))  # fmt: skip


def _mirrored(arc: Arc, middle: float) -> Arc:
    """The arc seen in an upright mirror."""
    x, y = arc.centre
    return Arc((2.0 * middle - x, y), arc.radius, pi - arc.start_rad, -arc.sweep_rad)


# -- left halves: springing line y = 0 and outer left springing (0, 0), y down --------------------

_Half = list[Arc]


def _two_centred(span: float, rise: float, inset: float) -> _Half:
    radius = two_centred_radius(span, rise)
    return [_over((radius, 0.0), radius - inset, inset, span / 2.0)]


def _segmental(span: float, rise: float, inset: float) -> _Half:
    radius = segment_radius(span, rise)
    return [_over((span / 2.0, radius - rise), radius - inset, inset, span / 2.0)]


def _over(centre: Point, radius: float, left: float, right: float) -> Arc:
    """The arc above a centre between two uprights."""
    a = (left, centre[1] - sqrt(max(0.0, radius**2 - (left - centre[0]) ** 2)))
    b = (right, centre[1] - sqrt(max(0.0, radius**2 - (right - centre[0]) ** 2)))
    return arc_between(a, b, centre, clockwise=True)


def _four_centred(span: float, rise: float, inset: float) -> _Half:
    return _two_turns((span, rise, inset), lower=span / 4.0, turn=_SHOULDER)


def _ogee(span: float, rise: float, inset: float) -> _Half:
    return _two_turns((span, rise, inset), lower=span / 2.0, turn=_OGEE_TURN)


def _two_turns(measures: tuple[float, float, float], *, lower: float, turn: float) -> _Half:
    """Two arcs that run into each other: the lower one round a centre on the springing line, the
    upper one to the apex, bent the same way (four-centred) or the other way (ogee).
    """
    span, rise, inset = measures
    inward = (cos(turn), sin(turn))
    joint = (lower - lower * inward[0], -lower * inward[1])
    dx, dy = span / 2.0 - joint[0], -rise - joint[1]
    upper = (dx * dx + dy * dy) / (2.0 * (dx * inward[0] + dy * inward[1]))
    centre = (joint[0] + upper * inward[0], joint[1] + upper * inward[1])
    near = _over((lower, 0.0), lower - inset, inset, lower - (lower - inset) * inward[0])
    reach = upper - inset
    start = (centre[0] - reach * inward[0], centre[1] - reach * inward[1])
    off = centre[0] - span / 2.0
    lift = sqrt(max(0.0, reach**2 - off**2))
    tip = (span / 2.0, centre[1] - lift if upper > 0.0 else centre[1] + lift)
    return [near, arc_between(start, tip, centre, clockwise=upper > 0.0)]


_HALVES: dict[str, Callable[[float, float, float], _Half]] = {
    "equilateral": _two_centred,
    "lancet": _two_centred,
    "drop": _two_centred,
    "round": _two_centred,
    "segmental": _segmental,
    "four-centred": _four_centred,
    "ogee": _ogee,
}
