"""Borders of glass: a strip along the inside of an opening, divided into pieces."""

from __future__ import annotations

from math import hypot, sqrt

from msgspec import Struct

from glasswork.drawing.drawn.curves import Arc, Curve, Line, Loop, arc_between, area_mm2
from glasswork.model.geometry import Point

_SMOOTH_MM = 1e-6


class Strip(Struct, frozen=True, kw_only=True):
    """pieces : closed, in turn along the edge · cuts : the leads between them · inner : what the
    strip leaves of the opening
    """

    pieces: tuple[Loop, ...]
    cuts: tuple[Line, ...]
    inner: Loop


def moved_in(loop: Loop, by: float) -> Loop | None:
    """Every side of a clockwise loop moved inwards, corners where the moved sides meet.

    Returns None if a side would vanish
    """
    moved = [_moved(curve, by) for curve in loop]
    if any(curve is None for curve in moved):
        return None
    sides = [curve for curve in moved if curve is not None]
    corners: list[Point] = []
    for one, other in zip([sides[-1], *sides[:-1]], sides, strict=True):
        gap = hypot(one.end[0] - other.start[0], one.end[1] - other.start[1])
        if gap < _SMOOTH_MM:
            corners.append(one.end)
            continue
        near = ((one.end[0] + other.start[0]) / 2.0, (one.end[1] + other.start[1]) / 2.0)
        met = _carriers_meet(one, other)
        if not met:
            return None
        corners.append(min(met, key=lambda p: hypot(p[0] - near[0], p[1] - near[1])))
    found: list[Curve] = []
    for i, side in enumerate(sides):
        a, b = corners[i], corners[(i + 1) % len(sides)]
        if isinstance(side, Line):
            if (b[0] - a[0]) * (side.b[0] - side.a[0]) + (b[1] - a[1]) * (
                side.b[1] - side.a[1]
            ) <= 0.0:
                return None
            found.append(Line(a, b))
        else:
            arc = arc_between(a, b, side.centre, clockwise=side.sweep_rad > 0.0)
            if abs(arc.sweep_rad) > abs(side.sweep_rad) + 1.0:
                return None
            found.append(Arc(side.centre, side.radius, arc.start_rad, arc.sweep_rad))
    return tuple(found) if area_mm2(found) > 0.0 else None


def _moved(curve: Curve, by: float) -> Curve | None:
    """A side moved to its right hand as it runs: inwards, if the loop is clockwise on paper."""
    if isinstance(curve, Line):
        dx, dy = curve.b[0] - curve.a[0], curve.b[1] - curve.a[1]
        size = hypot(dx, dy)
        ox, oy = -dy / size * by, dx / size * by
        return Line((curve.a[0] + ox, curve.a[1] + oy), (curve.b[0] + ox, curve.b[1] + oy))
    radius = curve.radius - by if curve.sweep_rad > 0.0 else curve.radius + by
    return Arc(curve.centre, radius, curve.start_rad, curve.sweep_rad) if radius > 0.05 else None


def _carriers_meet(one: Curve, other: Curve) -> list[Point]:
    """Where the endless line or whole circle of one side meets that of another."""
    if isinstance(one, Line) and isinstance(other, Line):
        dx, dy = one.b[0] - one.a[0], one.b[1] - one.a[1]
        ex, ey = other.b[0] - other.a[0], other.b[1] - other.a[1]
        det = dx * ey - dy * ex
        if abs(det) < 1e-12:
            return []
        t = ((other.a[0] - one.a[0]) * ey - (other.a[1] - one.a[1]) * ex) / det
        return [one.at(t)]
    if isinstance(one, Line) and isinstance(other, Arc):
        t = one.where(other.centre)
        foot = one.at(t)
        high = other.radius**2 - (foot[0] - other.centre[0]) ** 2 - (foot[1] - other.centre[1]) ** 2
        if high < 0.0:
            return []
        half = sqrt(high) / one.length_mm
        return [one.at(t - half), one.at(t + half)]
    if isinstance(one, Arc) and isinstance(other, Line):
        return _carriers_meet(other, one)
    assert isinstance(one, Arc)
    assert isinstance(other, Arc)
    apart = hypot(other.centre[0] - one.centre[0], other.centre[1] - one.centre[1])
    if apart < 1e-9:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2.0 * apart)
    high = one.radius**2 - along**2
    if high < 0.0:
        return []
    ux = (other.centre[0] - one.centre[0]) / apart
    uy = (other.centre[1] - one.centre[1]) / apart
    fx, fy, h = one.centre[0] + along * ux, one.centre[1] + along * uy, sqrt(high)
    return [(fx - h * uy, fy + h * ux), (fx + h * uy, fy - h * ux)]


def strip_along(loop: Loop, wide: float, piece: float) -> Strip | None:
    """A strip `wide` along the inside of a clockwise opening, in pieces about `piece` long.

    Corners are mitred; every other cut is square to the edge. None if there is no room.
    """
    inner = moved_in(loop, wide)
    if inner is None:
        return None
    pieces: list[Loop] = []
    cuts: list[Line] = []
    for outer, near in zip(loop, inner, strict=True):
        count = max(1, round(near.length_mm / piece))
        feet = [near.at(i / count) for i in range(count + 1)]
        tops = [outer.start, *(outer.at(outer.where(f)) for f in feet[1:-1]), outer.end]
        for i in range(count):
            t0, t1 = (outer.where(p) if j else k for j, k, p in _ends(i, count, tops))
            pieces.append(
                (
                    outer.part(t0, t1),
                    Line(outer.at(t1), feet[i + 1]),
                    near.part(i / count, (i + 1) / count).back(),
                    Line(feet[i], outer.at(t0)),
                )
            )
            cuts.append(Line(outer.at(t0), feet[i]))
    return Strip(pieces=tuple(pieces), cuts=tuple(cuts), inner=inner)


def _ends(i: int, count: int, tops: list[Point]) -> list[tuple[bool, float, Point]]:
    """For both ends of a piece: whether it lies within the side, else 0 or 1."""
    return [(i > 0, 0.0, tops[i]), (i + 1 < count, 1.0, tops[i + 1])]
