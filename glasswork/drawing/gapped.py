"""Drawings without a lead line: coloured panes side by side, the gaps between them the leads."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from glasswork.drawing.inks import Roles, dark_fill
from glasswork.drawing.members import Leaded, leads_between
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Box, Region, Regions
from glasswork.model.window import LineArt, Role
from glasswork.planar import Area, AreaSet, nearest_mm, outline_round

GROUND_SHARE = 0.9
"""A shape that covers more than this of all that is drawn is the ground, not a pane."""
NARROW_SHARE = 0.2
"""Up to this share of a pane's size a gap's reach bridges it whatever the panes' form; beyond, the
engine tells whether wide gaps hold together, at some cost."""
LEAST_GAP_SHARE = 5e-4
"""Gaps below this share of the drawing's size are none."""


def leaded_by_gaps(art: LineArt, roles: Roles, findings: list[Finding]) -> Leaded | None:
    """Panes as they are filled, leads where they leave gaps; None if there are no such panes.

    Raises: DrawingError, if the panes touch, or lie too far apart for leads
    """
    panes, shapes, gaps = _panes(art, roles)
    if len(panes) < 2:
        return None
    gap = _check_gap(art, gaps)
    parts = _hull(shapes, 0.75 * gaps[-1]).regions()
    solid = Area.of((Region(parts[0].outer),)).grown(gap).regions()
    if len(parts) > 1 or len(solid) != 1 or gaps[-1] > 20.0 * gap:
        raise DrawingError(
            art.name,
            f"the panes lie apart by up to {gaps[-1]:.2f} mm, most by {gap:.2f} mm",
            "draw a border round them, or the leads as lines",
        )
    outline = Region(solid[0].outer)
    findings.append(
        Finding(
            severity=Severity.WARNING,
            where=art.name,
            what=f"no lead is drawn: the gaps of {gap:.2f} mm between the panes are the leads, and "
            f"a border of {gap:.2f} mm is set round them",
            hint="draw a border if it is to be wider",
        )
    )
    return Leaded(outline=outline, panes=panes, leads=leads_between(outline, panes))


def _hull(panes: AreaSet, reach_mm: float) -> Area:
    """The panes and what lies between them, its notches no narrower than twice the reach."""
    narrow = reach_mm < NARROW_SHARE * float(np.median(panes.areas_mm2())) ** 0.5
    edge = outline_round(panes, 2.0 * reach_mm) if narrow else None
    inner = Area.of((edge,)) if edge is not None else panes.joined()
    return inner.grown(reach_mm).grown(-reach_mm) | inner


def _check_gap(art: LineArt, gaps: Sequence[float]) -> float:
    """The usual gap between panes. Raises: DrawingError, if there is none"""
    gap = gaps[len(gaps) // 2]
    least = LEAST_GAP_SHARE * max(art.size_mm)
    if gap < least:
        raise DrawingError(
            art.name,
            f"the panes touch: {gap:.3f} mm between them, {least:.3f} mm is least",
            "give the panes a dark stroke: it becomes the lead",
        )
    return gap


def _panes(art: LineArt, roles: Roles) -> tuple[Regions, AreaSet, list[float]]:
    """The filled shapes in sight, each connected part a pane, the ground left out: as regions, as
    areas; and how far each lies from the nearest other, in order of size.
    """
    marks = [
        mark
        for mark in art.marks
        if mark.fill is not None and not dark_fill(mark) and roles.of(mark) is not Role.PAINT
    ]
    painted = AreaSet.mended([mark.area for mark in marks])
    sizes = painted.areas_mm2()
    if len(marks) < 2:
        return (), painted, []
    box = Box.around([p for mark in marks for r in mark.area for p in r.outer])
    limit = GROUND_SHARE * box.width * box.height
    painted = painted.chosen(np.flatnonzero(sizes < limit))
    if len(painted) < 2:
        return (), painted, []
    gaps = sorted(nearest_mm(painted))
    _check_gap(art, gaps)
    apart = painted.without_later()
    least = 1e-4 * limit / max(10, len(painted))
    panes = tuple([r for regions in apart.regions() for r in regions if r.area_mm2 > least])
    if apart is painted and len(panes) == len(painted):
        return panes, painted, gaps
    shapes = AreaSet.of_regions(panes)
    return panes, shapes, sorted(nearest_mm(shapes)) if len(panes) > 1 else []
