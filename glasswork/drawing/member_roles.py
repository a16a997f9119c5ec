"""Roles of single members, by the members' names: they win over what the drawing tells."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches

from msgspec.structs import replace

from glasswork.drawing.members import place_of
from glasswork.drawing.pane_ids import follow_map
from glasswork.errors import DrawingError, GlassworkError, raise_all
from glasswork.model.window import Role, Window


def with_member_roles(window: Window, roles: Mapping[str, str]) -> Window:
    """The window with the roles given to single members.

    roles : member id to border, mullion, bar, lead or paint; an id of an earlier drawing means the
        member that lies there now
    Raises: DrawingError or Faults, if there is no such member or role; near names are listed
    """
    if not roles:
        return window
    given = follow_members(window, roles)
    known = {role.value: role for role in Role}
    ids = {member.id for member in window.members}
    faults: list[GlassworkError] = []
    for member, role in given.items():
        where = f"{window.name}, member_roles, {member}"
        if member not in ids:
            near = get_close_matches(member, ids, n=3)
            hint = f"near names: {', '.join(near)}" if near else "the report lists the members"
            faults.append(DrawingError(where, "the window has no such member", hint))
        if role not in known:
            faults.append(DrawingError(where, f'"{role}" is no role', f"known: {', '.join(known)}"))
    raise_all(faults)
    return replace(
        window,
        members=tuple(
            replace(member, role=known[given[member.id]]) if member.id in given else member
            for member in window.members
        ),
    )


def follow_members(window: Window, chosen: Mapping[str, str]) -> dict[str, str]:
    """A map of members with today's names; what no member lies near keeps its key."""
    names = [member.id for member in window.members]
    places = [place_of(member) for member in window.members]
    found, lost = follow_map(names, places, window.box, chosen)
    return found | {key: chosen[key] for key in lost}
