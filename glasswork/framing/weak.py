"""Weak places told: every one in the plan, one finding for each layer and kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from glasswork.framing.made import CutSet
from glasswork.framing.webs import survey
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import Board, Level, Made, WeakPlace
from glasswork.model.geometry import Point, Regions, point_along
from glasswork.model.window import Member, Window
from glasswork.model.words import counted
from glasswork.planar import Area, AreaSet

_HAIR_MM = 1e-6


def weak_places(pieces: Regions, level: Level, board: Board) -> tuple[tuple[WeakPlace, ...], float]:
    """Every narrow place of a layer, narrowest first, and the narrowest width."""
    surveys = [survey(piece, board.web_warn_mm) for piece in pieces]
    places = [
        WeakPlace(
            kind=web.kind,
            level=level,
            place=web.place,
            value=web.width_mm,
            limit=board.web_warn_mm,
        )
        for found, _ in surveys
        for web in found
    ]
    places.sort(key=lambda weak: weak.value)
    return tuple(places), min((least for _, least in surveys), default=0.0)


def with_narrow_members(
    weak: Sequence[WeakPlace], window: Window, cut: CutSet, board: Board
) -> tuple[WeakPlace, ...]:
    """The weak places of the inner layer, told member by member where a whole member, or the stay
    that lies along it, is narrow.

    A place on such a strip is the strip's own narrowness and is not told twice.
    """
    narrow = [
        i
        for i, (member, item) in enumerate(zip(window.members, cut.made, strict=True))
        if item.made is Made.CUT and member.width_mm < board.web_warn_mm - _HAIR_MM
    ]
    widths = {window.members[i].id: window.members[i].width_mm for i in narrow}
    stays = [stay for stay in cut.stays if stay.width_mm < board.web_warn_mm - _HAIR_MM]
    widths |= {name: stay.width_mm for stay in stays for name in stay.along}
    told = [
        WeakPlace(
            kind="web",
            level=Level.INNER,
            place=_middle(member),
            value=widths[member.id],
            limit=board.web_warn_mm,
            member=member.id,
        )
        for member in window.members
        if member.id in widths
    ]
    if not told:
        return tuple(weak)
    inner = [one for one in weak if one.level is Level.INNER and one.kind == "web"]
    strips = AreaSet.of_groups(
        [*(window.members[i].area for i in narrow), *(stay.area for stay in stays)]
    )
    on_one = strips.holding([one.place for one in inner])
    again = {id(one) for one, inside in zip(inner, on_one, strict=True) if inside}
    rest = [one for one in weak if id(one) not in again]
    return tuple(sorted((*told, *rest), key=lambda one: one.value))


def _middle(member: Member) -> Point:
    if len(member.centreline) > 1:
        return point_along(member.centreline, 0.5)
    return Area.of(member.area).inner_point()


def weak_findings(weak: Sequence[WeakPlace], boards: Mapping[Level, Board]) -> tuple[Finding, ...]:
    """The worst place of each layer and kind, and how many there are."""
    found = []
    for level, board in boards.items():
        for kind in ("web", "tip", "slender"):
            mine = [one for one in weak if one.level is level and one.kind == kind]
            if mine:
                found.append(_finding(mine, board))
    return tuple(found)


def _finding(mine: Sequence[WeakPlace], board: Board) -> Finding:
    worst = mine[0]
    narrow = worst.kind != "slender"
    severe = narrow and worst.value < board.web_refuse_mm
    if narrow:
        name = "web" if worst.kind == "web" else "pointed end"
        what = (
            f"{counted(len(mine), name)} narrower than the {worst.limit:g} mm that {board.title} "
            f"wants, at the narrowest {worst.value:.2f} mm"
        )
    else:
        what = (
            f"{counted(len(mine), 'member')} so slender that a light push sets "
            f"{'it' if len(mine) == 1 else 'them'} aside by more than {worst.limit:g} mm, at most "
            f"{worst.value:.2f} mm ({worst.member})"
        )
    return Finding(
        severity=Severity.WARNING if severe else Severity.NOTE,
        where=f"frame, {worst.level.value} layer",
        what=what,
        hint="handle with care, or widen" if narrow else "glue these along their whole length",
        place=worst.place,
    )
