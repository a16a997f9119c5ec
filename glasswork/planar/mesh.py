"""One connected area cut into triangles, and put together again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from glasswork.model.geometry import Regions
from glasswork.planar.area import Area
from glasswork.planar.area_set import AreaSet
from glasswork.planar.engine import polygons_in


def triangles(area: Area) -> NDArray[np.float64]:
    """A Delaunay triangulation of one connected area: (triangles, 3 corners, 2), tiling it.

    Corners lie on the area's edge. Corners facing another ring get a partner on it, so that
    triangles run straight across; edges that a triangle would cross are divided.
    Source: conforming Delaunay by division of missing edges [shewchuk1997]
    """
    (shape,) = polygons_in(area.shape) if not area.is_empty else (None,)
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
