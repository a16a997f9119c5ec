"""Straight lines and circular arcs: cut, measured, moved aside, written as SVG path commands.

Millimetres, y down; angles in radians, growing from +x towards +y. Nothing here is flattened:
an arc stays centre, radius and angles until it is written as an `A` command.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import atan2, ceil, cos, hypot, pi, sin, sqrt, tau

from msgspec import Struct

from glasswork.model.geometry import Point, Ring

NEAR_MM = 1e-7
"""Two places nearer than this are one."""
_CHORD_RAD = pi / 180.0


class Line(Struct, frozen=True):
    """A straight piece from a to b."""

    a: Point
    b: Point

    @property
    def start(self) -> Point:
        return self.a

    @property
    def end(self) -> Point:
        return self.b

    @property
    def length_mm(self) -> float:
        return hypot(self.b[0] - self.a[0], self.b[1] - self.a[1])

    def at(self, t: float) -> Point:
        return (self.a[0] + t * (self.b[0] - self.a[0]), self.a[1] + t * (self.b[1] - self.a[1]))

    def part(self, t0: float, t1: float) -> Line:
        return Line(self.at(t0), self.at(t1))

    def back(self) -> Line:
        return Line(self.b, self.a)

    def where(self, point: Point) -> float:
        """The parameter of the foot of a point, unbounded."""
        dx, dy = self.b[0] - self.a[0], self.b[1] - self.a[1]
        return ((point[0] - self.a[0]) * dx + (point[1] - self.a[1]) * dy) / (dx * dx + dy * dy)

    def distance_mm(self, point: Point) -> float:
        foot = self.at(min(1.0, max(0.0, self.where(point))))
        return hypot(point[0] - foot[0], point[1] - foot[1])

    @property
    def swept_mm2(self) -> float:
        """Twice the area between the piece and the origin, signed."""
        return self.a[0] * self.b[1] - self.b[0] * self.a[1]

    def points(self) -> list[Point]:
        """Places along it, its end left out."""
        return [self.a]


class Arc(Struct, frozen=True):
    """A piece of a circle from the angle `start_rad` on by `sweep_rad`, negative backwards."""

    centre: Point
    radius: float
    start_rad: float
    sweep_rad: float

    @property
    def start(self) -> Point:
        return self.at(0.0)

    @property
    def end(self) -> Point:
        return self.at(1.0)

    @property
    def length_mm(self) -> float:
        return abs(self.sweep_rad) * self.radius

    def at(self, t: float) -> Point:
        angle = self.start_rad + t * self.sweep_rad
        return (
            self.centre[0] + self.radius * cos(angle),
            self.centre[1] + self.radius * sin(angle),
        )

    def part(self, t0: float, t1: float) -> Arc:
        return Arc(
            self.centre,
            self.radius,
            self.start_rad + t0 * self.sweep_rad,
            (t1 - t0) * self.sweep_rad,
        )

    def back(self) -> Arc:
        return Arc(self.centre, self.radius, self.start_rad + self.sweep_rad, -self.sweep_rad)

    def where(self, point: Point) -> float:
        """The parameter of the point's direction: in [0, 1] on the arc, else beyond the end
        that is nearer.
        """
        angle = atan2(point[1] - self.centre[1], point[0] - self.centre[0])
        size = abs(self.sweep_rad)
        turn = (angle - self.start_rad) * (1.0 if self.sweep_rad > 0.0 else -1.0) % tau
        if turn > size and tau - turn < turn - size:
            turn -= tau
        return turn / size

    def distance_mm(self, point: Point) -> float:
        if 0.0 <= self.where(point) <= 1.0:
            return abs(_apart(point, self.centre) - self.radius)
        return min(_apart(point, self.start), _apart(point, self.end))

    @property
    def swept_mm2(self) -> float:
        (ax, ay), (bx, by) = self.start, self.end
        return ax * by - bx * ay + self.radius**2 * (self.sweep_rad - sin(self.sweep_rad))

    def points(self) -> list[Point]:
        count = max(1, ceil(abs(self.sweep_rad) / _CHORD_RAD))
        return [self.at(i / count) for i in range(count)]


Curve = Line | Arc
Loop = tuple[Curve, ...]
"""Curves end to end, closed."""


def _apart(one: Point, other: Point) -> float:
    return hypot(one[0] - other[0], one[1] - other[1])


def arc_between(a: Point, b: Point, centre: Point, *, clockwise: bool) -> Arc:
    """The arc round a centre from a to b; clockwise as seen on paper.

    Its radius is that of a; b tells only the direction in which it ends.
    """
    start = atan2(a[1] - centre[1], a[0] - centre[0])
    turn = (atan2(b[1] - centre[1], b[0] - centre[0]) - start) % tau
    return Arc(centre, _apart(a, centre), start, turn if clockwise else turn - tau)


def circle(centre: Point, radius: float) -> Loop:
    """A whole circle as two halves, from its leftmost point."""
    return (Arc(centre, radius, pi, pi), Arc(centre, radius, 0.0, pi))


def polygon(points: Sequence[Point]) -> Loop:
    """Straight lines from point to point and back to the first."""
    return tuple(Line(points[i], points[(i + 1) % len(points)]) for i in range(len(points)))


def area_mm2(loop: Iterable[Curve]) -> float:
    """Signed area of closed curves: positive if they run clockwise on paper."""
    return sum(curve.swept_mm2 for curve in loop) / 2.0


def flat(loop: Loop) -> Ring:
    """The loop as a polygon, for choosing places only: never for what is written."""
    return tuple(point for curve in loop for point in curve.points())


def inside(point: Point, loop: Loop) -> bool:
    """The point lies in the loop, by exact winding: that of the chords, and of the segments
    between chord and arc.
    """
    turns = 0
    for curve in loop:
        for piece in _halves(curve):
            turns += _crossing(point, piece.start, piece.end)
            if isinstance(piece, Arc) and _in_segment(point, piece):
                turns += 1 if piece.sweep_rad > 0.0 else -1
    return turns != 0


def _halves(curve: Curve) -> tuple[Curve, ...]:
    if isinstance(curve, Arc) and abs(curve.sweep_rad) > pi * 0.999:
        return tuple(curve.part(i / 3.0, (i + 1) / 3.0) for i in range(3))
    return (curve,)


def _crossing(point: Point, a: Point, b: Point) -> int:
    """How the ray to the right of a point crosses a chord: +1, −1 or 0."""
    if (a[1] <= point[1]) == (b[1] <= point[1]):
        return 0
    across = (b[0] - a[0]) * (point[1] - a[1]) - (point[0] - a[0]) * (b[1] - a[1])
    if b[1] > a[1]:
        return 1 if across > 0.0 else 0
    return -1 if across < 0.0 else 0


def _in_segment(point: Point, arc: Arc) -> bool:
    if _apart(point, arc.centre) >= arc.radius:
        return False
    a, b = arc.start, arc.end
    across = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
    return across < 0.0 if arc.sweep_rad > 0.0 else across > 0.0


def meetings(one: Curve, other: Curve) -> list[Point]:
    """Places that both curves hold; touching places once; of a stretch they share, its ends."""
    if isinstance(one, Line) and isinstance(other, Line):
        found = _line_line(one, other)
    elif isinstance(one, Line) and isinstance(other, Arc):
        found = _line_circle(one, other)
    elif isinstance(one, Arc) and isinstance(other, Line):
        found = _line_circle(other, one)
    else:
        assert isinstance(one, Arc)
        assert isinstance(other, Arc)
        found = _circle_circle(one, other)
    found += [other.start, other.end, one.start, one.end]
    return [p for p in found if one.distance_mm(p) < NEAR_MM and other.distance_mm(p) < NEAR_MM]


def _line_line(one: Line, other: Line) -> list[Point]:
    dx, dy = one.b[0] - one.a[0], one.b[1] - one.a[1]
    ex, ey = other.b[0] - other.a[0], other.b[1] - other.a[1]
    det = dx * ey - dy * ex
    if abs(det) < 1e-12 * (hypot(dx, dy) * hypot(ex, ey) + 1e-30):
        return []
    t = ((other.a[0] - one.a[0]) * ey - (other.a[1] - one.a[1]) * ex) / det
    return [one.at(t)]


def _line_circle(line: Line, arc: Arc) -> list[Point]:
    t = line.where(arc.centre)
    foot = line.at(t)
    off = _apart(foot, arc.centre)
    if off > arc.radius + NEAR_MM:
        return []
    half = sqrt(max(0.0, arc.radius**2 - off**2)) / line.length_mm
    if half * line.length_mm < sqrt(2.0 * arc.radius * NEAR_MM):
        return [foot]
    return [line.at(t - half), line.at(t + half)]


def _circle_circle(one: Arc, other: Arc) -> list[Point]:
    apart = _apart(one.centre, other.centre)
    if apart < NEAR_MM:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2.0 * apart)
    high = one.radius**2 - along**2
    touch = 2.0 * one.radius * NEAR_MM
    if high < -touch:
        return []
    ux, uy = (
        (other.centre[0] - one.centre[0]) / apart,
        (other.centre[1] - one.centre[1]) / apart,
    )
    foot = (one.centre[0] + along * ux, one.centre[1] + along * uy)
    if high < touch:
        return [foot]
    h = sqrt(high)
    return [(foot[0] - h * uy, foot[1] + h * ux), (foot[0] + h * uy, foot[1] - h * ux)]


# -- written ---------------------------------------------------------------------------------


def number(value: float) -> str:
    """A coordinate in mm with at most six decimals."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path_data(curves: Sequence[Curve], *, closed: bool) -> str:
    """The curves as the data of an SVG path, arcs as `A`."""
    x, y = curves[0].start
    said = [f"M{number(x)} {number(y)}"]
    for curve in curves:
        for piece in _written(curve):
            x, y = piece.end
            if isinstance(piece, Arc):
                sweep = 1 if piece.sweep_rad > 0.0 else 0
                large = 1 if abs(piece.sweep_rad) > pi else 0
                r = number(piece.radius)
                said.append(f"A{r} {r} 0 {large} {sweep} {number(x)} {number(y)}")
            else:
                said.append(f"L{number(x)} {number(y)}")
    return " ".join(said) + (" Z" if closed else "")


def _written(curve: Curve) -> tuple[Curve, ...]:
    if isinstance(curve, Arc) and abs(curve.sweep_rad) > pi * 1.95:
        return (curve.part(0.0, 0.5), curve.part(0.5, 1.0))
    return (curve,)
