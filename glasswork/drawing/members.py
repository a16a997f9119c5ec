"""Members: the leading divided into lengths, each with a role, a width and an area.

Members and panes tile the outline. Whoever knows the panes and the outline (a scan, a drawing of
filled leads) gets the members from `split_members`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from glasswork.drawing.pane_ids import place_ids
from glasswork.drawing.strips import Strip, strips_of
from glasswork.model.geometry import Box, Point, Region
from glasswork.model.window import Member, Role
from glasswork.planar import Area, joined_triangles, near_edge

EDGE_SHARE = 0.8
"""A length of lead whose middle lies nearer to the outline than this share of its width is the
border: half would be exact, the rest is for uneven drawing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the drawing tells of the lead at a place: its role and drawn width, if any."""

    role: Role | None = None
    width_mm: float | None = None


def split_members(
    outline: Region,
    panes: Sequence[Region],
    *,
    told: Callable[[Sequence[Point]], Sequence[Told]] | None = None,
) -> tuple[Member, ...]:
    """The leading between panes, divided at its joints.

    outline : the panel's edge; its holes do not count
    panes : what is glass, inside the outline, not overlapping
    told : for places on the leads, what the drawing says of them
    Returns: members in reading order; with the panes they tile the outline
    """
    lead = Area.of((Region(outline.outer),)) - Area.of(panes)
    return members_of(strips_of(lead), outline, told=told)


def members_of(
    strips: Sequence[Strip],
    outline: Region,
    *,
    told: Callable[[Sequence[Point]], Sequence[Told]] | None = None,
) -> tuple[Member, ...]:
    """Members from lengths of lead."""
    places = [middle_of(strip) for strip in strips]
    if not places:
        return ()
    known = told(places) if told is not None else [Told()] * len(places)
    off = near_edge(places, outline.outer)
    names = member_ids(places, outline.box)
    found = []
    for strip, name, said, edge in zip(strips, names, known, off.tolist(), strict=True):
        width = said.width_mm or strip.width_mm
        role = said.role
        if role is None:
            role = Role.BORDER if edge <= EDGE_SHARE * strip.width_mm else Role.LEAD
        area = joined_triangles(strip.corners).regions()
        if area:
            found.append(
                Member(id=name, role=role, width_mm=width, area=area, centreline=strip.centreline)
            )
    return tuple(found)


def member_ids(places: Sequence[Point], box: Box) -> tuple[str, ...]:
    """Ids of members by the middle of each."""
    return place_ids("L", places, box)


def middle_of(strip: Strip) -> Point:
    """The point halfway along the centreline, or the middle of a piece without one."""
    line = strip.centreline
    if not line:
        x, y = strip.corners.reshape(-1, 2).mean(axis=0).tolist()
        return (x, y)
    return halfway(line)


def halfway(line: Sequence[Point]) -> Point:
    """The point halfway along a polyline."""
    lengths = [((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 for (ax, ay), (bx, by) in pairwise(line)]
    left = sum(lengths) / 2.0
    for index, size in enumerate(lengths):
        if left <= size and size > 0.0:
            share = left / size
            (ax, ay), (bx, by) = line[index], line[index + 1]
            return (ax + share * (bx - ax), ay + share * (by - ay))
        left -= size
    return line[0]
