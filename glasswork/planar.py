"""The polygon engine's only adapter: everything planar is asked of shapely here.

An `Area` is any number of disjoint regions. Stages compute with areas and hand `Regions` on.
Engine faults become `GlassworkError`s here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry import Point as _ShapelyPoint

from glasswork.model.geometry import Affine, Box, Point, Region, Regions, Ring

Join = Literal["round", "mitre", "bevel"]
Cap = Literal["flat", "round", "square"]

QUARTER_SEGMENTS = 16
"""Chords per quarter circle of a round offset: 0.5 % of the radius at most is lost."""


def _polygons(geometry: Any) -> list[Polygon]:
    if geometry.is_empty:
        return []
    parts = shapely.get_parts(geometry)
    return [part for part in parts if part.geom_type == "Polygon" and part.area > 0.0] + [
        inner
        for part in parts
        if part.geom_type in ("MultiPolygon", "GeometryCollection")
        for inner in _polygons(part)
    ]


def _region(polygon: Polygon) -> Region:
    def ring(line: Any) -> Ring:
        return tuple(map(tuple, shapely.get_coordinates(line)[:-1].tolist()))

    return Region(ring(polygon.exterior), tuple(ring(hole) for hole in polygon.interiors))


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """Disjoint regions in the plane; may be empty. Every operation returns a new area."""

    shape: Any

    # -- made from ---------------------------------------------------------------------------

    @classmethod
    def of(cls, regions: Iterable[Region]) -> Area:
        """The union of regions; crossing outlines are mended."""
        polygons = [Polygon(region.outer, region.holes) for region in regions]
        if len(polygons) == 1 and polygons[0].is_valid:
            return cls(polygons[0])
        return cls(shapely.union_all([shapely.make_valid(polygon) for polygon in polygons]))

    @classmethod
    def empty(cls) -> Area:
        return cls(MultiPolygon())

    @classmethod
    def box(cls, bounds: Box) -> Area:
        return cls(box(*bounds))

    @classmethod
    def disc(cls, centre: Point, radius_mm: float) -> Area:
        return cls(_ShapelyPoint(centre).buffer(radius_mm, quad_segs=32))

    @classmethod
    def stroke(
        cls,
        points: Sequence[Point],
        width_mm: float,
        *,
        cap: Cap = "flat",
        join: Join = "round",
        closed: bool = False,
    ) -> Area:
        """What a pen of this width covers along a polyline."""
        line = shapely.linearrings(points) if closed else LineString(points)
        return cls(
            line.buffer(width_mm / 2.0, quad_segs=QUARTER_SEGMENTS, cap_style=cap, join_style=join)
        )

    @classmethod
    def union(cls, areas: Iterable[Area]) -> Area:
        return cls(shapely.union_all([area.shape for area in areas]))

    # -- combined ----------------------------------------------------------------------------

    def __or__(self, other: Area) -> Area:
        return Area(self.shape.union(other.shape))

    def __and__(self, other: Area) -> Area:
        return Area(self.shape.intersection(other.shape))

    def __sub__(self, other: Area) -> Area:
        return Area(self.shape.difference(other.shape))

    def grown(
        self,
        mm: float,
        *,
        join: Join = "mitre",
        mitre_limit: float = 5.0,
        segments: int = QUARTER_SEGMENTS,
    ) -> Area:
        """Every edge moved outwards by mm; inwards if negative."""
        return Area(
            self.shape.buffer(mm, quad_segs=segments, join_style=join, mitre_limit=mitre_limit)
        )

    def opened(self, radius_mm: float) -> Area:
        """Parts narrower than twice the radius removed; outside corners rounded to it."""
        return self.grown(-radius_mm, join="round").grown(radius_mm, join="round")

    def mapped(self, affine: Affine) -> Area:
        a, b, c, d, e, f = affine
        return Area(affinity.affine_transform(self.shape, (a, c, b, d, e, f)))

    def simplified(self, tolerance_mm: float) -> Area:
        return Area(self.shape.simplify(tolerance_mm, preserve_topology=True))

    # -- asked -------------------------------------------------------------------------------

    @property
    def is_empty(self) -> bool:
        return not _polygons(self.shape)

    @property
    def area_mm2(self) -> float:
        return float(self.shape.area)

    @property
    def bounds(self) -> Box:
        """Raises: ValueError, if the area is empty"""
        if self.shape.is_empty:
            raise ValueError("an empty area has no bounds")
        return Box(*self.shape.bounds)

    def regions(self) -> Regions:
        """The connected parts, largest first."""
        found = sorted(_polygons(self.shape), key=lambda polygon: -polygon.area)
        return tuple(_region(shapely.orient_polygons(polygon)) for polygon in found)

    def parts(self) -> tuple[Area, ...]:
        """The connected parts as areas, largest first."""
        return tuple(Area(p) for p in sorted(_polygons(self.shape), key=lambda p: -p.area))

    def holds(self, point: Point) -> bool:
        return bool(self.shape.contains(_ShapelyPoint(point)))

    def touches(self, other: Area, *, within_mm: float = 0.0) -> bool:
        return bool(self.shape.dwithin(other.shape, within_mm))

    def distance_mm(self, other: Area) -> float:
        return float(self.shape.distance(other.shape))

    def apart_mm(self, other: Area) -> float:
        """The furthest that a point of one outline lies from the other outline (Hausdorff)."""
        return float(self.shape.boundary.hausdorff_distance(other.shape.boundary))

    def inner_point(self) -> Point:
        """A point well inside: the middle of the largest part's inscribed circle, nearly."""
        largest = max(_polygons(self.shape), key=lambda polygon: polygon.area)
        reach = max(1e-6, 0.01 * float(np.sqrt(largest.area)))
        circle = shapely.maximum_inscribed_circle(largest, reach)
        x, y = shapely.get_coordinates(circle)[0].tolist()
        return (x, y)


def faces_of(lines: Iterable[Sequence[Point]]) -> tuple[Area, ...]:
    """The bounded faces that polylines divide the plane into, crossings noded."""
    noded = shapely.union_all([LineString(line) for line in lines if len(line) > 1])
    return tuple(Area(face) for face in _polygons(shapely.polygonize([noded])))
