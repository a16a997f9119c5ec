"""Tracery figures set into a place that a circle was found for: bars, glass and leads."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from msgspec import Struct

from glasswork.drawing.drawn.colours import Glazier
from glasswork.drawing.drawn.curves import Arc, Line, Loop, area_mm2, circle, flat
from glasswork.drawing.drawn.design import Design
from glasswork.drawing.drawn.foils import (
    Round,
    cusp_radius,
    dagger,
    foil,
    lobe_ratio,
    spherical_triangle,
    triangle_inner_radius,
)
from glasswork.errors import DrawingError
from glasswork.model.geometry import Region
from glasswork.model.window import Role
from glasswork.planar import Area

_TAIL = 1.6
"""A dagger's tail is at least this much longer than its head's radius."""
LEAST_LOBE_MM = 0.6
"""Glass of a lobe, or of a foil's eye, has at least this radius; smaller, it is left out."""


class Pens(Struct, frozen=True, kw_only=True):
    """Widths in mm."""

    border: float
    mullion: float
    bar: float
    lead: float

    def check(self, where: str, **used: str) -> None:
        """used : which pens draw into the border, and what their lines are called

        Raises: DrawingError, if one of them is wider than the border that it runs into
        """
        for pen, spoken in used.items():
            width = getattr(self, pen)
            if width > self.border:
                raise DrawingError(
                    where,
                    f"the border of {self.border:.3g} mm is thinner than the {spoken} "
                    f"of {width:.3g} mm in the panel",
                    "make the border at least as wide",
                )


@dataclass(slots=True, kw_only=True)
class Bench:
    """What every part of a window is drawn with."""

    design: Design
    glazier: Glazier
    pens: Pens


def medallion(bench: Bench, place: Round, count: int, *, role: Role = Role.MULLION) -> None:
    """A ring with a foil of `count` lobes in it, its eye in the middle. `place` is the middle of
    the ring's bar.
    """
    width = bench.pens.mullion if role is Role.MULLION else bench.pens.lead
    ring = circle(place.centre, place.radius)
    bench.design.paint(ring, bench.glazier.part("medallion"))
    bench.design.lead(ring, role, width)
    foiled(bench, place.centre, place.radius - width / 2.0, count)


def foiled(bench: Bench, centre: tuple[float, float], radius: float, count: int) -> None:
    """A foil whose lobes touch a circle, and the eye that its cusps meet; plain glass if small."""
    half = bench.pens.lead / 2.0
    if radius * lobe_ratio(count) - half < LEAST_LOBE_MM:
        bench.design.paint(circle(centre, radius), bench.glazier.part("foil"))
        return
    shape = foil(centre, radius, count, first_rad=-pi / 2.0)
    bench.design.paint(shape, bench.glazier.part("foil"))
    bench.design.lead(shape, Role.LEAD, bench.pens.lead)
    eye = cusp_radius(radius, count)
    if eye - half > LEAST_LOBE_MM:
        loop = circle(centre, eye)
        bench.design.paint(loop, bench.glazier.part("eye"))
        bench.design.lead(loop, Role.LEAD, bench.pens.lead)
        if count > 4 and eye > 8.0 * max(1.0, bench.pens.lead):
            foiled(bench, centre, eye - half, count - 2)


def triangle(bench: Bench, side: float, centre: tuple[float, float]) -> None:
    """A spherical triangle of bars with a trefoil in its middle."""
    loop = spherical_triangle(centre, side)
    bench.design.paint(loop, bench.glazier.part("medallion"))
    bench.design.lead(loop, Role.MULLION, bench.pens.mullion)
    inner = triangle_inner_radius(side) - bench.pens.mullion / 2.0
    if inner > bench.pens.lead:
        bench.design.lead(circle(centre, inner), Role.LEAD, bench.pens.lead)
        foiled(bench, centre, inner - bench.pens.lead / 2.0, 3)


def pointed_dagger(bench: Bench, loop: Loop) -> None:
    """A dagger of bars: a round in its head, a lead down its tail."""
    head = loop[0]
    assert isinstance(head, Arc)
    bench.design.paint(loop, bench.glazier.part("medallion"))
    inner = head.radius - bench.pens.mullion / 2.0
    tip = loop[1].end
    bench.design.lead([Line((head.centre[0], head.centre[1] + inner), tip)], Role.LEAD,
                      bench.pens.lead)  # fmt: skip
    bench.design.lead(loop, Role.MULLION, bench.pens.mullion)
    if inner > bench.pens.lead:
        bench.design.lead(circle(head.centre, inner), Role.LEAD, bench.pens.lead)
        foiled(bench, head.centre, inner - bench.pens.lead / 2.0, 3)


# -- largest figure of a family that a gap holds -----------------------------------------------


class Gap(Struct, frozen=True, kw_only=True):
    """Where a figure may lie: inside `around`, outside `beside`."""

    room: Area

    @classmethod
    def between(cls, around: Loop, beside: tuple[Loop, ...]) -> Gap:
        others = Area.of([Region(flat(loop)) for loop in beside])
        return cls(room=Area.of([Region(flat(around))]) - others)

    def holds(self, loop: Loop) -> bool:
        """The loop lies in the gap, as nearly as chords tell."""
        return (Area.of([Region(flat(loop))]) - self.room).area_mm2 < 1e-3


def largest_triangle(gap: Gap, place: Round) -> tuple[float, tuple[float, float]]:
    """Side and middle of the largest spherical triangle about a place, moved up or down."""
    best = (0.0, place.centre)
    x, y = place.centre
    for step in range(-6, 7):
        centre = (x, y + step / 6.0 * place.radius)
        low, high = 0.0, 6.0 * place.radius
        for _ in range(18):
            middle = (low + high) / 2.0
            if gap.holds(spherical_triangle(centre, middle)):
                low = middle
            else:
                high = middle
        if low > best[0]:
            best = (low, centre)
    return best


def largest_dagger(gap: Gap, place: Round, tip_y: float) -> Loop | None:
    """The dagger with the largest head above a place whose tail reaches down to `tip_y`."""
    x, y = place.centre
    tip_y -= 1e-6
    best: Loop | None = None
    size = 0.0
    for step in range(7):
        centre = (x, y - step / 6.0 * place.radius)
        low, high = 0.0, place.radius * 1.2
        for _ in range(18):
            middle = (low + high) / 2.0
            tail = tip_y - centre[1]
            if tail > _TAIL * middle and gap.holds(dagger(centre, middle, tail)):
                low = middle
            else:
                high = middle
        found = dagger(centre, low, tip_y - centre[1]) if low > 1e-6 else None
        if found is not None and area_mm2(found) > size:
            best, size = found, area_mm2(found)
    return best
