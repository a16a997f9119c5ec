"""Where an outline is open: loose ends of lines and how far they are from closing."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from glasswork.model.geometry import Point, path_length_mm
from glasswork.model.window import LineArt


def widest_opening(art: LineArt) -> tuple[str, str]:
    """Place (to follow the file's name) and fault of a drawing that encloses nothing."""
    lines = [
        (points, closed)
        for mark in art.marks
        for points, closed in mark.paths
        if len(points) > 1 and mark.stroke is not None
    ]
    if not lines:
        return "", "the drawing encloses no pane: it has no leads"
    ends = [point for points, closed in lines if not closed for point in (points[0], points[-1])]
    if not ends:
        return "", "the drawing encloses no pane: its lines leave no glass between them"
    longest = max(
        (points for points, closed in lines if not closed), key=lambda p: path_length_mm(p)
    )
    start = longest[0]
    near = _nearest(start, [end for end in ends if end is not start])
    gap = hypot(start[0] - near[0], start[1] - near[1])
    return (
        f", ({start[0]:.2f}, {start[1]:.2f}) mm",
        f"the outline is open: a gap of {gap:.2f} mm to ({near[0]:.2f}, {near[1]:.2f}) mm",
    )


def _nearest(place: Point, others: Sequence[Point]) -> Point:
    return min(others, key=lambda p: hypot(p[0] - place[0], p[1] - place[1]))
