"""Members: the leading divided into lengths, each with a role, a width and an area.

Members and panes tile the outline. Whoever knows the panes and the outline (a scan, a drawing of
filled leads) gets the members from `split_members`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from glasswork.drawing.pane_ids import place_ids, reading_order
from glasswork.drawing.strips import Strip, strips_of
from glasswork.errors import DrawingError
from glasswork.model.geometry import Point, Region, Regions, point_along
from glasswork.model.window import Member, PaintStroke, Role
from glasswork.planar import Area, AreaSet, near_edge

EDGE_SHARE = 0.8
"""A length of lead whose middle lies nearer to the outline than this share of its width is the
border: half would be exact, the rest is for uneven drawing."""


MOST_CORNERS = 250_000
"""Corners of leads known only as an area; more take longer than anyone waits."""


class Told(Struct, frozen=True, kw_only=True):
    """What the drawing tells of the lead at a place: its role and drawn width, if any."""

    role: Role | None = None
    width_mm: float | None = None


class Lead(Struct, frozen=True, kw_only=True):
    """One length of lead: role None if nothing tells it; edge: it runs along the outline."""

    centreline: tuple[Point, ...]
    width_mm: float
    role: Role | None
    area: Regions
    edge: bool


class Leaded(Struct, frozen=True, kw_only=True):
    """Outline, glass and leads of a drawing, which tile the outline; paint lies on the glass."""

    outline: Region
    panes: Regions
    leads: tuple[Lead, ...]
    paint: tuple[PaintStroke, ...] = ()


Teller = Callable[[Sequence[Point]], Sequence[Told]]


def split_members(
    outline: Region, panes: Sequence[Region], *, told: Teller | None = None
) -> tuple[Member, ...]:
    """The leading between panes, divided at its joints, when only the glass is known.

    outline : the panel's edge; its holes do not count
    panes : what is glass, inside the outline, not overlapping
    told : for places on the leads, what the drawing says of them
    Returns: members in reading order; with the panes they tile the outline
    """
    return members_of(leads_between(outline, panes, told=told), outline)


def leads_between(
    outline: Region,
    panes: Sequence[Region],
    *,
    told: Teller | None = None,
    area: Area | None = None,
) -> tuple[Lead, ...]:
    """The lengths of lead that panes leave inside an outline; area : what they leave, if known."""
    area = area or _between(outline, panes)
    if (corners := area.corner_count) > MOST_CORNERS:
        raise DrawingError(
            "the drawing",
            f"its leads have {corners} corners, {MOST_CORNERS} is most",
            "simplify its paths, or leave out what is no lead",
        )
    strips = strips_of(area)
    places = [place_of(strip) for strip in strips]
    if not places:
        return ()
    known = told(places) if told is not None else [Told()] * len(places)
    edges = _along_edge(strips, places, outline)
    found = []
    for strip, said, edge in zip(strips, known, edges, strict=True):
        found.append(
            Lead(
                centreline=strip.centreline,
                width_mm=said.width_mm or strip.width_mm,
                role=said.role,
                area=strip.area,
                edge=edge,
            )
        )
    return tuple(found)


def _along_edge(strips: Sequence[Strip], places: Sequence[Point], outline: Region) -> list[bool]:
    """Which lengths run along the outline, by where their middles lie.

    Uneven ones may all look too far from it; then those are meant that hold some stretch of it.
    """
    off = near_edge(places, outline.outer).tolist()
    near = [mm <= EDGE_SHARE * strip.width_mm for mm, strip in zip(off, strips, strict=True)]
    if any(near):
        return near
    edge = set(outline.outer)
    return [sum(p in edge for r in strip.area for p in r.outer) > 1 for strip in strips]


def _between(outline: Region, panes: Sequence[Region]) -> Area:
    """The outline without the panes: as holes of one region where they touch nothing."""
    if not any(pane.holes for pane in panes):
        area = AreaSet.of_regions([Region(outline.outer, tuple(p.outer for p in panes))])[0]
        if area.is_one_valid():
            return area
    return Area.of((Region(outline.outer),)) - Area.of(panes)


def members_of(leads: Sequence[Lead], outline: Region) -> tuple[Member, ...]:
    """Members of leads, in reading order: the border along the outline, else as told, or lead."""
    places = [place_of(lead) for lead in leads]
    order = reading_order(places, outline.box)
    names = place_ids("L", [places[i] for i in order], outline.box)
    return tuple(
        Member(
            id=name,
            role=leads[i].role or (Role.BORDER if leads[i].edge else Role.LEAD),
            width_mm=leads[i].width_mm,
            area=leads[i].area,
            centreline=leads[i].centreline,
        )
        for name, i in zip(names, order, strict=True)
    )


def place_of(part: Lead | Member | Strip) -> Point:
    """Where a length of lead lies, as its name tells it: halfway along its middle."""
    return point_along(part.centreline, 0.5) if part.centreline else part.area[0].box.centre
