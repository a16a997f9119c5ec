"""Places between leads that are too small for glass: made solid, as masons leave them blind."""

from __future__ import annotations

from glasswork.drawing.drawn.curves import flat, polygon
from glasswork.drawing.drawn.design import Design, DrawnLead
from glasswork.model.geometry import Point, Region, path_length_mm, ring_area_mm2
from glasswork.model.window import Role
from glasswork.planar import Area, Pen, drawn

LEAST_MM2 = 0.5
LEAST_WIDE_MM = 0.35
"""Glass smaller or narrower than this does not show; width as twice the area over the edge."""
_OVER_MM = 0.05
_KISS_MM = 0.02
"""Leads that touch by less than this may be drawn apart by another's chords."""
_NOTHING_MM2 = 1e-6


def fill_specks(design: Design) -> None:
    """Mark every gap between leads that is under the limits as solid, and note how many."""
    leading = drawn(
        [(_points(lead), lead.closed) for lead in design.leads],
        [
            Pen(
                width_mm=lead.width_mm,
                cap="round" if lead.role is Role.LEAD else "flat",
                join="mitre" if lead.role is Role.BORDER else "round",
                mitre_limit=8.0,
            )
            for lead in design.leads
        ],
    ).joined()
    leading = leading.grown(-_KISS_MM)
    for region in leading.regions():
        for hole in region.holes:
            size = abs(ring_area_mm2(hole))
            if size < _NOTHING_MM2:
                continue
            around = path_length_mm(hole, closed=True)
            if size < LEAST_MM2 or 2.0 * size / around < LEAST_WIDE_MM:
                whole = Area.of([Region(hole)]).grown(_OVER_MM).simplified(_OVER_MM / 5.0)
                design.solid += [polygon(part.outer) for part in whole.regions()]
    if design.solid:
        design.notes.append(f"{len(design.solid)} gaps too small for glass are solid.")


def _points(lead: DrawnLead) -> tuple[Point, ...]:
    ends = () if lead.closed else (lead.curves[-1].end,)
    return (*flat(lead.curves), *ends)
