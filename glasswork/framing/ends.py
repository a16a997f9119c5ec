"""Where cut members end: at another one, or free."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from glasswork.model.geometry import Point, path_length_mm
from glasswork.model.window import Role, Window
from glasswork.planar import AreaSet

STUB_WIDTHS = 2.0
"""A free-ended member no longer than this many widths is a stub, not worth cutting."""
_TOUCH_MM = 1e-3


def stubs(window: Window, leads: AreaSet, cut: Sequence[int]) -> list[int]:
    """The cut members that end free and are hardly longer than wide."""
    held = ends_held(window, leads, cut)
    return [
        i
        for i in cut
        if held[i] < 2
        and window.members[i].role is not Role.BORDER
        and path_length_mm(window.members[i].centreline) <= STUB_WIDTHS * window.members[i].width_mm
    ]


def ends_held(window: Window, leads: AreaSet, cut: Sequence[int]) -> dict[int, int]:
    """For each cut member, how many of its ends another cut member holds; 2 for a closed line.

    A neighbour holds the end that it lies nearer to.
    """
    held = dict.fromkeys(cut, 2)
    mine = leads.chosen(cut)
    here, there = mine.within(mine, _TOUCH_MM)
    open_ = np.array([_is_open(window.members[i].centreline) for i in cut], dtype=bool)
    wanted = (here != there) & open_[here] if len(here) else np.zeros(0, dtype=bool)
    here, there = here[wanted], there[wanted]
    lines = [window.members[cut[int(k)]].centreline for k in here]
    near = mine.chosen(there)
    first = near.distances_mm([line[0] for line in lines]) if lines else np.zeros(0)
    last = near.distances_mm([line[-1] for line in lines]) if lines else np.zeros(0)
    starts, ends = np.zeros(len(cut), dtype=bool), np.zeros(len(cut), dtype=bool)
    starts[here[first <= last + _TOUCH_MM]] = True
    ends[here[last <= first + _TOUCH_MM]] = True
    for k in np.flatnonzero(open_).tolist():
        held[cut[k]] = int(starts[k]) + int(ends[k])
    return held


def _is_open(line: Sequence[Point]) -> bool:
    return len(line) > 1 and line[0] != line[-1]
