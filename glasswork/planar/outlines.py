"""The regions that groups of a mesh's triangles cover."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from glasswork.model.geometry import Point, Region, Regions, Ring, sound_region
from glasswork.planar.area import Area
from glasswork.planar.area_set import AreaSet
from glasswork.planar.mesh import Mesh, mesh_round


def outlines(mesh: Mesh, owner: NDArray[np.intp], count: int) -> list[Regions]:
    """What each owner's triangles cover; owners are 0 to count - 1, none may cover nothing."""
    rings, mine, pinched = _rims(mesh, owner)
    found: list[Regions] = [()] * count
    several: dict[int, list[Ring]] = {}
    alone = np.bincount(mine, minlength=count) == 1
    alone[pinched] = False
    for ring, index in zip(rings, mine.tolist(), strict=True):
        if alone[index]:
            found[index] = (sound_region(ring),)
        else:
            several.setdefault(index, []).append(ring)
    for index, parts in several.items():
        found[index] = _joined(mesh, owner == index, parts, pinched=index in pinched)
    return found


def outline_round(areas: AreaSet, widest_mm: float) -> Region | None:
    """The one ring round areas and the gaps between them up to this width; None if it is not one,
    or touches itself. Gaps at the rim may stay open a little way in, where few corners face.
    """
    mesh = mesh_round(areas, widest_mm)
    if mesh is None or not len(mesh.corners):
        return None
    rings, _, pinched = _rims(mesh, np.zeros(len(mesh.corners), dtype=np.intp))
    return Region(rings[0]) if len(rings) == 1 and not len(pinched) else None


def _rims(
    mesh: Mesh, owner: NDArray[np.intp]
) -> tuple[list[Ring], NDArray[np.intp], NDArray[np.intp]]:
    """The rings round each owner's triangles, whose each is, and the owners that touch themselves
    in a point.
    """
    beside = np.where(mesh.near >= 0, owner[mesh.near], -1)
    rim = np.flatnonzero((beside != owner[:, None]).ravel())
    triangle, corner = rim // 3, rim % 3
    starts = mesh.corners[triangle, (corner + 1) % 3]
    stops = mesh.corners[triangle, (corner + 2) % 3]
    mine = owner[triangle]
    base = mine.astype(np.int64) * len(mesh.points)
    order = np.argsort(base + starts)
    names = (base + starts)[order]
    onward = order[np.searchsorted(names, base + stops)]
    pinched = np.unique(mine[order[1:][names[1:] == names[:-1]]])
    rings, first = _followed(onward.tolist(), mesh.points[starts])
    return rings, mine[first], pinched


def _followed(onward: Sequence[int], places: NDArray[np.float64]) -> tuple[list[Ring], list[int]]:
    """The rings that steps from rim to rim close, and the number of a step of each."""
    points: list[Point] = list(map(tuple, places.tolist()))
    seen = bytearray(len(onward))
    rings, first = [], []
    for begin in range(len(onward)):
        if seen[begin]:
            continue
        ring = []
        at = begin
        while not seen[at]:
            seen[at] = 1
            ring.append(points[at])
            at = onward[at]
        rings.append(tuple(ring))
        first.append(begin)
    return rings, first


def _joined(
    mesh: Mesh, chosen: NDArray[np.bool_], rings: Sequence[Ring], *, pinched: bool
) -> Regions:
    """The regions of triangles with several rings: one edge with holes, or whatever they make."""
    sizes = [_doubled(ring) for ring in rings]
    outer = [ring for ring, size in zip(rings, sizes, strict=True) if size > 0.0]
    if len(outer) == 1 and not pinched:
        holes = tuple(ring for ring in rings if ring is not outer[0])
        return (sound_region(outer[0], holes),)
    shapes = shapely.polygons(mesh.points[mesh.corners[chosen]])
    return Area(shapely.union_all(shapes)).regions()


def _doubled(ring: Ring) -> float:
    """Twice the signed area of a ring."""
    corners = np.asarray(ring)
    after = np.roll(corners, -1, axis=0)
    return float((corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]).sum())
