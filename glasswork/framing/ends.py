"""Where cut members end: at another one, or free."""

from __future__ import annotations

from collections.abc import Sequence

from glasswork.model.geometry import path_length_mm
from glasswork.model.window import Role, Window
from glasswork.planar import AreaSet

STUB_WIDTHS = 2.0
"""A free-ended member no longer than this many widths is a stub, not worth cutting."""


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
    """For each cut member, how many of its ends lie at another cut member; 2 for a closed line."""
    ends, owner = [], []
    for i in cut:
        line = window.members[i].centreline
        if len(line) > 1 and line[0] != line[-1]:
            ends += [line[0], line[-1]]
            owner += [i, i]
    held = dict.fromkeys(cut, 2)
    if not ends:
        return held
    widths = [window.members[i].width_mm for i in owner]
    discs = AreaSet.of_discs(ends, widths)
    here, there = discs.meeting(leads.chosen(cut))
    tied = {
        int(end) for end, other in zip(here, there, strict=True) if cut[int(other)] != owner[end]
    }
    for i in set(owner):
        held[i] = 0
    for end in tied:
        held[owner[end]] += 1
    return held
