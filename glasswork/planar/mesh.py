"""One connected area cut into triangles, and put together again from them."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.planar.area import Area
from glasswork.planar.area_set import AreaSet
from glasswork.planar.engine import polygons_in
from glasswork.planar.recut import Recut


class Mesh(Struct, frozen=True, kw_only=True):
    """Triangles that tile one connected area, their corners all on its edge.

    points : (v, 2), mm, no place told twice
    corners : (n, 3) numbers of points, all triangles turning the same way round
    near : (n, 3) the triangle across the side opposite each corner; -1 beyond the area's edge
    """

    points: NDArray[np.float64]
    corners: NDArray[np.intp]
    near: NDArray[np.intp]


def mesh_of(area: Area) -> Mesh | None:
    """A constrained Delaunay triangulation of one connected area; None if it is empty.

    Corners facing another ring get a partner on it, so that triangles run straight across.
    Shapely's own is kept for what does not come out: of the leads of 400 panes it takes twice
    as long, of 3000 panes 5 to 7 times [tests/bench/test_mesh.py].
    Source: Delaunay triangles, missing edges put in one by one [anglada1997]
    """
    parts = polygons_in(area.shape)
    if not parts:
        return None
    (shape,) = shapely.orient_polygons(parts)
    rings = _partnered(_Rings.of(shape), 2.0 * shape.area / shape.length)
    points, corners, edges = _triangulated(rings)
    mesh = _inside(points, corners, edges)
    if mesh is not None:
        total = float(_doubled(points, mesh.corners).sum()) / 2.0
        if abs(total - shape.area) < 1e-9 * shape.area:
            return mesh
    found = shapely.get_coordinates(shapely.constrained_delaunay_triangles(shape))
    found = found.reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    points, corners = np.unique(found, axis=0, return_inverse=True)
    corners = _turned(points, corners.reshape(-1, 3))
    return Mesh(points=points, corners=corners, near=_sides(corners, len(points)).near)


def mesh_round(areas: AreaSet, widest_mm: float) -> Mesh | None:
    """Areas and the gaps between them, as triangles: all that has no way in from outside.

    areas : simple ones that do not overlap; their holes count as filled
    widest_mm : a way leads through every side of a triangle that is longer, and along no area
    Returns: None, if some edge of an area does not come out
    Source: alpha shapes, told by sides alone [edelsbrunner1983]
    """
    shapes = shapely.orient_polygons(shapely.polygons(shapely.get_exterior_ring(areas.shapes)))
    rings = shapely.get_exterior_ring(shapes)
    at, owner = shapely.get_coordinates(rings, return_index=True)
    last = np.append(owner[1:] != owner[:-1], True)
    points, corners, edges = _triangulated(_Rings.made(at[~last], owner[~last]))
    size = len(points)
    sides = _sides(corners, size)
    found, there = _placed(sides, edges, size)
    if not there.all():
        return None
    way = points[corners[:, [1, 2, 0]]] - points[corners[:, [2, 0, 1]]]
    open_ = np.hypot(way[..., 0], way[..., 1]) > widest_mm
    for place in _both(sides, found):
        open_.ravel()[sides.order[place]] = False
    left = np.ones(len(corners), dtype=np.bool_)
    entered = np.flatnonzero((open_ & (sides.near < 0)).any(axis=1))
    while len(entered):
        left[entered] = False
        onward = np.unique(sides.near[entered][open_[entered]])
        onward = onward[onward >= 0]
        entered = onward[left[onward]]
    return _chosen(points, corners, sides.near, left)


def _triangulated(
    rings: _Rings,
) -> tuple[NDArray[np.float64], NDArray[np.intp], NDArray[np.intp]]:
    """Points, triangles that all turn the same way, and the rings' edges, sides of them."""
    names, first, number = np.unique(_complex(rings.points), return_index=True, return_inverse=True)
    points = rings.points[first]
    edges = np.stack([number, number[rings.after]], axis=1)
    found = shapely.get_coordinates(shapely.delaunay_triangles(shapely.linestrings(points)))
    found = found.reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    corners = np.searchsorted(names, _complex(found)).reshape(-1, 3)
    return points, _with_edges(points, _turned(points, corners), edges), edges


_BORDER_REACH = 1.5
_MOST_NEAR = 60.0
"""Edges near a corner that are looked at for its partner, about; more, and it looks less far."""


def _complex(points: NDArray[np.float64]) -> NDArray[np.complex128]:
    return np.ascontiguousarray(points).view(np.complex128).ravel()


