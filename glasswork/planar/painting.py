"""What is painted: fills by their rule, what pens cover, and what stays in sight of it all."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry import Point as ShapelyPoint

from glasswork.model.geometry import Point, Ring
from glasswork.planar.area import Area
from glasswork.planar.area_set import AreaSet
from glasswork.planar.engine import QUARTER_SEGMENTS, Cap, Join, buffered, sure


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
    spots = shapely.get_point(shapely.get_exterior_ring(polygons), 0)
    outer, inner = shapely.STRtree(spots).query(polygons, predicate="intersects")
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


class Pen(Struct, frozen=True, kw_only=True):
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
            shapes[index] = ShapelyPoint(points[0])
    kinds: dict[tuple[Cap, Join, float], list[int]] = {}
    for index, pen in enumerate(pens):
        kinds.setdefault((pen.cap, pen.join, pen.mitre_limit), []).append(index)
    for (cap, join, limit), chosen in kinds.items():
        plain = shapes[chosen]
        half = np.array([pens[index].width_mm / 2.0 for index in chosen])
        look = {"quad_segs": QUARTER_SEGMENTS, "cap_style": cap, "mitre_limit": max(1.0, limit)}
        shapes[chosen] = buffered(plain, half, join_style=join, **look)
        sharp = _over_limit(plain, max(1.0, limit)) if join == "mitre" else {}
        for at, corners in sharp.items():
            whole = buffered(plain[at], half[at], join_style="bevel", **look)
            pieces = buffered(
                np.array(_parted(plain[at], corners), dtype=object),
                half[at],
                join_style=join,
                **look | {"cap_style": "flat"},
            )
            shapes[chosen[at]] = sure(shapely.union_all, np.array([whole, *pieces], dtype=object))
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
            shapes[index] = _without(shapes[index], painted.shapes[mine])
    return Area(shapes[0] if len(shapes) == 1 else shapely.union_all(shapes))


def _without(shape: Any, covers: Any) -> Any:
    """A shape without what covers it: as holes where the covers lie apart from each other and from
    its edge, which needs no overlay.
    """
    plain = shape.geom_type == "Polygon" and (shapely.get_type_id(covers) == 3).all()
    if plain and not shapely.get_num_interior_rings(covers).any() and not _cross(covers):
        shapely.prepare(shape)
        if shapely.contains_properly(shape, covers).all() and not _one_in_another(covers):
            rings = shapely.get_exterior_ring(covers)
            return Polygon(shape.exterior, [*shape.interiors, *rings])
    return shapely.difference(shape, shapely.union_all(covers))


def _one_in_another(polygons: Any) -> bool:
    """Some of them, whose edges do not meet, lies inside another."""
    outer, inner = shapely.STRtree(polygons).query(
        shapely.get_point(shapely.get_exterior_ring(polygons), 0), predicate="intersects"
    )
    return bool((outer != inner).any())
