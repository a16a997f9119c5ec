"""Where an outline is open: loose ends of lines and how far they are from closing."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from glasswork.errors import DrawingError
from glasswork.model.geometry import Point, path_length_mm
from glasswork.model.window import LineArt

HINT = "close the outline: its line must meet itself"


def no_pane(art: LineArt) -> DrawingError:
    """Why a drawing encloses nothing: where its longest line ends, and how far from closing."""
    lines = [
        (points, closed)
        for mark in art.marks
        for points, closed in mark.paths
        if len(points) > 1 and mark.stroke is not None
    ]
    if not lines:
        return DrawingError(
            art.name, "the drawing encloses no pane: it has no leads", "draw the leads as strokes"
        )
    open_lines = [points for points, closed in lines if not closed]
    if not open_lines:
        return DrawingError(
            art.name, "the leads leave no glass between them", "draw them thinner, or larger"
        )
    longest = max(open_lines, key=lambda points: path_length_mm(points))
    ends = [end for points in open_lines for end in (points[0], points[-1])]
    return open_outline(art.name, longest[0], [end for end in ends if end is not longest[0]])


def open_outline(name: str, end: Point, others: Sequence[Point]) -> DrawingError:
    """An outline that stops at a place, and the nearest other end."""
    near = min(others, key=lambda p: hypot(p[0] - end[0], p[1] - end[1]))
    gap = hypot(end[0] - near[0], end[1] - near[1])
    return DrawingError(
        f"{name}, ({end[0]:.2f}, {end[1]:.2f}) mm",
        f"the outline is open: a gap of {gap:.2f} mm to ({near[0]:.2f}, {near[1]:.2f}) mm",
        HINT,
    )
