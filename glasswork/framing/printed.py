"""What is printed black on every film."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

import numpy as np

from glasswork.framing.bleed import Edges
from glasswork.framing.made import CutSet
from glasswork.model.frame import Made
from glasswork.model.geometry import Point, Regions
from glasswork.model.window import Window
from glasswork.planar import Area, AreaSet

_HAIR_MM = 1e-3
_SLIT_MM = 0.02
"""Half the width of the widest slit between two inks that is left as it is."""
_LOST_MM, _LOST_MM2 = 0.1, 0.03
"""Width and area from which a bit of a lead that is neither cut nor printed would be seen."""


def printed_area(
    window: Window,
    cut: CutSet,
    board: Area,
    glass: tuple[Sequence[Regions], Edges],
) -> Regions:
    """Printed members, carried on under the cut ones by the bleed, and opaque painted lines.

    board : the inner layer; what of the cut members it does not hold is printed too
    glass : what each pane's ink fills, and which members it runs on under
    """
    printed = cut.which(Made.PRINTED)
    paint = [Area.of(stroke.area) for stroke in window.paint if stroke.opaque]
    cut_leads = _without_stays(cut)
    paint += _left_out(cut_leads, board)
    if not printed:
        return Area.union(paint).regions()
    filled, edges = glass
    lined = [k for k, i in enumerate(printed) if len(window.members[i].centreline) > 1]
    lines = [window.members[printed[k]] for k in lined]
    tails = AreaSet.of_strokes(
        [_longer(line.centreline, edges.bleed_mm) for line in lines],
        [line.width_mm for line in lines],
    )
    near = cut_leads.grown(_HAIR_MM)
    under = tails.chosen(np.flatnonzero(tails.touching(near))).common(near)
    leads = _with_tails(cut.leads.chosen(printed), under).tiles_joined()
    paint += _beside(cut, edges, tails, AreaSet.of_groups(filled))
    return (Area.union([leads, *paint]) if paint else leads).regions()


def _beside(cut: CutSet, edges: Edges, tails: AreaSet, glass: AreaSet) -> list[Area]:
    """Within the bleed of printed members, what lies under cut ones and would stay bare: beside a
    lead that lies along a cut one, or between two that meet at it.

    tails : of the printed leads
    glass : the ink of each pane, which counts under the members that the pane touches
    """
    bleed_mm, member = edges.bleed_mm, np.array(cut.which(Made.CUT), dtype=np.intp)
    leads, others = cut.leads.chosen(edges.printed), cut.leads.chosen(member)
    here, there = leads.within(others, bleed_mm)
    under = leads.chosen(here).grown(np.full(len(here), bleed_mm)).meet(others.chosen(there))
    at, over = under.meeting(glass)
    touching = edges.member * len(glass) + edges.pane
    own = np.isin(member[there[at]] * len(glass) + over, touching)
    under = under.without(glass, (at[own], over[own])).without(tails)
    wide = np.flatnonzero(under.areas_mm2() > _LOST_MM2)
    bits = [bit for i in wide.tolist() for bit in under[i].opened(_SLIT_MM).parts()]
    return [bit.grown(2.0 * _SLIT_MM) for bit in bits if bit.area_mm2 > _LOST_MM2]


def _without_stays(cut: CutSet) -> Area:
    """The cut members as they are drawn: a stay lies over glass, which stays glass."""
    if not cut.stays:
        return cut.area
    return cut.leads.chosen(cut.which(Made.CUT)).joined()


def _left_out(leads: Area, board: Area) -> list[Area]:
    """Bits of the cut members that the board cannot hold, each carried on under it a little; light
    would come through there. A rounded corner is none: the ink beside it reaches so far.
    """
    if abs(leads.area_mm2 - board.area_mm2) < _LOST_MM2:
        return []
    bits = (leads - board).opened(_LOST_MM / 2.0).parts()
    return [bit.grown(_LOST_MM) & leads for bit in bits if bit.area_mm2 > _LOST_MM2]


def _with_tails(leads: AreaSet, tails: AreaSet) -> AreaSet:
    """The leads, those that tails reach joined with them; they tile as they did before."""
    reached = np.zeros(len(leads), dtype=np.bool_)
    reached[leads.meeting(tails)[0]] = True
    joined = Area.union([*map(Area, leads.shapes[reached]), *map(Area, tails.shapes)])
    return AreaSet.of_areas([*map(Area, leads.shapes[~reached]), *joined.parts()])


def _longer(line: Sequence[Point], mm: float) -> tuple[Point, ...]:
    """The line with both ends drawn out."""
    if line[0] == line[-1]:
        return tuple(line)
    return (_beyond(line[1], line[0], mm), *line[1:-1], _beyond(line[-2], line[-1], mm))


def _beyond(inner: Point, end: Point, mm: float) -> Point:
    span = hypot(end[0] - inner[0], end[1] - inner[1])
    if span == 0.0:
        return end
    return (
        end[0] + (end[0] - inner[0]) / span * mm,
        end[1] + (end[1] - inner[1]) / span * mm,
    )
