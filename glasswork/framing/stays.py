"""Stays: strips of board that hold a loose part, laid over printed leads where they hide best.

A loose part either gets stays or moves to print, whichever changes the picture less. A stay
hides the glass by which it is wider than the lead beneath it. Printing hides no glass, but the
part loses its relief; that is counted as a share of the part's area.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from heapq import heappop, heappush

import numpy as np
from msgspec import Struct

from glasswork.model.frame import Made, MemberMade, Stay
from glasswork.model.geometry import path_length_mm
from glasswork.model.window import Role, Window
from glasswork.planar import Area, AreaSet

RELIEF_SHARE = 0.25
"""A part that lies flat counts as a quarter of its area hidden; chosen for this project."""
MOST_STAYS = 2
"""Two stays keep a part from turning."""
_TOUCH_MM = 1e-3

Neighbours = Mapping[int, Sequence[int]]


class Ties(Struct, frozen=True, kw_only=True):
    """What may tie loose parts: the window, who touches whom, and how wide a stay is."""

    window: Window
    touching: Neighbours
    made: Sequence[MemberMade]
    width_mm: float

    def bridges(self, member: int) -> bool:
        """The member is printed and has a middle line for a stay to follow."""
        one = self.window.members[member]
        printed = self.made[member].made is Made.PRINTED
        return printed and one.role is not Role.PAINT and len(one.centreline) > 1

    def hidden_mm2(self, member: int) -> float:
        """Glass that a stay along this member hides beyond the lead itself."""
        one = self.window.members[member]
        wider = max(0.0, self.width_mm - one.width_mm)
        return wider * path_length_mm(one.centreline)


def touching_members(leads: AreaSet) -> Neighbours:
    """For each member, the members that touch it."""
    here, there = leads.within(leads, _TOUCH_MM)
    found: dict[int, list[int]] = {i: [] for i in range(len(leads))}
    for i, j in zip(here.tolist(), there.tolist(), strict=True):
        if i != j:
            found[i].append(j)
    return found


def loose_parts(loose: Iterable[int], touching: Neighbours) -> list[list[int]]:
    """The loose members in groups that touch."""
    left = set(loose)
    groups: list[list[int]] = []
    while left:
        group, edge = [], [left.pop()]
        while edge:
            one = edge.pop()
            group.append(one)
            near = left.intersection(touching[one])
            left -= near
            edge += near
        groups.append(sorted(group))
    return groups


def stays_for(part: Sequence[int], held: frozenset[int], ties: Ties) -> tuple[Stay, ...]:
    """Stays that tie a loose part to what is held; none, if printing it changes less.

    part : members of the part
    held : cut members that hang on the border
    """
    paths: list[list[int]] = []
    used: set[int] = set()
    for _ in range(MOST_STAYS):
        path = _cheapest(part, held, ties, used)
        if path is None:
            break
        paths.append(path)
        used.update(path)
    members = ties.window.members
    area = sum(region.area_mm2 for i in part for region in members[i].area)
    budget = RELIEF_SHARE * area
    while paths and sum(ties.hidden_mm2(i) for path in paths for i in path) > budget:
        paths.pop()
    return tuple(_stay(path, part, ties) for path in paths)


def _cheapest(
    part: Sequence[int], held: frozenset[int], ties: Ties, used: set[int]
) -> list[int] | None:
    """The chain of printed members from the part to a held one that hides least glass."""
    queue: list[tuple[float, int]] = []
    cost: dict[int, float] = {}
    before: dict[int, int] = {}
    for start in {j for i in part for j in ties.touching[i]}:
        if start not in used and ties.bridges(start):
            cost[start] = ties.hidden_mm2(start)
            heappush(queue, (cost[start], start))
    while queue:
        spent, at = heappop(queue)
        if spent > cost[at]:
            continue
        if held.intersection(ties.touching[at]):
            path = [at]
            while path[-1] in before:
                path.append(before[path[-1]])
            return path[::-1]
        for onward in ties.touching[at]:
            total = spent + ties.hidden_mm2(onward)
            free = onward not in used and ties.bridges(onward)
            if free and total < cost.get(onward, np.inf):
                cost[onward] = total
                before[onward] = at
                heappush(queue, (total, onward))
    return None


def _stay(path: Sequence[int], part: Sequence[int], ties: Ties) -> Stay:
    members = ties.window.members
    strips = [
        Area.stroke(members[i].centreline, ties.width_mm, cap="square", join="round") for i in path
    ]
    whole = Area.union(strips) & Area.of((ties.window.outline,))
    return Stay(
        holds=tuple(members[i].id for i in part),
        along=tuple(members[i].id for i in path),
        width_mm=ties.width_mm,
        area=whole.regions(),
    )