class _Rings(Struct, frozen=True):
    """Corners of rings one after the other: their ring, and the numbers of their neighbours."""

    points: NDArray[np.float64]
    owner: NDArray[np.intp]
    after: NDArray[np.intp]
    before: NDArray[np.intp]

    @classmethod
    def of(cls, polygon: Any) -> _Rings:
        counts = shapely.get_num_coordinates(shapely.get_rings(polygon))
        last = np.zeros(int(counts.sum()), dtype=np.bool_)
        last[np.cumsum(counts) - 1] = True
        owner = np.repeat(np.arange(len(counts)), counts - 1)
        return cls.made(shapely.get_coordinates(polygon)[~last], owner)

    @classmethod
    def made(cls, points: NDArray[np.float64], owner: NDArray[np.intp]) -> _Rings:
        counts = np.bincount(owner)
        stop = np.cumsum(counts)
        after, before = np.arange(1, len(points) + 1), np.arange(-1, len(points) - 1)
        after[stop - 1], before[stop - counts] = stop - counts, stop - 1
        return cls(points, owner, after, before)


def _partnered(rings: _Rings, typical_mm: float) -> _Rings:
    """The rings with a point opposite each corner of another ring that lies across a lead."""
    points, owner = rings.points, rings.owner
    way = points[rings.after] - points
    one = way[rings.before]
    turn = np.arctan2(one[:, 0] * way[:, 1] - one[:, 1] * way[:, 0], _along(one, way))
    corners = np.flatnonzero(np.abs(turn) > 0.4)
    near, far = _edges_near(rings, corners, 5.0 * typical_mm), _edges_across(rings, corners)
    at, edge = (np.concatenate(pair) for pair in zip(near, far, strict=True))
    other = owner[edge] != owner[corners[at]]
    at, edge = at[other], edge[other]
    length2 = _along(way, way)
    off = points[corners[at]] - points[edge]
    share = _along(off, way[edge]) / length2[edge]
    off = off - np.clip(share, 0.0, 1.0)[:, None] * way[edge]
    apart = np.hypot(off[:, 0], off[:, 1])
    nearest = np.full(len(corners), np.inf)
    np.minimum.at(nearest, at, apart)
    close = (apart <= 2.0 * nearest[at]) | (owner[edge] == 0)
    at, edge, share, apart = at[close], edge[close], share[close], apart[close]
    order = np.lexsort((apart, at * (owner[-1] + 1) + owner[edge]))
    at, edge, share, apart = at[order], edge[order], share[order], apart[order]
    ring = owner[edge]
    first = np.append(True, (at[1:] != at[:-1]) | (ring[1:] != ring[:-1]))[: len(at)]
    margin = 0.3 * apart / np.sqrt(length2[edge])
    first &= (share > margin) & (share < 1.0 - margin) & (apart > 0.0)
    edge, share = edge[first], share[first]
    order = np.lexsort((share, edge))
    edge, share = edge[order], share[order]
    fresh = np.append(True, (edge[1:] != edge[:-1]) | (np.diff(share) > 1e-6))[: len(edge)]
    edge, share = edge[fresh], share[fresh]
    added = points[edge] + share[:, None] * way[edge]
    return _Rings.made(
        np.insert(points, edge + 1, added, axis=0), np.insert(owner, edge + 1, owner[edge])
    )


