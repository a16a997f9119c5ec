"""What is printed black on every film."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

import numpy as np

from glasswork.framing.made import CutSet
from glasswork.model.frame import Made
from glasswork.model.geometry import Point, Regions
from glasswork.model.window import Window
from glasswork.planar import Area, AreaSet

_HAIR_MM = 1e-3


def printed_area(window: Window, cut: CutSet, *, bleed_mm: float) -> Regions:
    """Printed members, carried on under the cut ones by the bleed, and opaque painted lines."""
    printed = [i for i, item in enumerate(cut.made) if item.made is Made.PRINTED]
    paint = [Area.of(stroke.area) for stroke in window.paint if stroke.tone >= 1.0]
    if not printed:
        return Area.union(paint).regions()
    lines = [window.members[i] for i in printed if len(window.members[i].centreline) > 1]
    tails = AreaSet.of_strokes(
        [_longer(line.centreline, bleed_mm) for line in lines], [line.width_mm for line in lines]
    )
    board = cut.area.grown(_HAIR_MM)
    under = tails.chosen(np.flatnonzero(tails.touching(board))).common(board)
    leads = _with_tails(cut.leads.chosen(printed), under).tiles_joined()
    return (Area.union([leads, *paint]) if paint else leads).regions()


def _with_tails(leads: AreaSet, tails: AreaSet) -> AreaSet:
    """The leads, those that tails reach joined with them; they tile as they did before."""
    reached = np.unique(leads.meeting(tails)[0])
    joined = Area.union([*map(Area, leads.shapes[reached]), *map(Area, tails.shapes)])
    rest = np.setdiff1d(np.arange(len(leads)), reached)
    return AreaSet.of_areas([*map(Area, leads.shapes[rest]), *joined.parts()])


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
