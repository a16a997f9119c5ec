"""Narrow places: between the rings of a shape, and slits that run into it from its edge."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.geometry import Point, Ring
from glasswork.planar.area_set import AreaSet
from glasswork.planar.engine import buffered, merged, unrepeated


class Gap(Struct, frozen=True, kw_only=True):
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


class Slit(Struct, frozen=True):
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
    left = shapely.difference(closed.shapes, unrepeated(areas.shapes))
    parts, owner = shapely.get_parts(left, return_index=True)
    around, size = shapely.length(parts) / 2.0, shapely.area(parts)
    wide = (around - np.sqrt(np.maximum(around**2 - 4.0 * size, 0.0))) / 2.0
    long = around - wide
    found = []
    for index in np.flatnonzero((size > 0.02 * widest_mm**2) & (long >= 1.5 * wide)).tolist():
        rim = buffered(shapely.boundary(areas.shapes[owner[index]]), 0.01 * widest_mm)
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
        lines[wound[:, 0]], buffered(lines[wound[:, 1]], below_mm, quad_segs=4)
    )
    joined = np.array([merged(line) for line in near], dtype=object)
    pieces, owner = shapely.get_parts(joined, return_index=True)
    first = np.concatenate([lines[plain[:, 0]], pieces])
    second = np.concatenate([lines[plain[:, 1]], lines[wound[owner, 1]]])
    return first, second
