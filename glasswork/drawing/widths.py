"""Lines made as wide as the maker wants them, whatever they are drawn."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from glasswork.drawing.inks import Roles, is_dark
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Box
from glasswork.model.window import LineArt, Mark, Role

_SPANS = 0.98
"""A line without a role that spans this share of the drawing both ways is its border."""


def with_widths(art: LineArt, roles: Roles, widths: Mapping[Role, float]) -> LineArt:
    """The drawing with the strokes of these roles as wide as given, in the drawing's own mm.

    A dark stroke without a role is a lead, or the border if it spans the whole drawing. Leads
    drawn as filled shapes, or left as gaps between panes, keep their width.
    """
    border = _span_of(art)
    marks = []
    for mark in art.marks:
        width = widths.get(_role(mark, roles, border)) if _is_line(mark, roles) else None
        marks.append(mark if width is None else replace(mark, width_mm=width))
    return replace(art, marks=tuple(marks))


def idle_widths(art: LineArt, roles: Roles, widths: Mapping[Role, float]) -> tuple[Finding, ...]:
    """What to say of widths that no line of the drawing takes."""
    border = _span_of(art)
    used = {_role(mark, roles, border) for mark in art.marks if _is_line(mark, roles)}
    return tuple(
        Finding(
            severity=Severity.WARNING,
            where=f"{art.name}, widths",
            what=f"no line of the role {role.value} is drawn as a stroke, its width is not used",
            hint="only strokes can be made wider: draw the leads as lines, or give them the role",
        )
        for role in widths
        if role not in used
    )


def _is_line(mark: Mark, roles: Roles) -> bool:
    if mark.stroke is None:
        return False
    role = roles.of(mark)
    return is_dark(mark.stroke) if role is None else role is not Role.PAINT


def _role(mark: Mark, roles: Roles, border: Box | None) -> Role:
    named = roles.of(mark)
    if named is not None:
        return named
    return Role.BORDER if border is not None and _box(mark) == border else Role.LEAD


def _box(mark: Mark) -> Box:
    return Box.around(point for points, _ in mark.paths for point in points)


def _span_of(art: LineArt) -> Box | None:
    """The box of the line that goes round the drawing, if there is one."""
    boxes = [
        _box(mark)
        for mark in art.marks
        if mark.stroke is not None and any(p for p, _ in mark.paths)
    ]
    if not boxes:
        return None
    largest = max(boxes, key=lambda box: box.width * box.height)
    wide = max(box.right for box in boxes) - min(box.left for box in boxes)
    high = max(box.bottom for box in boxes) - min(box.top for box in boxes)
    whole = largest.width >= _SPANS * wide and largest.height >= _SPANS * high
    return largest if whole else None
