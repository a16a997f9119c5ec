"""Figures of tracery: foils, spherical triangle, dagger; all of them closed by exact arcs.

Source: k equal lobes that touch each other and the circle round them have the radius
R·sin(π/k)/(1 + sin(π/k)), the classic ratio of circles packed in a ring [computed-foils].
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin, sqrt, tau

from msgspec import Struct

from glasswork.drawing.drawn.curves import Arc, Loop, arc_between
from glasswork.model.geometry import Point

Clearance = Callable[[Point], float]
FOILS = {"trefoil": 3, "quatrefoil": 4, "cinquefoil": 5, "sexfoil": 6, "octofoil": 8}


def lobe_ratio(count: int) -> float:
    """Radius of a lobe over that of the circle round all. Source: [computed-foils]"""
    return sin(pi / count) / (1.0 + sin(pi / count))


def lobe_centres(centre: Point, radius: float, count: int, *, first_rad: float) -> list[Point]:
    """Middles of the lobes, clockwise from a direction."""
    off = radius * (1.0 - lobe_ratio(count))
    angles = [first_rad + i * tau / count for i in range(count)]
    return [(centre[0] + off * cos(a), centre[1] + off * sin(a)) for a in angles]


def cusp_radius(radius: float, count: int) -> float:
    """How far the cusps, where neighbouring lobes touch, lie from the middle."""
    return radius * (1.0 - lobe_ratio(count)) * cos(pi / count)


def foil(centre: Point, radius: float, count: int, *, first_rad: float = -pi / 2.0) -> Loop:
    """The outline of a foil in a circle: from cusp to cusp round each lobe, clockwise."""
    lobe = radius * lobe_ratio(count)
    half = pi / 2.0 + pi / count
    return tuple(
        Arc(middle, lobe, first_rad + i * tau / count - half, 2.0 * half)
        for i, middle in enumerate(lobe_centres(centre, radius, count, first_rad=first_rad))
    )


def spherical_triangle(centre: Point, side: float) -> Loop:
    """Three arcs, each round the corner opposite it; one corner up. `side` is their radius."""
    off = side / sqrt(3.0)
    corners = [
        (centre[0] + off * cos(a), centre[1] + off * sin(a))
        for a in (-pi / 2.0, pi / 6.0, 5.0 * pi / 6.0)
    ]
    return tuple(
        arc_between(corners[i], corners[(i + 1) % 3], corners[(i + 2) % 3], clockwise=True)
        for i in range(3)
    )


def triangle_inner_radius(side: float) -> float:
    """Radius of the circle that touches the three arcs from within."""
    return side * (1.0 - 1.0 / sqrt(3.0))


def dagger(centre: Point, radius: float, tail: float) -> Loop:
    """A round head about a centre, drawn out downwards to a point `tail` below it.

    The long arcs leave the head without a corner, where it is widest.
    """
    reach = (tail * tail + radius * radius) / (2.0 * radius)
    x, y = centre
    tip = (x, y + tail)
    return (
        Arc(centre, radius, pi, pi),
        arc_between((x + radius, y), tip, (x + radius - reach, y), clockwise=True),
        arc_between(tip, (x - radius, y), (x - radius + reach, y), clockwise=True),
    )


class Round(Struct, frozen=True, kw_only=True):
    """A circle found between others."""

    centre: Point
    radius: float


def axis_circle(x: float, tops: Clearance, feet: Clearance, ends: tuple[float, float]) -> Round:
    """The circle about an upright axis that touches what is above it and what is below.

    tops, feet : how far a place is from either; ends : y between which its middle is sought, the
    upper one nearer to what is above
    """
    low, high = ends
    for _ in range(200):
        middle = (low + high) / 2.0
        if tops((x, middle)) < feet((x, middle)):
            low = middle
        else:
            high = middle
    centre = (x, (low + high) / 2.0)
    return Round(centre=centre, radius=min(tops(centre), feet(centre)))
