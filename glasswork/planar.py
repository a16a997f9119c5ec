"""The polygon engine's only adapter: everything planar is asked of shapely here.

An `Area` is any number of disjoint regions. Stages compute with areas and hand `Regions` on.
Engine faults become `GlassworkError`s here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry import Point as _ShapelyPoint

from glasswork.model.geometry import Affine, Box, Point, Region, Regions, Ring

Join = Literal["round", "mitre", "bevel"]
Cap = Literal["flat", "round", "square"]

_REPEATED_MM = 1e-5
"""Corners nearer to each other are one: growing would cut off a mitre between them."""
QUARTER_SEGMENTS = 16
"""Chords per quarter circle of a round offset: 0.5 % of the radius at most is lost."""


def _unrepeated(shapes: Any) -> Any:
    """Shapes without corners that are told twice; a ring too small to keep three stays as it is."""
    try:
        return shapely.remove_repeated_points(shapes, _REPEATED_MM)
    except shapely.GEOSException:
        if not isinstance(shapes, np.ndarray):
            return shapes
        return np.array([_unrepeated(shape) for shape in shapes], dtype=object)


def _polygons(geometry: Any) -> list[Polygon]:
    if geometry.is_empty:
        return []
    parts = shapely.get_parts(geometry)
    return [part for part in parts if part.geom_type == "Polygon" and part.area > 1e-9] + [
        inner
        for part in parts
        if part.geom_type in ("MultiPolygon", "GeometryCollection")
        for inner in _polygons(part)
    ]


def _region(polygon: Polygon) -> Region:
    def ring(line: Any) -> Ring:
        return tuple(map(tuple, shapely.get_coordinates(line)[:-1].tolist()))

    return Region(ring(polygon.exterior), tuple(ring(hole) for hole in polygon.interiors))


_MEND_GRID_MM = 1e-6
_SAME_GRID_MM, _SAME_AREA_MM2 = 1e-9, 1e-6
_COLLECTION = 7


def _sure(operation: Any, *shapes: Any) -> Any:
    """An overlay of shapes; where the engine balks at their rounding, mended and on a fine grid."""
    try:
        return operation(*shapes)
    except shapely.GEOSException:
        return operation(*map(_mended, shapes), grid_size=_MEND_GRID_MM)


def _mended(shape: Any) -> Any:
    """Valid polygons alone, without the lines and points that an overlay may leave."""
    valid = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    if isinstance(valid, np.ndarray):
        mixed = np.flatnonzero(shapely.get_type_id(valid) == _COLLECTION)
        valid[mixed] = [MultiPolygon(_polygons(valid[i])) for i in mixed]
        return valid
    return MultiPolygon(_polygons(valid)) if valid.geom_type == "GeometryCollection" else valid


def _buffer(shapes: Any, radii: Any, **look: Any) -> Any:
    """shapely.buffer without numpy's word on divisions that the engine itself handles."""
    with np.errstate(all="ignore"):
        return shapely.buffer(shapes, radii, **look)


