"""What every part of the adapter asks of shapely: safe overlays, and polygons out of regions."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from glasswork.model.geometry import Point, Region, corners_of, sound_region

Join = Literal["round", "mitre", "bevel"]
Cap = Literal["flat", "round", "square"]

_REPEATED_MM = 1e-5
"""Corners nearer to each other are one: growing would cut off a mitre between them."""
QUARTER_SEGMENTS = 16
"""Chords per quarter circle of a round offset: 0.5 % of the radius at most is lost."""


def unrepeated(shapes: Any) -> Any:
    """Shapes without corners that are told twice; a ring too small to keep three stays as it is."""
    try:
        return shapely.remove_repeated_points(shapes, _REPEATED_MM)
    except shapely.GEOSException:
        if not isinstance(shapes, np.ndarray):
            return shapes
        return np.array([unrepeated(shape) for shape in shapes], dtype=object)


def polygons_in(geometry: Any) -> list[Polygon]:
    if geometry.is_empty:
        return []
    parts = shapely.get_parts(geometry)
    return [part for part in parts if part.geom_type == "Polygon" and part.area > 1e-9] + [
        inner
        for part in parts
        if part.geom_type in ("MultiPolygon", "GeometryCollection")
        for inner in polygons_in(part)
    ]


def regions_of(polygons: Any) -> list[Region]:
    """The region that each of many polygons is, its corners as they are."""
    rings, owner = shapely.get_rings(polygons, return_index=True)
    stops = np.cumsum(shapely.get_num_coordinates(rings)).tolist()
    points: list[Point] = list(map(tuple, shapely.get_coordinates(rings).tolist()))
    made = [tuple(points[begin : stop - 1]) for begin, stop in pairwise([0, *stops])]
    if len(made) == len(polygons):
        return [sound_region(ring) for ring in made]
    cuts = [0, *np.cumsum(np.bincount(owner)).tolist()]
    return [sound_region(made[a], tuple(made[a + 1 : b])) for a, b in pairwise(cuts)]


_MEND_GRID_MM = 1e-6
_SAME_GRID_MM, _SAME_AREA_MM2 = 1e-9, 1e-6
_COLLECTION = 7


def sure(operation: Any, *shapes: Any, grid_mm: float | None = None) -> Any:
    """An overlay of shapes; where the engine balks at their rounding, mended and on a fine grid.

    Of many pairs only those that it balks at.
    """
    try:
        return operation(*shapes, grid_size=grid_mm)
    except shapely.GEOSException:
        if len(shapes) == 2 and isinstance(shapes[0], np.ndarray):
            pairs = zip(*np.broadcast_arrays(*shapes), strict=True)
            return np.array(
                [sure(operation, *pair, grid_mm=grid_mm) for pair in pairs], dtype=object
            )
        return operation(*map(mended, shapes), grid_size=_MEND_GRID_MM)


def mended(shape: Any) -> Any:
    """Valid polygons alone, without the lines and points that an overlay may leave."""
    valid = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    if isinstance(valid, np.ndarray):
        mixed = np.flatnonzero(shapely.get_type_id(valid) == _COLLECTION)
        valid[mixed] = [MultiPolygon(polygons_in(valid[i])) for i in mixed]
        return valid
    return MultiPolygon(polygons_in(valid)) if valid.geom_type == "GeometryCollection" else valid


def buffered(shapes: Any, radii: Any, **look: Any) -> Any:
    """shapely.buffer without numpy's word on divisions that the engine itself handles."""
    with np.errstate(all="ignore"):
        return shapely.buffer(shapes, radii, **look)


def united(one: Any, other: Any, grid_size: float | None = None) -> Any:
    """The union of two shapes, or of each two of many; the engine's own union of two now and then
    gives a ring that crosses itself."""
    return shapely.union_all(np.stack([one, other], axis=-1), axis=-1, grid_size=grid_size)


def overlay(operation: Any, one: Any, other: Any) -> Any:
    """An overlay of two shapes; on a fine grid where they are all but the same shape.

    The engine takes two copies of a shape that differ in the last digit to be disjoint.
    """
    near = np.abs(np.subtract(one.bounds, other.bounds)).max(initial=0.0) < _SAME_GRID_MM
    if near and abs(one.area - other.area) < _SAME_AREA_MM2:
        return operation(mended(one), mended(other), grid_size=_SAME_GRID_MM)
    return sure(operation, one, other)


def polygon_array(regions: Sequence[Region]) -> Any:
    """One shapely polygon a region, made in one go."""
    if not regions:
        return np.empty(0, dtype=object)
    rings = [ring for region in regions for ring in region.rings]
    counts = np.fromiter(map(len, rings), dtype=np.intp, count=len(rings))
    holes = np.fromiter((len(r.holes) for r in regions), dtype=np.intp, count=len(regions))
    return polygons_of(corners_of(rings), counts, holes + 1)


def polygons_of(
    points: NDArray[np.float64], corners: NDArray[np.intp], rings: NDArray[np.intp]
) -> Any:
    """Polygons out of the corners of all their rings, one after the other.

    points : (n, 2), no ring's first corner told again · corners : of each ring · rings : of each
    polygon, the outer one first
    """
    stops = np.cumsum(corners)
    closed = np.insert(np.arange(len(points)), stops, stops - corners)
    ends = np.concatenate([[0], stops + np.arange(1, len(corners) + 1)])
    first = np.concatenate([[0], np.cumsum(rings)])
    kind = shapely.GeometryType.POLYGON
    return shapely.from_ragged_array(kind, points[closed], (ends, first))


def merged(line: Any) -> Any:
    """Lines that meet end to end made one."""
    return shapely.line_merge(line) if line.geom_type == "MultiLineString" else line
