"""A drawing becomes a window: outline, panes, members, paint; or a clear refusal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from glasswork.drawing.areas import window_of_areas
from glasswork.drawing.inks import Roles
from glasswork.drawing.sizing import at_size
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.window import LineArt, Scan, Sizing, Window


def make_window(
    art: LineArt | Scan, *, roles: Mapping[str, str], sizing: Sizing
) -> tuple[Window, tuple[Finding, ...]]:
    """The window that a drawing shows, at the size wished for, its corner at (0, 0).

    roles : name, or a rule such as "stroke>=2.5", to border, mullion, bar, lead or paint
    Raises: DrawingError, if it encloses no pane, its outline is open, or no size is known
    """
    if isinstance(art, Scan):
        from glasswork.drawing.trace import trace_scan

        return trace_scan(art, roles=roles, sizing=sizing)
    if not art.sized and not (sizing.width_mm or sizing.height_mm or sizing.opening_mm):
        raise DrawingError(
            art.name, "the drawing tells no size", "write its width in mm into it, or give a width"
        )
    window, findings = drawn_window(art, roles=roles)
    sized, remarks = at_size(window, sizing)
    return sized, (*findings, *remarks)


def drawn_window(art: LineArt, *, roles: Mapping[str, str]) -> tuple[Window, tuple[Finding, ...]]:
    """The window as it lies in the drawing, in the drawing's own millimetres.

    Raises: DrawingError, if it encloses no pane or its outline is open
    """
    window, findings = window_of_areas(art, Roles(roles, where=art.name))
    return window, (*_notes(art.name, art.notes), *findings)


def _notes(where: str, notes: Sequence[str]) -> list[Finding]:
    return [Finding(severity=Severity.WARNING, where=where, what=note) for note in notes]
