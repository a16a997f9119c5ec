"""Why a drawing encloses nothing: loose ends of lines, how far they are from closing, and more."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from glasswork.drawing.inks import dark_fill
from glasswork.errors import DrawingError
from glasswork.model.geometry import Point, path_length_mm
from glasswork.model.window import LineArt

HINT = "close the outline: its line must meet itself"


def no_pane(art: LineArt) -> DrawingError:
    """Why a drawing encloses nothing: where its longest line ends, how far from closing, or else
    what hides or breaks its lines.
    """
    lines = [
        (points, closed, bool(mark.dashes_mm))
        for mark in art.marks
        for points, closed in mark.paths
        if len(points) > 1 and mark.stroke is not None
    ]
    open_lines = [points for points, closed, dashed in lines if not closed and not dashed]
    if not open_lines:
        dashed = any(dashed for _, _, dashed in lines)
        what, hint = _without_ends(art, dashed=dashed, lined=bool(lines))
        return DrawingError(art.name, what, hint)
    longest = max(open_lines, key=lambda points: path_length_mm(points))
    ends = [end for points in open_lines for end in (points[0], points[-1])]
    return open_outline(art.name, longest[0], [end for end in ends if end is not longest[0]])


def _without_ends(art: LineArt, *, dashed: bool, lined: bool) -> tuple[str, str]:
    """What is wrong with a drawing in which no plain line ends, and what to do."""
    if dashed:
        return "the drawing encloses no pane: its lines are dashed", "draw the leads unbroken"
    if not any(dark_fill(mark) for mark in art.marks):
        if lined:
            return "the leads leave no glass between them", "draw them thinner, or larger"
        return "the drawing encloses no pane: it has no leads", "draw the leads as strokes"
    return (
        "the drawing encloses no pane: its dark shapes are leads, and go round no glass",
        "leave the panes unfilled, or name them glass; close the leads round them",
    )


def open_outline(name: str, end: Point, others: Sequence[Point]) -> DrawingError:
    """An outline that stops at a place, and the nearest other end."""
    near = min(others, key=lambda p: hypot(p[0] - end[0], p[1] - end[1]))
    gap = hypot(end[0] - near[0], end[1] - near[1])
    return DrawingError(
        f"{name}, ({end[0]:.2f}, {end[1]:.2f}) mm",
        f"the outline is open: a gap of {gap:.2f} mm to ({near[0]:.2f}, {near[1]:.2f}) mm",
        HINT,
    )
