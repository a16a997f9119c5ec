"""Points, rings, regions and affine maps, in millimetres, y down, seen from the front."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, islice, pairwise
from math import hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Ring = tuple[Point, ...]
"""Corners of a closed polygon; the first one is not repeated at the end."""


def ring_area_mm2(ring: Ring) -> float:
    """Signed area of a ring by the shoelace formula."""
    total = 0.0
    x0, y0 = ring[-1]
    for x1, y1 in ring:
        total += x0 * y1 - x1 * y0
        x0, y0 = x1, y1
    return total / 2.0


def path_length_mm(points: tuple[Point, ...], *, closed: bool = False) -> float:
    """Length of a polyline."""
    ends = (*points, points[0]) if closed and points else points
    return sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(ends))


def point_along(line: Sequence[Point], share: float) -> Point:
    """The point at a share of a line's length."""
    if len(line) == 2:
        (ax, ay), (bx, by) = line
        return (ax + (bx - ax) * share, ay + (by - ay) * share)
    left = path_length_mm(tuple(line)) * share
    for (ax, ay), (bx, by) in pairwise(line):
        step = hypot(bx - ax, by - ay)
        if step > 0.0 and step >= left:
            part = left / step
            return (ax + (bx - ax) * part, ay + (by - ay) * part)
        left -= step
    return line[-1]


class Box(NamedTuple):
    """An upright rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def centre(self) -> Point:
        return ((self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0)

    def grown(self, mm: float) -> Box:
        """The box with every side moved outwards."""
        return Box(self.left - mm, self.top - mm, self.right + mm, self.bottom + mm)

    @classmethod
    def around(cls, points: Iterable[Point]) -> Box:
        """The smallest box that holds all points; at least one."""
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs), max(ys))


class Affine(NamedTuple):
    """x' = a·x + c·y + e, y' = b·x + d·y + f."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def apply(self, point: Point) -> Point:
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def ring(self, ring: Ring) -> Ring:
        a, b, c, d, e, f = self
        if b == c == 0.0:
            return tuple([(a * x + e, d * y + f) for x, y in ring])
        return tuple([(a * x + c * y + e, b * x + d * y + f) for x, y in ring])

    def then(self, outer: Affine) -> Affine:
        """This map first, then the outer one."""
        e, f = outer.apply((self.e, self.f))
        return Affine(
            outer.a * self.a + outer.c * self.b,
            outer.b * self.a + outer.d * self.b,
            outer.a * self.c + outer.c * self.d,
            outer.b * self.c + outer.d * self.d,
            e,
            f,
        )

    def inverse(self) -> Affine:
        """Raises: ZeroDivisionError, if the map is flat"""
        det = self.a * self.d - self.b * self.c
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    @property
    def mirrors(self) -> bool:
        return self.a * self.d - self.b * self.c < 0.0

    @classmethod
    def shift(cls, dx: float, dy: float) -> Affine:
        return cls(e=dx, f=dy)

    @classmethod
    def scale(cls, sx: float, sy: float | None = None) -> Affine:
        return cls(a=sx, d=sx if sy is None else sy)


@dataclass(frozen=True, slots=True)
class Region:
    """One connected area: an outer ring and holes inside it.

    Cannot occur: fewer than three corners, no area.
    """

    outer: Ring
    holes: tuple[Ring, ...] = ()

    def __post_init__(self) -> None:
        for ring in (self.outer, *self.holes):
            if len(ring) < 3:
                raise ValueError(f"a ring needs three corners, got {len(ring)}")
        if ring_area_mm2(self.outer) == 0.0:
            raise ValueError("a region needs area")

    @property
    def rings(self) -> tuple[Ring, ...]:
        return (self.outer, *self.holes)

    @property
    def area_mm2(self) -> float:
        return abs(ring_area_mm2(self.outer)) - sum(abs(ring_area_mm2(h)) for h in self.holes)

    @property
    def box(self) -> Box:
        return Box.around(self.outer)

    def mapped(self, affine: Affine) -> Region:
        """Raises: ValueError, if the map is flat"""
        if affine.a * affine.d == affine.b * affine.c:
            raise ValueError("a region needs area")
        return sound_region(
            affine.ring(self.outer), tuple([affine.ring(hole) for hole in self.holes])
        )


Regions = tuple[Region, ...]


_set = object.__setattr__


def sound_region(outer: Ring, holes: tuple[Ring, ...] = ()) -> Region:
    """A region whose rings are known to be sound: thousands need no second look."""
    made = object.__new__(Region)
    _set(made, "outer", outer)
    _set(made, "holes", holes)
    return made


def corners_of(rings: Sequence[Sequence[Point]]) -> NDArray[np.float64]:
    """The corners of many rings, one ring after the other, (n, 2)."""
    flat = chain.from_iterable(chain.from_iterable(rings))
    return np.fromiter(flat, dtype=np.float64).reshape(-1, 2)


def mapped_regions(regions: Regions, affine: Affine) -> Regions:
    """Regions as `Region.mapped` maps one, all in one go."""
    return mapped_groups([regions], affine)[0]


def mapped_groups(groups: Sequence[Regions], affine: Affine) -> list[Regions]:
    """Every region of many groups as `Region.mapped` maps one, all in one go.

    Raises: ValueError, if the map is flat
    """
    if affine.a * affine.d == affine.b * affine.c:
        raise ValueError("a region needs area")
    rings = iter(mapped_rings([r for group in groups for one in group for r in one.rings], affine))
    return [
        tuple([sound_region(next(rings), tuple([next(rings) for _ in one.holes])) for one in group])
        for group in groups
    ]


def mapped_rings(rings: Sequence[Sequence[Point]], affine: Affine) -> list[Ring]:
    """Every ring or polyline as `Affine.ring` maps one, all in one go."""
    a, b, c, d, e, f = affine
    x, y = corners_of(rings).T
    places = zip((a * x + c * y + e).tolist(), (b * x + d * y + f).tolist(), strict=True)
    return [tuple(islice(places, len(ring))) for ring in rings]
