"""Many areas, worked on together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from glasswork.model.geometry import Box, Point, Region, Regions
from glasswork.planar.area import Area
from glasswork.planar.engine import (
    Cap,
    Join,
    buffered,
    merged,
    polygon_array,
    regions_of,
    sure,
    united,
    unrepeated,
)

_NEAR_MM = 1e-4
_POLYGON = 3
_ABOUT_MM = 0.1


def _longest(lines: Any) -> Any:
    """The longest line of a geometry; None if it holds none."""
    parts = [p for p in shapely.get_parts(merged(lines)) if p.geom_type == "LineString"]
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
        return cls(polygon_array(regions))

    @classmethod
    def of_groups(cls, groups: Sequence[Regions]) -> AreaSet:
        """One area a group of regions; a group may hold none."""
        shapes = polygon_array([region for group in groups for region in group])
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
        return cls(buffered(strings, radii, cap_style=cap, join_style="round"))

    @classmethod
    def mended(cls, groups: Sequence[Regions]) -> AreaSet:
        """One area a group of regions, crossing outlines mended; a group may hold none."""
        found = cls.of_groups(groups)
        for index in np.flatnonzero(~shapely.is_valid(found.shapes)).tolist():
            found.shapes[index] = Area.of(groups[index]).shape
        return found

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
            plain = unrepeated(self.shapes)
            return AreaSet(buffered(plain, radii, join_style=join, mitre_limit=5.0))

    def within(self, other: AreaSet, mm: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs (index here, index there) no farther apart than mm."""
        here, there = other.tree.query(self.shapes, predicate="dwithin", distance=mm)
        return here, there

    def meeting(self, other: AreaSet) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs (index here, index there) that share a point."""
        here, there = other.tree.query(self.shapes, predicate="intersects")
        return here, there

    def held_by(self, others: AreaSet) -> set[int]:
        """Indices of those that lie wholly inside one of the others."""
        return set(others.tree.query(self.shapes, predicate="within")[0].tolist())

    def touching(self, area: Area) -> NDArray[np.bool_]:
        """Which of them share a point with the area."""
        shapely.prepare(area.shape)
        return np.asarray(shapely.intersects(area.shape, self.shapes))

    def inside(self, area: Area) -> NDArray[np.bool_]:
        """Which of them lie wholly in the area."""
        shapely.prepare(area.shape)
        return np.asarray(shapely.covers(area.shape, self.shapes))

    def near(self, box: Box) -> AreaSet:
        """Each one's part in and about a box: what a large shape has elsewhere is let go."""
        parts = shapely.clip_by_rect(self.shapes, *box.grown(_ABOUT_MM))
        sound = shapely.is_valid(parts)
        parts[~sound] = self.shapes[~sound]
        return AreaSet(parts)

    def common(self, area: Area) -> AreaSet:
        """Each one's part inside the area."""
        inside = self.inside(area)
        shapes = self.shapes.copy()
        shapes[~inside] = sure(shapely.intersection, self.shapes[~inside], area.shape)
        return AreaSet(shapes)

    def meet(self, other: AreaSet) -> AreaSet:
        """What each shares with the other of the same index."""
        return AreaSet(sure(shapely.intersection, self.shapes, other.shapes))

    def less(self, other: AreaSet) -> AreaSet:
        """What each has beyond the other of the same index."""
        return AreaSet(sure(shapely.difference, self.shapes, other.shapes))

    def without(
        self,
        others: AreaSet,
        pairs: tuple[NDArray[np.intp], NDArray[np.intp]] | None = None,
        *,
        grid_mm: float | None = None,
    ) -> AreaSet:
        """What each has beyond the others.

        pairs : (index here, index there), if not of all · grid_mm : corners come to lie on it
        """
        here, there = pairs or self.meeting(others)
        mine, covers = _joined_by(here, others.shapes[there])
        shapes = self.shapes.copy()
        shapes[mine] = sure(shapely.difference, shapes[mine], covers, grid_mm=grid_mm)
        return AreaSet(shapes)

    def spread(self, indices: Sequence[int], count: int) -> AreaSet:
        """So many areas, these at the indices and the others empty."""
        shapes = np.full(count, MultiPolygon(), dtype=object)
        shapes[np.asarray(indices, dtype=np.intp)] = self.shapes
        return AreaSet(shapes)

    def with_parts(
        self, owner: NDArray[np.intp], parts: AreaSet, *, grid_mm: float | None = None
    ) -> AreaSet:
        """Each area joined with the parts whose owner is its index; itself if there is no part.

        grid_mm : corners come to lie on it
        """
        if not len(owner):
            return self
        shapes = self.shapes.copy()
        order = np.argsort(owner, kind="stable")
        mine, more = _joined_by(owner[order], parts.shapes[order])
        shapes[mine] = sure(united, shapes[mine], more, grid_mm=grid_mm)
        return AreaSet(shapes)

    def set_apart(self, *, kept: AreaSet, least_mm2: float = 1e-6) -> AreaSet:
        """Overlaps removed: each area loses what an earlier one, or another's kept part, covers.

        kept : one area for each of them, inside it, that it never loses
        """
        shapes = self.shapes.copy()
        first, second = self.meeting(self)
        upper = first < second
        first, second = first[upper], second[upper]
        shared = shapely.area(sure(shapely.intersection, shapes[first], shapes[second]))
        for i, j in zip(first[shared > least_mm2], second[shared > least_mm2], strict=True):
            shapes[i] = sure(shapely.difference, shapes[i], kept.shapes[j])
            left = sure(shapely.difference, shapes[j], shapes[i])
            shapes[j] = sure(united, left, kept.shapes[j])
        return AreaSet(shapes)

    def without_later(self) -> AreaSet:
        """Each area without what later ones cover, as paint on paint; itself if none does."""
        here, there = self.meeting(self)
        if not (here < there).any():
            return self
        shapes = self.shapes.copy()
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
        near = buffered(other.shapes, _NEAR_MM, join_style="mitre")
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
        closed = buffered(buffered(shapes, half_mm), -half_mm)
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

    def edge_distances_mm(self, points: Sequence[Point]) -> NDArray[np.float64]:
        """How far the point of the same index lies from each one's nearest edge."""
        edges = shapely.boundary(self.shapes)
        places = shapely.points(np.asarray(points, dtype=np.float64).reshape(-1, 2))
        return np.asarray(shapely.distance(edges, places))

    def areas_mm2(self) -> NDArray[np.float64]:
        return np.asarray(shapely.area(self.shapes), dtype=np.float64)

    def wound(self, indices: NDArray[np.intp]) -> AreaSet:
        """Those at the indices with their outer rings wound as those of `Area.regions`."""
        shapes = self.shapes.copy()
        shapes[indices] = shapely.orient_polygons(shapes[indices])
        return AreaSet(shapes)

    def simplified(self, tolerance_mm: float) -> AreaSet:
        """Each with fewer corners, its outer rings wound as those of `Area.regions`."""
        plain = shapely.simplify(self.shapes, tolerance_mm, preserve_topology=True)
        return AreaSet(shapely.orient_polygons(plain))

    def large_parts(self, least_mm2: float) -> tuple[NDArray[np.intp], AreaSet]:
        """The connected parts larger than this, and which area each is of."""
        parts, owner = shapely.get_parts(self.shapes, return_index=True)
        large = (shapely.get_type_id(parts) == _POLYGON) & (shapely.area(parts) > least_mm2)
        return owner[large], AreaSet(parts[large])

    def joined(self) -> Area:
        """The union of all."""
        return Area(sure(shapely.union_all, self.shapes))

    def tiles_joined(self) -> Area:
        """The union of areas that tile: far faster for those that share their corners exactly."""
        loose = ~shapely.is_empty(shapely.coverage_invalid_edges(self.shapes))
        tiles = shapely.coverage_union_all(self.shapes[~loose])
        if not loose.any():
            return Area(tiles)
        return Area(sure(united, tiles, sure(shapely.union_all, self.shapes[loose])))

    def regions(self) -> tuple[Regions, ...]:
        """Each one's connected parts."""
        plain = (shapely.get_type_id(self.shapes) == 3) & (shapely.area(self.shapes) > 1e-9)
        simple = iter(regions_of(self.shapes[plain]))
        return tuple(
            (next(simple),) if easy else Area(shape).regions()
            for shape, easy in zip(self.shapes, plain.tolist(), strict=True)
        )


def _joined_by(owner: NDArray[np.intp], shapes: Any) -> tuple[NDArray[np.intp], Any]:
    """The owners, and the union of the shapes of each. owner : of each shape, rising"""
    owners, first, count = np.unique(owner, return_index=True, return_counts=True)
    joined = shapes[first]
    for i in np.flatnonzero(count > 1).tolist():
        joined[i] = sure(shapely.union_all, shapes[first[i] : first[i] + count[i]])
    return owners, joined