def _along(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """Scalar products, (n,), of ways (n, 2)."""
    return np.asarray(one[:, 0] * other[:, 0] + one[:, 1] * other[:, 1])


def _edges_near(
    rings: _Rings, corners: NDArray[np.intp], reach: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs (corner, edge) whose boxes lie within reach, or within less where edges crowd."""
    points = rings.points
    tree = shapely.STRtree(shapely.linestrings(np.stack([points, points[rings.after]], axis=1)))
    places = points[corners]

    def found(spots: NDArray[np.float64], off: float) -> Any:
        return tree.query(shapely.box(*(spots - off).T, *(spots + off).T))

    sample = places[:: max(1, len(places) // 100)]
    many = found(sample, reach).shape[1] / max(1, len(sample))
    reach *= min(1.0, _MOST_NEAR / max(1.0, many))
    at, edge = found(places, reach)
    return at, edge


def _edges_across(
    rings: _Rings, corners: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs (corner, edge of the outline) about as far apart as the border is wide, however much
    wider it is than most of the area.
    """
    edges, inner = np.flatnonzero(rings.owner == 0), np.flatnonzero(rings.owner[corners] > 0)
    if not len(inner):
        return np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)
    ends = np.stack([rings.points[edges], rings.points[rings.after[edges]]], axis=1)
    outline = shapely.linestrings(ends)
    places = shapely.points(rings.points[corners[inner]])
    # asked from the edges: most corners are far from all of them, and far is slow to look for
    _, apart = shapely.STRtree(places).query_nearest(
        outline, return_distance=True, all_matches=False
    )
    at, edge = shapely.STRtree(outline).query(
        places, predicate="dwithin", distance=_BORDER_REACH * apart.min()
    )
    return inner[at], edges[edge]


class _Sides(Struct, frozen=True):
    """Sides of triangles: names told alike from both, sorted; whose side each is (3·triangle +
    corner opposite); the triangle across each.
    """

    names: NDArray[np.int64]
    order: NDArray[np.intp]
    near: NDArray[np.intp]


def _sides(corners: NDArray[np.intp], size: int) -> _Sides:
    one, two = corners[:, [1, 2, 0]].ravel(), corners[:, [2, 0, 1]].ravel()
    names = np.minimum(one, two).astype(np.int64) * size + np.maximum(one, two)
    order = np.argsort(names)
    names = names[order]
    same = np.flatnonzero(names[1:] == names[:-1])
    near = np.full(len(names), -1, dtype=np.intp)
    near[order[same]] = order[same + 1] // 3
    near[order[same + 1]] = order[same] // 3
    return _Sides(names, order, near.reshape(-1, 3))


def _placed(sides: _Sides, edges: NDArray[np.intp], size: int) -> tuple[Any, NDArray[np.bool_]]:
    """Where each edge stands among the sides, and whether it is one."""
    wanted = edges.min(axis=1).astype(np.int64) * size + edges.max(axis=1)
    at = np.minimum(np.searchsorted(sides.names, wanted), len(sides.names) - 1)
    return at, sides.names[at] == wanted


def _doubled(points: NDArray[np.float64], corners: NDArray[np.intp]) -> NDArray[np.float64]:
    """Twice the signed area of each triangle."""
    start = points[corners[:, 0]]
    one, two = points[corners[:, 1]] - start, points[corners[:, 2]] - start
    return np.asarray(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])


def _turned(points: NDArray[np.float64], corners: NDArray[np.intp]) -> NDArray[np.intp]:
    """The triangles, all turning the same way."""
    back = _doubled(points, corners) < 0.0
    corners[back] = corners[back][:, ::-1]
    return corners


def _with_edges(
    points: NDArray[np.float64], corners: NDArray[np.intp], edges: NDArray[np.intp]
) -> NDArray[np.intp]:
    """The triangles changed so that the edges are sides of them."""
    size = len(points)
    sides = _sides(corners, size)
    there = _placed(sides, edges, size)[1]
    if there.all():
        return corners
    cut = Recut(points, corners, sides.near, edges[~there, 0])
    for start, stop in edges[~there].tolist():
        cut.put(start, stop)
    return cut.corners()


def _inside(
    points: NDArray[np.float64], corners: NDArray[np.intp], edges: NDArray[np.intp]
) -> Mesh | None:
    """The triangles on the inner side of the edges; None if some edge is no side.

    Those along an edge tell by its direction, the others by what lies beside them.
    """
    size = len(points)
    sides = _sides(corners, size)
    at, there = _placed(sides, edges, size)
    if not there.all():
        return None
    state = np.full(len(corners), -1, dtype=np.int8)
    for place in _both(sides, at):
        side = sides.order[place]
        begins = corners[side // 3, (side % 3 + 1) % 3]
        state[side // 3] = begins == edges[:, 0]
    while len(unknown := np.flatnonzero(state < 0)):
        beside = sides.near[unknown]
        told = np.where(beside >= 0, state[beside], 0).max(axis=1)
        if (told < 0).all():
            return None
        state[unknown] = told
    return _chosen(points, corners, sides.near, state == 1)


def _both(sides: _Sides, at: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Where the sides of the same name stand; the same place twice where there is one alone."""
    more = np.minimum(at + 1, len(sides.names) - 1)
    return at, np.where(sides.names[more] == sides.names[at], more, at)


def _chosen(
    points: NDArray[np.float64],
    corners: NDArray[np.intp],
    near: NDArray[np.intp],
    which: NDArray[np.bool_],
) -> Mesh:
    """Some of the triangles."""
    renamed = np.full(len(corners) + 1, -1, dtype=np.intp)
    renamed[:-1][which] = np.arange(int(which.sum()))
    return Mesh(points=points, corners=corners[which], near=renamed[near[which]])
