"""Places against areas and lines, and line work: where points lie, and what segments enclose."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from glasswork.model.geometry import Point, Region, Regions, Ring, sound_region
from glasswork.planar.area import Area
from glasswork.planar.area_set import AreaSet
from glasswork.planar.engine import polygon_array, polygons_of


def sound_regions(regions: Sequence[Region]) -> NDArray[np.bool_]:
    """For each region as it is: rings cross nowhere, holes lie inside and apart."""
    return np.asarray(shapely.is_valid(polygon_array(regions)), dtype=np.bool_)


def sound_rings(points: NDArray[np.float64], owner: NDArray[np.intp]) -> bool:
    """Whether rings cross nowhere and all but the first lie inside it and apart from each other;
    owner: 0, 0, …, 1, 1, …
    """
    rings = shapely.linearrings(points, indices=owner)
    boxes = shapely.bounds(rings[1:])
    middle = np.median(boxes[:, 0]) if len(boxes) else 0.0
    # rings that are in no half together lie on either side of the middle
    halves = (boxes[:, 0] <= middle, boxes[:, 2] >= middle)
    with ThreadPoolExecutor(2) as pool:
        return all(
            pool.map(
                lambda half: shapely.is_valid(shapely.polygons(rings[0], holes=rings[1:][half])),
                halves,
            )
        )


def near_edge(places: Sequence[Point], edge: Ring) -> NDArray[np.float64]:
    """How far each place lies from a closed line."""
    corners = np.asarray(edge)
    sides = shapely.linestrings(np.stack([corners, np.roll(corners, -1, axis=0)], axis=1))
    points = shapely.points(np.asarray(places).reshape(-1, 2))
    _, apart = shapely.STRtree(sides).query_nearest(points, return_distance=True, all_matches=False)
    return np.asarray(apart)


def last_holding(places: Sequence[Point], areas: AreaSet) -> tuple[int, ...]:
    """For each place the last of the areas that holds it; -1 where none does."""
    found = np.full(len(places), -1, dtype=np.intp)
    if len(areas) and len(places):
        points = shapely.points(np.asarray(places, dtype=np.float64))
        which, at = shapely.STRtree(points).query(areas.shapes, predicate="intersects")
        np.maximum.at(found, at, which)
    return tuple(found.tolist())


def inner_points(regions: Sequence[Region]) -> tuple[Point, ...]:
    """A point well inside each region: its centroid if that lies deep in it, else the middle of
    its inscribed circle, nearly.
    """
    shapes = polygon_array(regions)
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


def noded(segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """Straight segments divided where they cross or touch, each place drawn once.

    segments : (n, 2 ends, 2); returned in the same form
    """
    whole = shapely.union_all(shapely.linestrings(segments))
    corners = shapely.get_coordinates(whole)
    if len(corners) == 2 * shapely.get_num_geometries(whole):
        return np.asarray(corners).reshape(-1, 2, 2)
    parts = shapely.get_parts(whole)
    points, owner = shapely.get_coordinates(parts, return_index=True)
    inner = owner[1:] == owner[:-1]
    return np.stack([points[:-1][inner], points[1:][inner]], axis=1)


def lines_at(
    places: NDArray[np.float64], segments: NDArray[np.float64], *, reach_mm: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs (place, segment) no farther apart than the reach. (n, 2) and (m, 2 ends, 2)."""
    tree = shapely.STRtree(shapely.linestrings(segments))
    at, which = tree.query(shapely.box(*(places - reach_mm).T, *(places + reach_mm).T))
    start, way = segments[which, 0], segments[which, 1] - segments[which, 0]
    off = places[at] - start
    size = (way**2).sum(axis=1)
    share = np.clip((off * way).sum(axis=1) / np.where(size > 0.0, size, 1.0), 0.0, 1.0)
    near = np.hypot(*(off - share[:, None] * way).T) <= reach_mm
    return at[near], which[near]


def polygon_set(points: NDArray[np.float64], owner: NDArray[np.intp]) -> AreaSet:
    """One polygon without holes from each run of corners; owner: 0, 0, …, 1, 1, …"""
    corners = np.bincount(owner)
    return AreaSet(polygons_of(points, corners, np.ones(len(corners), dtype=np.intp)))


def valid(areas: AreaSet) -> NDArray[np.bool_]:
    """Which of the areas have rings that cross nowhere."""
    return np.asarray(shapely.is_valid(areas.shapes))


def depths(
    places: NDArray[np.float64], areas: AreaSet, *, reach_mm: float
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Pairs (place, area) within reach, and how deep the place lies inside (negative: outside)."""
    at, which = areas.tree.query(shapely.box(*(places - reach_mm).T, *(places + reach_mm).T))
    points = shapely.points(places)[at]
    outside = shapely.distance(points, areas.shapes[which])
    near = outside <= reach_mm
    at, which, points, outside = at[near], which[near], points[near], outside[near]
    off = shapely.distance(points, shapely.boundary(areas.shapes)[which])
    return at, which, np.where(outside > 0.0, -off, off)


def regions_of_rings(points: NDArray[np.float64], owner: NDArray[np.intp]) -> Regions:
    """A region without holes from each run of corners; owner: 0, 0, …, 1, 1, …"""
    if not len(points):
        return ()
    cuts = [0, *(np.flatnonzero(owner[1:] != owner[:-1]) + 1).tolist(), len(points)]
    corners = list(map(tuple, points.tolist()))
    return tuple([sound_region(tuple(corners[a:b])) for a, b in pairwise(cuts)])


def nearest_mm(areas: AreaSet) -> list[float]:
    """How far each area lies from the nearest other one; at least two areas."""
    found = np.full(len(areas), np.inf)
    # those that meet are known soon; to measure between outlines takes much longer
    one, other = areas.tree.query(areas.shapes, predicate="intersects")
    found[one[one != other]] = 0.0
    boxes = shapely.bounds(areas.shapes)
    sizes = np.hypot(*(boxes[:, 2:] - boxes[:, :2]).T)
    reach = max(0.1 * float(np.median(sizes)), 1e-9)
    most = 4.0 * float(np.hypot(*(boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0))))
    left = np.flatnonzero(found > 0.0)
    while len(left) and reach <= most:
        wider = boxes[left] + reach * np.array([-1.0, -1.0, 1.0, 1.0])
        at, there = areas.tree.query(shapely.box(*wider.T))
        here = left[at]
        wanted = here < there if len(left) == len(areas) else here != there
        here, there = here[wanted], there[wanted]
        apart = shapely.distance(areas.shapes[here], areas.shapes[there])
        np.minimum.at(found, here, apart)
        np.minimum.at(found, there, apart)
        left = left[found[left] > reach]
        reach *= 4.0
    return [float(value) for value in found]


def outside_mm(places: NDArray[np.float64], area: Area) -> NDArray[np.float64]:
    """How far each place lies outside an area; 0 within."""
    shapely.prepare(area.shape)
    return np.asarray(shapely.distance(area.shape, shapely.points(places)))