def _overlay(operation: Any, one: Any, other: Any) -> Any:
    """An overlay of two shapes; on a fine grid where they are all but the same shape.

    The engine takes two copies of a shape that differ in the last digit to be disjoint.
    """
    near = np.abs(np.subtract(one.bounds, other.bounds)).max(initial=0.0) < _SAME_GRID_MM
    if near and abs(one.area - other.area) < _SAME_AREA_MM2:
        return operation(_mended(one), _mended(other), grid_size=_SAME_GRID_MM)
    return _sure(operation, one, other)


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
        return cls(_sure(shapely.union_all, np.array([area.shape for area in areas], dtype=object)))

    # -- combined ----------------------------------------------------------------------------

    def __or__(self, other: Area) -> Area:
        return Area(_overlay(shapely.union, self.shape, other.shape))

    def __and__(self, other: Area) -> Area:
        return Area(_overlay(shapely.intersection, self.shape, other.shape))

    def __sub__(self, other: Area) -> Area:
        return Area(_overlay(shapely.difference, self.shape, other.shape))

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
                _unrepeated(self.shape).buffer(
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

    def filled(self) -> Area:
        """The area with its holes filled in."""
        return Area(shapely.union_all([Polygon(p.exterior) for p in _polygons(self.shape)]))

    @property
    def corner_count(self) -> int:
        return int(shapely.get_num_coordinates(self.shape))

    def is_one_valid(self) -> bool:
        """It is a single region whose rings cross nowhere."""
        return self.shape.geom_type == "Polygon" and bool(self.shape.is_valid)

    def holds(self, point: Point) -> bool:
        return bool(self.shape.contains(_ShapelyPoint(point)))

    def touches(self, other: Area, *, within_mm: float = 0.0) -> bool:
        return bool(self.shape.dwithin(other.shape, within_mm))

    def distance_mm(self, other: Area) -> float:
        return float(self.shape.distance(other.shape))

    def edge_gap_mm(self, other: Area) -> float:
        """How near the edges of the two areas come to each other."""
        return float(self.shape.boundary.distance(other.shape.boundary))

    def edge_distance_mm(self, point: Point) -> float:
        """How far a point lies from the nearest edge."""
        return float(self.shape.boundary.distance(_ShapelyPoint(point)))

    def apart_mm(self, other: Area) -> float:
        """The furthest that a point of one outline lies from the other outline (Hausdorff)."""
        return float(self.shape.boundary.hausdorff_distance(other.shape.boundary))

    def apart_mm_from(self, other: Area) -> float:
        """The furthest that a corner of this area lies from the other area."""
        corners = shapely.points(shapely.get_coordinates(self.shape))
        return float(shapely.distance(corners, other.shape).max())

    def inner_radius_mm(self) -> float:
        """Radius of the largest part's inscribed circle, to 1 % of its size."""
        largest = max(_polygons(self.shape), key=lambda polygon: polygon.area)
        reach = max(1e-6, 0.01 * float(np.sqrt(largest.area)))
        return float(shapely.maximum_inscribed_circle(largest, reach).length)

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


# -- many at once --------------------------------------------------------------------------------


def _polygon_array(regions: Sequence[Region]) -> Any:
    """One shapely polygon a region, made in one go."""
    if not regions:
        return np.empty(0, dtype=object)
    rings = [ring for region in regions for ring in region.rings]
    counts = np.fromiter(map(len, rings), dtype=np.intp, count=len(rings))
    points = np.concatenate([np.asarray(ring, dtype=np.float64) for ring in rings])
    lines = shapely.linearrings(points, indices=np.repeat(np.arange(len(rings)), counts))
    holes = np.fromiter((len(r.holes) for r in regions), dtype=np.intp, count=len(regions))
    owner = np.repeat(np.arange(len(regions)), holes + 1)
    return shapely.polygons(lines, indices=owner)


_NEAR_MM = 1e-4


def _longest(lines: Any) -> Any:
    """The longest line of a geometry; None if it holds none."""
    parts = [p for p in shapely.get_parts(_merged(lines)) if p.geom_type == "LineString"]
    found = max(parts, key=lambda part: part.length, default=None)
    return found if found is not None and found.length > 10.0 * _NEAR_MM else None


def _along(lines: Any, share: float) -> NDArray[np.float64]:
    """(n, 2) points at a share of each line's length."""
    points = shapely.line_interpolate_point(lines, share, normalized=True)
    return np.asarray(shapely.get_coordinates(points))


class AreaSet:
    """Many areas, worked on together: one call of the engine for all of them."""

    __slots__ = ("_tree", "shapes")

    def __init__(self, shapes: Any) -> None:
        self.shapes = shapes
        self._tree: Any = None

    @classmethod
    def of_regions(cls, regions: Sequence[Region]) -> AreaSet:
        """One area a region."""
        return cls(_polygon_array(regions))

    @classmethod
    def of_groups(cls, groups: Sequence[Regions]) -> AreaSet:
        """One area a group of regions; a group may hold none."""
        shapes = _polygon_array([region for group in groups for region in group])
        sizes = np.fromiter(map(len, groups), dtype=np.intp, count=len(groups))
        if (sizes == 1).all():
            return cls(shapes)
        cuts = np.cumsum(sizes)[:-1]
        many = [
            part[0] if len(part) == 1 else MultiPolygon(list(part))
            for part in np.split(shapes, cuts)
        ]
        return cls(np.array(many, dtype=object))

    @classmethod
    def of_strokes(
        cls,
        lines: Sequence[Sequence[Point]],
        widths_mm: Sequence[float],
        *,
        cap: Cap = "flat",
    ) -> AreaSet:
        """What pens cover along polylines of two points or more."""
        if not lines:
            return cls(np.empty(0, dtype=object))
        counts = np.fromiter(map(len, lines), dtype=np.intp, count=len(lines))
        points = np.concatenate([np.asarray(line, dtype=np.float64) for line in lines])
        strings = shapely.linestrings(points, indices=np.repeat(np.arange(len(lines)), counts))
        radii = np.asarray(widths_mm, dtype=np.float64) / 2.0
        return cls(shapely.buffer(strings, radii, cap_style=cap, join_style="round"))

    @classmethod
    def of_areas(cls, areas: Sequence[Area]) -> AreaSet:
        shapes = np.empty(len(areas), dtype=object)
        shapes[:] = [area.shape for area in areas]
        return cls(shapes)

    def __len__(self) -> int:
        return len(self.shapes)

    def __getitem__(self, index: int) -> Area:
        return Area(self.shapes[index])

    def chosen(self, indices: Sequence[int] | NDArray[np.intp]) -> AreaSet:
        """Those at the indices, in that order."""
        return AreaSet(self.shapes[np.asarray(indices, dtype=np.intp)])

    @property
    def tree(self) -> Any:
        if self._tree is None:
            self._tree = shapely.STRtree(self.shapes)
        return self._tree

    def grown(self, mm: Sequence[float] | NDArray[np.float64], *, join: Join = "mitre") -> AreaSet:
        """Each area with its own growth."""
        radii = np.asarray(mm, dtype=np.float64)
        with np.errstate(divide="ignore", invalid="ignore"):  # flags the engine leaves behind
            plain = _unrepeated(self.shapes)
            return AreaSet(shapely.buffer(plain, radii, join_style=join, mitre_limit=5.0))

    def within(self, other: AreaSet, mm: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs (index here, index there) no farther apart than mm."""
        here, there = other.tree.query(self.shapes, predicate="dwithin", distance=mm)
        return here, there

    def meeting(self, other: AreaSet) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs (index here, index there) that share a point."""
        here, there = other.tree.query(self.shapes, predicate="intersects")
        return here, there

    def touching(self, area: Area) -> NDArray[np.bool_]:
        """Which of them share a point with the area."""
        shapely.prepare(area.shape)
        return np.asarray(shapely.intersects(area.shape, self.shapes))

    def common(self, area: Area) -> AreaSet:
        """Each one's part inside the area."""
        shapely.prepare(area.shape)
        inside = np.asarray(shapely.covers(area.shape, self.shapes))
        shapes = self.shapes.copy()
        shapes[~inside] = _sure(shapely.intersection, self.shapes[~inside], area.shape)
        return AreaSet(shapes)

    def meet(self, other: AreaSet) -> AreaSet:
        """What each shares with the other of the same index."""
        return AreaSet(_sure(shapely.intersection, self.shapes, other.shapes))

    def with_parts(self, owner: NDArray[np.intp], parts: AreaSet) -> AreaSet:
        """Each area joined with the parts whose owner is its index."""
        shapes = self.shapes.copy()
        order = np.argsort(owner, kind="stable")
        owners, starts = np.unique(owner[order], return_index=True)
        for index, mine in zip(owners, np.split(parts.shapes[order], starts[1:]), strict=True):
            shapes[index] = _sure(shapely.union_all, np.array([shapes[index], *mine], dtype=object))
        return AreaSet(shapes)

    def set_apart(self, *, kept: AreaSet, least_mm2: float = 1e-6) -> AreaSet:
        """Overlaps removed: each area loses what an earlier one, or another's kept part, covers.

        kept : one area for each of them, inside it, that it never loses
        """
        shapes = self.shapes.copy()
        first, second = self.meeting(self)
        upper = first < second
        first, second = first[upper], second[upper]
        shared = shapely.area(_sure(shapely.intersection, shapes[first], shapes[second]))
        for i, j in zip(first[shared > least_mm2], second[shared > least_mm2], strict=True):
            shapes[i] = _sure(shapely.difference, shapes[i], kept.shapes[j])
            left = _sure(shapely.difference, shapes[j], shapes[i])
            shapes[j] = _sure(shapely.union, left, kept.shapes[j])
        return AreaSet(shapes)

    def without_later(self) -> AreaSet:
        """Each area without what later ones cover, as paint laid over paint."""
        shapes = self.shapes.copy()
        here, there = self.meeting(self)
        covers: dict[int, list[int]] = {}
        for i, j in zip(here.tolist(), there.tolist(), strict=True):
            if i < j:
                covers.setdefault(i, []).append(j)
        for i, later in covers.items():
            shapes[i] = shapely.difference(shapes[i], shapely.union_all(self.shapes[later]))
        return AreaSet(shapes)

    def shared_places(self, other: AreaSet) -> tuple[Point | None, ...]:
        """A point where each touches the other of the same index; None where it does not."""
        edges = shapely.intersection(shapely.boundary(self.shapes), other.shapes)
        empty = shapely.is_empty(edges)
        links = shapely.shortest_line(self.shapes[empty], other.shapes[empty])
        edges[empty] = links
        first = shapely.get_geometry(edges, 0)
        lines = shapely.get_type_id(first) == 1
        first[lines] = shapely.line_interpolate_point(first[lines], 0.5, normalized=True)
        lost = shapely.is_missing(first) | shapely.is_empty(first)
        spots = shapely.point_on_surface(first)
        xs, ys = shapely.get_x(spots).tolist(), shapely.get_y(spots).tolist()
        return tuple(
            None if gone else (x, y) for x, y, gone in zip(xs, ys, lost.tolist(), strict=True)
        )

    def shared_sides(self, other: AreaSet) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Where each touches the other of the same index: (n, 2) places, and (n, 2) unit
        directions from the one into the other; not a number where they do not touch along a line.
        """
        near = shapely.buffer(other.shapes, _NEAR_MM, join_style="mitre")
        edges = shapely.intersection(shapely.boundary(self.shapes), near)
        first = np.array([_longest(edge) for edge in edges], dtype=object)
        lines = ~shapely.is_missing(first)
        at = np.full((len(self), 2), np.nan)
        out = np.full((len(self), 2), np.nan)
        at[lines] = _along(first[lines], 0.5)
        along = _along(first[lines], 0.51) - at[lines]
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        across = np.stack([along[:, 1], -along[:, 0]], axis=1)
        probes = shapely.points(at[lines] + across * 10.0 * _NEAR_MM)
        across[shapely.intersects(self.shapes[lines], probes)] *= -1.0
        out[lines] = across
        return at, out

    def narrowing(self, half_mm: float, *, least_mm2: float) -> tuple[int, ...]:
        """Those that gain an area when grown and shrunk again: their edge turns in on itself."""
        bent = np.flatnonzero(
            shapely.area(shapely.convex_hull(self.shapes)) > shapely.area(self.shapes) + least_mm2
        )
        shapes = self.shapes[bent]
        closed = shapely.buffer(shapely.buffer(shapes, half_mm), -half_mm)
        return tuple(bent[shapely.area(closed) > shapely.area(shapes) + least_mm2].tolist())

    def holding(self, points: Sequence[Point]) -> NDArray[np.bool_]:
        """For each point: one of them holds it."""
        inside = np.zeros(len(points), dtype=np.bool_)
        if len(points):
            inside[self.tree.query(shapely.points(points), predicate="intersects")[0]] = True
        return inside

    def distances_mm(self, points: Sequence[Point]) -> NDArray[np.float64]:
        """How far each lies from the point of the same index; 0 inside."""
        return np.asarray(shapely.distance(self.shapes, shapely.points(points)))

    def areas_mm2(self) -> NDArray[np.float64]:
        return np.asarray(shapely.area(self.shapes), dtype=np.float64)

    def joined(self) -> Area:
        """The union of all."""
        return Area(_sure(shapely.union_all, self.shapes))

    def tiles_joined(self) -> Area:
        """The union of areas that tile: far faster where they share their corners exactly."""
        if shapely.coverage_is_valid(self.shapes):
            return Area(shapely.coverage_union_all(self.shapes))
        return self.joined()

    def regions(self) -> tuple[Regions, ...]:
        """Each one's connected parts."""
        plain = (shapely.get_type_id(self.shapes) == 3) & (shapely.area(self.shapes) > 1e-9)
        return tuple(
            (_region(shape),) if simple else Area(shape).regions()
            for shape, simple in zip(self.shapes, plain.tolist(), strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """The narrowest place between two rings, or two parts, of a shape."""

    width_mm: float
    place: Point
    ends: tuple[Point, Point]


def ring_gaps(rings: Sequence[Ring], *, below_mm: float | None = None) -> tuple[Gap, ...]:
    """How close rings come to each other.

    rings : the outline, and the holes in it
    below_mm : every stretch along which two rings are closer than this, its narrowest place;
        without it, the closest pair alone
    """
    if len(rings) < 2:
        return ()
    counts = np.fromiter(map(len, rings), dtype=np.intp, count=len(rings))
    points = np.concatenate([np.asarray(ring, dtype=np.float64) for ring in rings])
    lines = shapely.linearrings(points, indices=np.repeat(np.arange(len(rings)), counts))
    tree = shapely.STRtree(lines)
    if below_mm is None:
        (first, second), apart = tree.query_nearest(
            lines, exclusive=True, return_distance=True, all_matches=False
        )
        best = int(np.argmin(apart))
        pairs = np.array([[first[best], second[best]]])
    else:
        first, second = tree.query(lines, predicate="dwithin", distance=below_mm)
        pairs = np.stack([first, second], axis=1)[first < second]
    first, second = lines[pairs[:, 0]], lines[pairs[:, 1]]
    if below_mm is not None:
        first, second = _stretches(lines, pairs, below_mm)
    links = shapely.shortest_line(first, second)
    ends = shapely.get_coordinates(links).reshape(-1, 4)
    widths = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    order = np.argsort(widths, kind="stable")
    return tuple(
        Gap(width_mm=width, place=((ax + bx) / 2.0, (ay + by) / 2.0), ends=((ax, ay), (bx, by)))
        for width, (ax, ay, bx, by) in zip(
            widths[order].tolist(), ends[order].tolist(), strict=True
        )
    )


@dataclass(frozen=True, slots=True)
class Slit:
    """A narrow way that runs into an area from its edge; mouths : its open ends, 2 if it parts what
    lies within the area from what lies about it.
    """

    area: int
    place: Point
    length_mm: float
    width_mm: float
    mouths: int


def slits(areas: AreaSet, widest_mm: float) -> tuple[Slit, ...]:
    """Ways of even width, no wider, that run into single areas; no points and no lone holes."""
    half = 0.52 * widest_mm
    closed = areas.grown(np.full(len(areas), half)).grown(np.full(len(areas), -half))
    left = shapely.difference(closed.shapes, _unrepeated(areas.shapes))
    parts, owner = shapely.get_parts(left, return_index=True)
    around, size = shapely.length(parts) / 2.0, shapely.area(parts)
    wide = (around - np.sqrt(np.maximum(around**2 - 4.0 * size, 0.0))) / 2.0
    long = around - wide
    found = []
    for index in np.flatnonzero((size > 0.02 * widest_mm**2) & (long >= 1.5 * wide)).tolist():
        rim = shapely.buffer(shapely.boundary(areas.shapes[owner[index]]), 0.01 * widest_mm)
        open_ends = shapely.line_merge(shapely.difference(shapely.boundary(parts[index]), rim))
        mouths = [m for m in shapely.get_parts(open_ends).tolist() if m.length > 0.1 * wide[index]]
        if not mouths or max(m.length for m in mouths) > 1.4 * wide[index]:
            continue
        spot = shapely.point_on_surface(parts[index])
        found.append(
            Slit(
                area=int(owner[index]),
                place=(float(spot.x), float(spot.y)),
                length_mm=float(long[index]),
                width_mm=float(wide[index]),
                mouths=len(mouths),
            )
        )
    return tuple(found)


def _stretches(lines: Any, pairs: NDArray[np.intp], below_mm: float) -> tuple[Any, Any]:
    """The stretches of the one ring that come close to the other, and the other ring.

    Two convex holes come close along one stretch only, so they stand for it themselves.
    """
    solids = shapely.polygons(lines)
    bent = shapely.area(shapely.convex_hull(solids)) > shapely.area(solids) * (1.0 + 1e-6)
    bent[0] = True  # holes lie inside the outline and may meet it on every side
    many = bent[pairs[:, 0]] | bent[pairs[:, 1]]
    plain, wound = pairs[~many], pairs[many]
    near = shapely.intersection(
        lines[wound[:, 0]], shapely.buffer(lines[wound[:, 1]], below_mm, quad_segs=4)
    )
    merged = np.array([_merged(line) for line in near], dtype=object)
    pieces, owner = shapely.get_parts(merged, return_index=True)
    first = np.concatenate([lines[plain[:, 0]], pieces])
    second = np.concatenate([lines[plain[:, 1]], lines[wound[owner, 1]]])
    return first, second


def _merged(line: Any) -> Any:
    """Lines that meet end to end made one."""
    return shapely.line_merge(line) if line.geom_type == "MultiLineString" else line


def sound_regions(regions: Sequence[Region]) -> NDArray[np.bool_]:
    """For each region as it is: rings cross nowhere, holes lie inside and apart."""
    return np.asarray(shapely.is_valid(_polygon_array(regions)), dtype=np.bool_)


# -- fills ---------------------------------------------------------------------------------------


def filled(rings: Sequence[Ring], *, nonzero: bool = True) -> Area:
    """What closed subpaths cover: by winding number, or by even-odd crossing.

    Rings may cross themselves and each other; rings without area count for nothing.
    """
    rings = [ring for ring in rings if len(ring) > 2]
    if not rings:
        return Area.empty()
    polygons = shapely.polygons([shapely.linearrings(ring) for ring in rings])
    polygons = polygons[shapely.area(polygons) > 0.0] if len(rings) > 1 else polygons
    if not len(polygons):
        return Area.empty()
    if len(polygons) == 1 and shapely.is_valid(polygons[0]):
        return Area(polygons[0])
    if shapely.is_valid(polygons).all() and not _cross(polygons):
        return _nested(polygons, nonzero=nonzero)
    lines = shapely.union_all(shapely.get_exterior_ring(polygons))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    if not len(faces):
        return Area.empty()
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    wound = np.zeros(len(faces), dtype=np.intp)
    for polygon in polygons:
        wound += _winding(shapely.get_coordinates(polygon), inside)
    kept = wound != 0 if nonzero else wound % 2 != 0
    return Area(shapely.union_all(faces[kept]))


def _cross(polygons: Any) -> bool:
    """Some boundaries of valid polygons cross or run along each other."""
    if len(polygons) < 2:
        return False
    edges = shapely.get_exterior_ring(polygons)
    here, there = shapely.STRtree(edges).query(edges, predicate="intersects")
    return bool((here < there).any())


def _nested(polygons: Any, *, nonzero: bool) -> Area:
    """The fill of rings that do not touch: each lies wholly inside or outside another."""
    signs = np.where(shapely.is_ccw(shapely.get_exterior_ring(polygons)), 1, -1)
    outer, inner = shapely.STRtree(polygons).query(polygons, predicate="within")[::-1]
    wound = np.zeros(len(polygons), dtype=np.intp)
    np.add.at(wound, inner, signs[outer])
    around = wound - signs
    full, bare = (wound != 0, around != 0) if nonzero else (wound % 2 != 0, around % 2 != 0)
    shells = np.flatnonzero(full & ~bare)
    holes = np.flatnonzero(~full & bare)
    sizes = shapely.area(polygons)
    owned: dict[int, list[Any]] = {int(i): [] for i in shells}
    holders: dict[int, int] = {}
    for out, into in zip(outer.tolist(), inner.tolist(), strict=True):
        if out in owned and out != into:
            best = holders.get(into)
            if best is None or sizes[out] < sizes[best]:
                holders[into] = out
    rings = shapely.get_exterior_ring(polygons)
    for hole in holes.tolist():
        if hole in holders:
            owned[holders[hole]].append(rings[hole])
    parts = [Polygon(rings[shell], own) for shell, own in owned.items()]
    return Area(parts[0] if len(parts) == 1 else MultiPolygon(parts))


def _winding(ring: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.intp]:
    """How often a closed ring (its first corner repeated) goes round each point."""
    total = np.zeros(len(points), dtype=np.intp)
    box = np.concatenate([ring.min(axis=0), ring.max(axis=0)])
    near = np.flatnonzero(
        (points[:, 0] >= box[0])
        & (points[:, 1] >= box[1])
        & (points[:, 0] <= box[2])
        & (points[:, 1] <= box[3])
    )
    x0, y0, x1, y1 = ring[:-1, 0], ring[:-1, 1], ring[1:, 0], ring[1:, 1]
    for index in near.tolist():
        x, y = points[index]
        side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
        up = (y0 <= y) & (y1 > y) & (side > 0)
        down = (y0 > y) & (y1 <= y) & (side < 0)
        total[index] += int(up.sum()) - int(down.sum())
    return total


# -- pens and painting ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a line is drawn: its width, ends and corners."""

    width_mm: float
    cap: Cap = "flat"
    join: Join = "mitre"
    mitre_limit: float = 4.0


def drawn(lines: Sequence[tuple[Sequence[Point], bool]], pens: Sequence[Pen]) -> AreaSet:
    """What each pen covers along its line, all lines at once.

    lines : points and closed flag; a line of one point is a dot if its ends are round or square
    """
    shapes = np.empty(len(lines), dtype=object)
    for index, (points, closed) in enumerate(lines):
        if closed and len(points) > 2:
            shapes[index] = shapely.linearrings(points)
        elif len(points) > 1:
            shapes[index] = LineString([*points, points[0]] if closed else points)
        else:
            shapes[index] = _ShapelyPoint(points[0])
    kinds: dict[tuple[Cap, Join, float], list[int]] = {}
    for index, pen in enumerate(pens):
        kinds.setdefault((pen.cap, pen.join, pen.mitre_limit), []).append(index)
    for (cap, join, limit), chosen in kinds.items():
        plain = shapes[chosen]
        half = np.array([pens[index].width_mm / 2.0 for index in chosen])
        look = {"quad_segs": QUARTER_SEGMENTS, "cap_style": cap, "mitre_limit": max(1.0, limit)}
        shapes[chosen] = _buffer(plain, half, join_style=join, **look)
        sharp = _over_limit(plain, max(1.0, limit)) if join == "mitre" else {}
        for at, corners in sharp.items():
            whole = _buffer(plain[at], half[at], join_style="bevel", **look)
            pieces = _buffer(
                np.array(_parted(plain[at], corners), dtype=object),
                half[at],
                join_style=join,
                **look | {"cap_style": "flat"},
            )
            shapes[chosen[at]] = _sure(shapely.union_all, np.array([whole, *pieces], dtype=object))
    return AreaSet(shapes)


def _over_limit(lines: Any, limit: float) -> dict[int, list[int]]:
    """Corners too sharp to be mitred, which are cut square across: by line, their numbers.

    The engine cuts such a corner off at the limit's length instead.
    """
    points, owner = shapely.get_coordinates(lines, return_index=True)
    if len(points) < 3:
        return {}
    closed = shapely.get_type_id(lines) == shapely.GeometryType.LINEARRING
    first = np.flatnonzero(np.append(True, owner[1:] != owner[:-1]))
    size = np.diff(np.append(first, len(points)))
    after, before = np.roll(points, -1, axis=0), np.roll(points, 1, axis=0)
    before[first] = points[first + np.maximum(size - 2, 0)]
    inner = np.ones(len(points), dtype=np.bool_)
    inner[first + size - 1] = False
    inner[first] = closed[owner[first]]
    one, two = points - before, after - points
    length = np.hypot(*one.T) * np.hypot(*two.T)
    with np.errstate(invalid="ignore", divide="ignore"):
        turn = np.where(length > 0.0, (one * two).sum(axis=1) / length, 1.0)
    found: dict[int, list[int]] = {}
    for index in np.flatnonzero(inner & ((1.0 + turn) * limit**2 < 2.0)).tolist():
        line = int(owner[index])
        start = int(first[np.searchsorted(first, index, side="right") - 1])
        found.setdefault(line, []).append(index - start)
    return found


def _parted(line: Any, corners: Sequence[int]) -> list[Any]:
    """The line parted at some of its corners; a closed one begins at the first of them."""
    points = shapely.get_coordinates(line)
    cuts = list(corners)
    if line.geom_type == "LinearRing":
        points = np.concatenate([points[cuts[0] : -1], points[: cuts[0] + 1]])
        cuts = [cut - cuts[0] for cut in cuts]
    ends = sorted({0, *cuts, len(points) - 1})
    return [LineString(points[a : b + 1]) for a, b in pairwise(ends)]


def seen(painted: AreaSet, kept: Sequence[bool]) -> Area:
    """What stays in sight of the kept areas when all are painted in order, later over earlier."""
    keep = np.asarray(kept, dtype=np.bool_)
    dark, light = np.flatnonzero(keep), np.flatnonzero(~keep)
    shapes = painted.shapes[dark].copy()
    if len(dark) and len(light):
        under, over = shapely.STRtree(painted.shapes[light]).query(shapes, predicate="intersects")
        later = light[over] > dark[under]
        under, over = under[later], over[later]
        order = np.argsort(under, kind="stable")
        under, over = under[order], light[over[order]]
        covers: dict[int, list[int]] = {}
        for index, cover in zip(under.tolist(), over.tolist(), strict=True):
            covers.setdefault(index, []).append(cover)
        for index, mine in covers.items():
            cover = shapely.union_all(painted.shapes[mine])
            shapes[index] = shapely.difference(shapes[index], cover)
    return Area(shapely.union_all(shapes))


def triangles(area: Area) -> NDArray[np.float64]:
    """A Delaunay triangulation of one connected area: (triangles, 3 corners, 2), tiling it.

    Corners lie on the area's edge. Corners facing another ring get a partner on it, so that
    triangles run straight across; edges that a triangle would cross are divided.
    Source: conforming Delaunay by division of missing edges [shewchuk1997]
    """
    (shape,) = _polygons(area.shape) if not area.is_empty else (None,)
    if shape is None:
        return np.empty((0, 3, 2))
    rings = [shapely.get_coordinates(ring)[:-1] for ring in (shape.exterior, *shape.interiors)]
    rings = _partnered(rings, 2.0 * shape.area / shape.length)
    most = 3 * sum(map(len, rings)) + 500
    for again in range(14):
        if sum(map(len, rings)) > most:
            break
        found, missing = _delaunay(rings)
        if not missing:
            kept = _inside(found, rings, shape)
            one, two = kept[:, 1] - kept[:, 0], kept[:, 2] - kept[:, 0]
            total = float(np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum()) / 2.0
            if abs(total - shape.area) < 1e-9 * shape.area:
                return kept
            break
        pieces = 2 if again < 6 else 3
        rings = [
            _divided(ring, missing[index], pieces) if index in missing else ring
            for index, ring in enumerate(rings)
        ]
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    return np.asarray(shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3])


_MOST_NEAR = 60.0
"""Edges near a corner that are looked at for its partner, about; more, and it looks less far."""


def _complex(points: NDArray[np.float64]) -> NDArray[np.complex128]:
    return np.ascontiguousarray(points).view(np.complex128).ravel()


def _distinct(values: NDArray[Any]) -> NDArray[Any]:
    """Each value once, in order; for complex numbers faster than numpy's way by hashes."""
    ordered = np.sort(values)
    return np.asarray(ordered[np.append(True, ordered[1:] != ordered[:-1])])


def _partnered(rings: list[Any], typical_mm: float) -> list[Any]:
    """The rings with a point opposite each corner of another ring that lies across a lead."""
    counts = np.array([len(ring) for ring in rings])
    points = np.concatenate(rings)
    owner = np.repeat(np.arange(len(rings)), counts)
    after = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    before = np.concatenate([np.roll(ring, 1, axis=0) for ring in rings])
    one, two = points - before, after - points
    turn = np.arctan2(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0], (one * two).sum(axis=1))
    corners = np.flatnonzero(np.abs(turn) > 0.4)
    reach = 5.0 * typical_mm
    edges = shapely.linestrings(np.stack([points, after], axis=1))
    spots = shapely.points(points[corners])
    tree = shapely.STRtree(edges)
    sample = spots[:: max(1, len(spots) // 100)]
    many = tree.query(sample, predicate="dwithin", distance=reach).shape[1] / max(1, len(sample))
    reach *= min(1.0, _MOST_NEAR / max(1.0, many))
    at, edge = tree.query(spots, predicate="dwithin", distance=reach)
    other = owner[edge] != owner[corners[at]]
    at, edge = at[other], edge[other]
    if not len(at):
        return rings
    off = shapely.distance(spots[at], edges[edge])
    order = np.lexsort((off, owner[edge], at))
    at, edge, off = at[order], edge[order], off[order]
    first = np.append(True, (at[1:] != at[:-1]) | (owner[edge][1:] != owner[edge][:-1]))
    at, edge, off = at[first], edge[first], off[first]
    nearest = np.full(len(corners), np.inf)
    np.minimum.at(nearest, at, off)
    kept = (off <= 2.0 * nearest[at]) | (owner[edge] == 0)
    at, edge, off = at[kept], edge[kept], off[kept]
    way = after[edge] - points[edge]
    length = np.hypot(way[:, 0], way[:, 1])
    along = ((points[corners[at]] - points[edge]) * way).sum(axis=1) / length
    clear = (along > 0.3 * off) & (along < length - 0.3 * off) & (off > 0.0)
    edge, share = edge[clear], (along / length)[clear]
    if not len(edge):
        return rings
    order = np.lexsort((share, edge))
    edge, share = edge[order], share[order]
    apart = np.append(True, (edge[1:] != edge[:-1]) | (np.diff(share) > 1e-6))
    edge, share = edge[apart], share[apart]
    added = points[edge] + share[:, None] * (after[edge] - points[edge])
    whole = np.insert(points, edge + 1, added, axis=0)
    sizes = counts + np.bincount(owner[edge], minlength=len(rings))
    return np.split(whole, np.cumsum(sizes)[:-1])


def _divided(ring: Any, edges: Sequence[int], pieces: int) -> Any:
    """The ring with the given edges divided into equal pieces."""
    at = np.repeat(np.asarray(edges), pieces - 1)
    share = np.tile(np.arange(1, pieces) / pieces, len(edges))[:, None]
    after = np.roll(ring, -1, axis=0)
    return np.insert(ring, at + 1, ring[at] + share * (after[at] - ring[at]), axis=0)


def _delaunay(rings: list[Any]) -> tuple[NDArray[np.float64], dict[int, list[int]]]:
    """Delaunay triangles of all corners, and for each ring its edges that are no triangle's."""
    points = np.concatenate(rings)
    parts = shapely.get_parts(shapely.delaunay_triangles(shapely.multipoints(points)))
    found = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    names = _distinct(_complex(points))
    ids = np.searchsorted(names, _complex(found.reshape(-1, 2))).reshape(-1, 3)
    size = len(names) + 1
    sides = np.concatenate([ids[:, [0, 1]], ids[:, [1, 2]], ids[:, [2, 0]]])
    sides.sort(axis=1)
    known = np.sort(sides[:, 0].astype(np.int64) * size + sides[:, 1])
    missing: dict[int, list[int]] = {}
    start = 0
    own = np.searchsorted(names, _complex(points))
    lost = np.empty(0, dtype=np.intp)
    after = np.concatenate([np.append(np.arange(s + 1, s + n), s) for s, n in _runs(rings)])
    pair = np.sort(np.stack([own, own[after]], axis=1), axis=1)
    wanted = pair[:, 0].astype(np.int64) * size + pair[:, 1]
    at = np.minimum(np.searchsorted(known, wanted), len(known) - 1)
    lost = np.flatnonzero(known[at] != wanted)
    if len(lost):
        starts = np.array([s for s, _ in _runs(rings)])
        which = np.searchsorted(starts, lost, side="right") - 1
        for index, edge in zip(which.tolist(), lost.tolist(), strict=True):
            start = int(starts[index])
            missing.setdefault(index, []).append(edge - start)
    return found, missing


def _runs(rings: list[Any]) -> list[tuple[int, int]]:
    """Where each ring begins among all corners, and how many it has."""
    counts = [len(ring) for ring in rings]
    return list(zip(np.cumsum([0, *counts[:-1]]).tolist(), counts, strict=True))


def _inside(found: NDArray[np.float64], rings: list[Any], shape: Any) -> NDArray[np.float64]:
    """The triangles that lie in the area: those between two rings, and others by trial."""
    points = _complex(np.concatenate(rings))
    owner = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    names, first, times = np.unique(points, return_index=True, return_counts=True)
    ring_of = np.where(times == 1, owner[first], -1)
    rows = ring_of[np.searchsorted(names, _complex(found.reshape(-1, 2)))].reshape(-1, 3)
    sure = (rows >= 0).all(axis=1) & ((rows[:, 0] != rows[:, 1]) | (rows[:, 1] != rows[:, 2]))
    kept = sure.copy()
    doubt = np.flatnonzero(~sure)
    if len(doubt):
        middles = found[doubt].mean(axis=1)
        same = (rows[doubt] == rows[doubt][:, :1]).all(axis=1) & (rows[doubt, 0] >= 0)
        polygons = shapely.polygons([shapely.linearrings(ring) for ring in rings])
        shapely.prepare(polygons)
        shapely.prepare(shape)
        held = np.empty(len(doubt), dtype=np.bool_)
        mine = rows[doubt, 0]
        inner = shapely.intersects_xy(polygons[mine[same]], middles[same, 0], middles[same, 1])
        # a corner put on a straight edge leaves a sliver of no height at the area's rim
        held[same] = np.where(mine[same] == 0, inner, ~inner) & ~_flat(found[doubt][same])
        held[~same] = shapely.intersects_xy(shape, middles[~same, 0], middles[~same, 1])
        kept[doubt] = held
    return np.asarray(found[kept])


def _flat(corners: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which triangles are no higher than a billionth of their length."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    cross = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    return np.asarray(cross <= 1e-9 * np.ptp(corners, axis=1).max(axis=1) ** 2)


def joined_triangles(groups: Sequence[NDArray[np.float64]]) -> tuple[Regions, ...]:
    """Each group of triangles that share whole edges, as its connected parts."""
    if not len(groups):
        return ()
    corners = np.concatenate(groups)
    closed = np.concatenate([corners, corners[:, :1]], axis=1)
    shapes = shapely.polygons(closed)
    sizes = np.array([len(group) for group in groups])
    owner = np.repeat(np.arange(len(groups)), sizes)
    many = shapely.geometrycollections(shapes, indices=owner)
    try:
        return AreaSet(shapely.coverage_union_all(many[:, None], axis=1)).regions()
    except shapely.errors.GEOSException:  # triangles that overlap by a rounding
        return AreaSet(shapely.union_all(many[:, None], axis=1)).regions()


def near_edge(places: Sequence[Point], edge: Ring) -> NDArray[np.float64]:
    """How far each place lies from a closed line."""
    line = shapely.linearrings(edge)
    shapely.prepare(line)
    return np.asarray(shapely.distance(line, shapely.points(np.asarray(places).reshape(-1, 2))))


def last_holding(places: Sequence[Point], areas: AreaSet) -> tuple[int, ...]:
    """For each place the last of the areas that holds it; -1 where none does."""
    found = np.full(len(places), -1, dtype=np.intp)
    if len(areas) and len(places):
        points = shapely.points(np.asarray(places, dtype=np.float64))
        at, which = areas.tree.query(points, predicate="intersects")
        np.maximum.at(found, at, which)
    return tuple(found.tolist())


def inner_points(regions: Sequence[Region]) -> tuple[Point, ...]:
    """A point well inside each region: its centroid if that lies deep in it, else the middle of
    its inscribed circle, nearly.
    """
    shapes = _polygon_array(regions)
    if not len(shapes):
        return ()
    size = np.sqrt(np.abs(shapely.area(shapes)))
    middles = shapely.centroid(shapes)
    deep = shapely.distance(shapely.boundary(shapes), middles) > 0.25 * size
    deep &= shapely.intersects(shapes, middles)
    for index in np.flatnonzero(~deep).tolist():
        reach = max(1e-6, 0.02 * float(size[index]))
        circle = shapely.maximum_inscribed_circle(shapes[index], reach)
        inside = shapely.intersects(shapes[index], middles[index])
        off = shapely.distance(shapely.boundary(shapes[index]), middles[index])
        if not (inside and off >= 0.95 * shapely.length(circle)):
            middles[index] = shapely.get_point(circle, 0)
    return tuple(map(tuple, shapely.get_coordinates(middles).tolist()))


# -- line work -----------------------------------------------------------------------------------


def noded(segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """Straight segments divided where they cross or touch, each place drawn once.

    segments : (n, 2 ends, 2); returned in the same form
    """
    lines = shapely.linestrings(segments)
    parts = shapely.get_parts(shapely.union_all(lines))
    points, owner = shapely.get_coordinates(parts, return_index=True)
    inner = owner[1:] == owner[:-1]
    return np.stack([points[:-1][inner], points[1:][inner]], axis=1)


def lines_at(
    places: NDArray[np.float64], segments: NDArray[np.float64], *, reach_mm: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs (place, segment) no farther apart than the reach. (n, 2) and (m, 2 ends, 2)."""
    tree = shapely.STRtree(shapely.linestrings(segments))
    at, which = tree.query(shapely.points(places), predicate="dwithin", distance=reach_mm)
    return at, which


def polygon_set(points: NDArray[np.float64], owner: NDArray[np.intp]) -> AreaSet:
    """One polygon without holes from each run of corners; owner: 0, 0, …, 1, 1, …"""
    return AreaSet(shapely.polygons(shapely.linearrings(points, indices=owner)))


def valid(areas: AreaSet) -> NDArray[np.bool_]:
    """Which of the areas have rings that cross nowhere."""
    return np.asarray(shapely.is_valid(areas.shapes))


def depths(
    places: NDArray[np.float64], areas: AreaSet, *, reach_mm: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Pairs (place, area) within reach, and how deep the place lies inside (negative: outside)."""
    points = shapely.points(places)
    at, which = areas.tree.query(points, predicate="dwithin", distance=reach_mm)
    edges = shapely.boundary(areas.shapes)
    off = shapely.distance(points[at], edges[which])
    outside = shapely.distance(points[at], areas.shapes[which]) > 0.0
    return at, which, np.where(outside, -off, off)


def regions_of_rings(points: NDArray[np.float64], owner: NDArray[np.intp]) -> Regions:
    """A region without holes from each run of corners; owner: 0, 0, …, 1, 1, …"""
    if not len(points):
        return ()
    cuts = [0, *(np.flatnonzero(owner[1:] != owner[:-1]) + 1).tolist(), len(points)]
    corners = list(map(tuple, points.tolist()))
    return tuple(Region(tuple(corners[a:b])) for a, b in pairwise(cuts))


def nearest_mm(areas: AreaSet) -> list[float]:
    """How far each area lies from the nearest other one; at least two areas."""
    (here, _), apart = areas.tree.query_nearest(
        areas.shapes, exclusive=True, return_distance=True, all_matches=False
    )
    found = np.full(len(areas), np.inf)
    np.minimum.at(found, here, apart)
    return [float(value) for value in found]


def outside_mm(places: NDArray[np.float64], area: Area) -> NDArray[np.float64]:
    """How far each place lies outside an area; 0 within."""
    shapely.prepare(area.shape)
    return np.asarray(shapely.distance(area.shape, shapely.points(places)))
