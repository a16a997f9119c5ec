"""One area: any number of disjoint regions in the plane, combined with others and asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry import Point as ShapelyPoint

from glasswork.model.geometry import Affine, Box, Point, Region, Regions
from glasswork.planar.engine import (
    QUARTER_SEGMENTS,
    Cap,
    Join,
    overlay,
    polygons_in,
    regions_of,
    sure,
    united,
    unrepeated,
)


class Area(Struct, frozen=True, eq=False):
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
        return cls(sure(shapely.union_all, np.array([area.shape for area in areas], dtype=object)))

    # -- combined ----------------------------------------------------------------------------

    def __or__(self, other: Area) -> Area:
        return Area(overlay(united, self.shape, other.shape))

    def __and__(self, other: Area) -> Area:
        return Area(overlay(shapely.intersection, self.shape, other.shape))

    def __sub__(self, other: Area) -> Area:
        return Area(overlay(shapely.difference, self.shape, other.shape))

    def grown(
        self,
        mm: float,
        *,
        join: Join = "mitre",
        mitre_limit: float = 5.0,
        segments: int = QUARTER_SEGMENTS,
    ) -> Area:
        """Every edge moved outwards by mm; inwards if negative."""
        with np.errstate(divide="ignore", invalid="ignore"):  # flags the engine leaves behind
            return Area(
                unrepeated(self.shape).buffer(
                    mm, quad_segs=segments, join_style=join, mitre_limit=mitre_limit
                )
            )

    def opened(self, radius_mm: float) -> Area:
        """Parts narrower than twice the radius removed; outside corners rounded to it."""
        return self.grown(-radius_mm, join="round").grown(radius_mm, join="round")

    def healed(self, crack_mm: float) -> Area:
        """Cracks narrower than this closed; corners stay sharp."""
        half = crack_mm / 2.0
        return self.grown(half, join="mitre").grown(-half, join="mitre")

    def mapped(self, affine: Affine) -> Area:
        a, b, c, d, e, f = affine
        return Area(affinity.affine_transform(self.shape, (a, c, b, d, e, f)))

    def snapped(self, grid_mm: float) -> Area:
        """Corners moved to a grid; spikes and slits narrower than it close."""
        return Area(shapely.set_precision(self.shape, grid_mm))

    def simplified(self, tolerance_mm: float) -> Area:
        return Area(self.shape.simplify(tolerance_mm, preserve_topology=True))

    # -- asked -------------------------------------------------------------------------------

    @property
    def is_empty(self) -> bool:
        return not polygons_in(self.shape)

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
        found = sorted(polygons_in(self.shape), key=lambda polygon: -polygon.area)
        if not found:
            return ()
        return tuple(regions_of(shapely.orient_polygons(np.array(found, dtype=object))))

    def parts(self) -> tuple[Area, ...]:
        """The connected parts as areas, largest first."""
        return tuple(Area(p) for p in sorted(polygons_in(self.shape), key=lambda p: -p.area))

    def filled(self) -> Area:
        """The area with its holes filled in."""
        return Area(shapely.union_all([Polygon(p.exterior) for p in polygons_in(self.shape)]))

    @property
    def hole_count(self) -> int:
        """Holes of all its parts."""
        return sum(len(polygon.interiors) for polygon in polygons_in(self.shape))

    @property
    def is_one(self) -> bool:
        """It has a single part."""
        return len(polygons_in(self.shape)) == 1

    @property
    def corner_count(self) -> int:
        return int(shapely.get_num_coordinates(self.shape))

    def is_one_valid(self) -> bool:
        """It is a single region whose rings cross nowhere."""
        return self.shape.geom_type == "Polygon" and bool(self.shape.is_valid)

    def holds(self, point: Point) -> bool:
        return bool(self.shape.contains(ShapelyPoint(point)))

    def touches(self, other: Area, *, within_mm: float = 0.0) -> bool:
        return bool(self.shape.dwithin(other.shape, within_mm))

    def distance_mm(self, other: Area) -> float:
        return float(self.shape.distance(other.shape))

    def edge_gap_mm(self, other: Area) -> float:
        """How near the edges of the two areas come to each other."""
        return float(self.shape.boundary.distance(other.shape.boundary))

    def edge_distance_mm(self, point: Point) -> float:
        """How far a point lies from the nearest edge."""
        return float(self.shape.boundary.distance(ShapelyPoint(point)))

    def apart_mm(self, other: Area) -> float:
        """The furthest that a point of one outline lies from the other outline (Hausdorff)."""
        return float(self.shape.boundary.hausdorff_distance(other.shape.boundary))

    def apart_mm_from(self, other: Area) -> float:
        """The furthest that a corner of this area lies from the other area."""
        corners = shapely.points(shapely.get_coordinates(self.shape))
        return float(shapely.distance(corners, other.shape).max())

    def inner_radius_mm(self) -> float:
        """Radius of the largest part's inscribed circle, to 1 % of its size."""
        largest = max(polygons_in(self.shape), key=lambda polygon: polygon.area)
        reach = max(1e-6, 0.01 * float(np.sqrt(largest.area)))
        return float(shapely.maximum_inscribed_circle(largest, reach).length)

    def inner_point(self) -> Point:
        """A point well inside: the middle of the largest part's inscribed circle, nearly."""
        largest = max(polygons_in(self.shape), key=lambda polygon: polygon.area)
        reach = max(1e-6, 0.01 * float(np.sqrt(largest.area)))
        circle = shapely.maximum_inscribed_circle(largest, reach)
        x, y = shapely.get_coordinates(circle)[0].tolist()
        return (x, y)
