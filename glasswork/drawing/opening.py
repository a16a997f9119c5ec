"""The outline of an opening, out of a drawing of it."""

from __future__ import annotations

from glasswork.errors import DrawingError
from glasswork.model.geometry import Region, ring_area_mm2
from glasswork.model.window import LineArt
from glasswork.planar import Area, sound_regions

LEAST_MM2 = 1.0


def opening_region(art: LineArt) -> Region:
    """The largest closed outline of a drawing: an area's edge, or the middle of a closed line.

    Raises: DrawingError, if the drawing tells no size, or holds no closed outline, or it crosses
    itself
    """
    if not art.sized:
        raise DrawingError(
            art.name,
            "the drawing of the opening tells no size",
            "write its width and height in mm into the file",
        )
    rings = [region.outer for mark in art.marks for region in mark.area]
    rings += [
        points
        for mark in art.marks
        if mark.stroke is not None
        for points, closed in mark.paths
        if len(points) > 3 and (closed or points[0] == points[-1])
    ]
    largest = max(rings, key=lambda ring: abs(ring_area_mm2(ring)), default=())
    if not largest or abs(ring_area_mm2(largest)) < LEAST_MM2:
        raise DrawingError(
            art.name,
            "the drawing of the opening holds no closed outline",
            "draw the opening's edge as one closed path",
        )
    region = Region(largest[:-1] if largest[0] == largest[-1] else largest)
    if not sound_regions((region,)).all():
        raise DrawingError(
            art.name, "the opening's outline crosses itself", "draw it without crossings"
        )
    return Area.of((region,)).regions()[0]
