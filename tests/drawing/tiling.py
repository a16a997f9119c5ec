"""How well panes and members tile a window, measured with shapely directly."""

from __future__ import annotations

import numpy as np
import shapely

from glasswork.model.geometry import Regions
from glasswork.model.window import Window


def shape(regions: Regions) -> shapely.Geometry:
    polygons = [
        shapely.polygons(
            shapely.linearrings(r.outer), list(map(shapely.linearrings, r.holes)) or None
        )
        for r in regions
    ]
    return polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)


def tiling_error(window: Window) -> float:
    """Share of the outline that is covered not at all, or twice.

    Also asserts that every pane and member is a valid polygon.
    """
    parts = [shape((pane.region,)) for pane in window.panes]
    parts += [shape(member.area) for member in window.members]
    array = np.array(parts, dtype=object)
    outline = shape((window.outline,))
    bad = [shapely.is_valid_reason(p) for p in array if not shapely.is_valid(p)]
    array = shapely.make_valid(array) if bad else array
    total = float(shapely.area(array).sum())
    union = shapely.union_all(array)
    twice = max(0.0, total - float(union.area))
    assert not bad, bad[:3]
    return (twice + _unlike(outline, union)) / float(outline.area)


def _unlike(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """Area that one of both covers alone; on a grid of 1e-9 mm where GEOS cannot do without."""
    try:
        return float(shapely.symmetric_difference(one, other).area)
    except shapely.GEOSException:
        return float(shapely.symmetric_difference(one, other, grid_size=1e-9).area)
