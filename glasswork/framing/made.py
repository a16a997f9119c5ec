"""Which members are cut from board and which are printed on the film."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from glasswork.errors import FrameError, GlassworkError, raise_all
from glasswork.framing.border import border_band
from glasswork.framing.ends import stubs
from glasswork.framing.stays import (
    Neighbours,
    Ties,
    loose_parts,
    stays_for,
    touching_members,
)
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import Board, Cutter, Made, MemberMade, Stay
from glasswork.model.geometry import Point, Region, Ring
from glasswork.model.window import Member, Role, Window
from glasswork.model.words import counted
from glasswork.planar import Area, AreaSet, sound_regions

_HAIR_MM = 1e-6
WISHED = "as the project says"
_CURVE_CHORDS = 4
_CRACK_MM = 0.002
"""Neighbouring members' areas may leave cracks this wide between them, from rounding."""
_SLACK = 0.98
"""Share of the narrowest width at which a joint still counts as held."""


class CutSet(Struct, frozen=True, kw_only=True):
    """What is cut. area : the inner layer before rounding and pin ears, in one piece."""

    made: tuple[MemberMade, ...]
    area: Area
    leads: AreaSet
    stays: tuple[Stay, ...] = ()

    def which(self, made: Made) -> list[int]:
        """Indices of the members that are cut, or of those that are printed."""
        return [i for i, item in enumerate(self.made) if item.made is made]


def narrowest_cut_mm(board: Board, cutter: Cutter) -> float:
    """The narrowest member that this cutter can cut from this board."""
    return max(board.web_refuse_mm, cutter.min_width_mm)


def check_means(board: Board, cutter: Cutter) -> None:
    """Raises: FrameError, if the cutter cannot cut this board at all"""
    faults: list[GlassworkError] = []
    if not board.thickness_mm > 0.0:
        faults.append(
            FrameError(
                f"board {board.name}",
                f"thickness {board.thickness_mm:g} mm is not over 0",
                "give the board's thickness in mm",
            )
        )
    if board.thickness_mm > cutter.max_board_mm + _HAIR_MM:
        faults.append(
            FrameError(
                f"board {board.name}",
                f"{board.thickness_mm:g} mm is thicker than the {cutter.max_board_mm:g} mm that "
                f"cutter {cutter.name} cuts",
                "choose a thinner board or another cutter",
            )
        )
    if cutter.kind == "laser" and not board.laser:
        faults.append(
            FrameError(
                f"board {board.name}",
                "must not be cut by a laser",
                "choose another cutter or another board",
            )
        )
    raise_all(faults)


def check_window(window: Window, cutter: Cutter) -> None:
    """Raises: FrameError, if a member is wider than the window, or the cutter cannot follow"""
    width, height = window.size_mm
    faults: list[GlassworkError] = [
        FrameError(
            f"{window.name}, member {member.id}",
            f"{member.width_mm:.2f} mm wide, the window is {width:.2f} x {height:.2f} mm",
            "draw the member narrower, or the window larger",
        )
        for member in window.members
        if member.width_mm >= min(width, height)
    ]
    if cutter.straight_only and is_curved(window.outline.outer):
        faults.append(
            FrameError(
                f"cutter {cutter.name}",
                "cuts straight lines only, and the panel's edge is curved",
                "choose another cutter",
            )
        )
    raise_all(faults)


def is_curved(ring: Ring) -> bool:
    """Most corners of the ring turn by less than 15°: a curve drawn with chords."""
    points = np.asarray(ring, dtype=np.float64)
    edges = np.roll(points, -1, axis=0) - points
    headings = np.unwrap(np.arctan2(edges[:, 1], edges[:, 0]))
    turns = np.abs((np.diff(headings) + np.pi) % (2.0 * np.pi) - np.pi)
    return bool(np.count_nonzero((turns > 1e-4) & (turns < np.deg2rad(15.0))) >= _CURVE_CHORDS)


def decide(
    window: Window, limit_mm: float, *, wished: Mapping[str, str], straight_only: bool = False
) -> tuple[MemberMade, ...]:
    """Cut or printed by width, and as the maker wishes.

    wished : member id -> "cut" or "printed"
    Raises: FrameError, if a wish names no member, or is neither word
    """
    _check_wishes(window, wished)
    borders = [member.width_mm for member in window.members if member.role is Role.BORDER]
    whole = bool(borders) and max(borders) >= limit_mm - _HAIR_MM
    return tuple(
        MemberMade(member=m.id, made=Made.CUT, why="the border is cut whole")
        if whole and m.role is Role.BORDER and m.id not in wished
        else _decided(m, limit_mm, wished.get(m.id), straight_only)
        for m in window.members
    )


def _check_wishes(window: Window, wished: Mapping[str, str]) -> None:
    ids = {member.id for member in window.members}
    faults: list[GlassworkError] = []
    for name, how in wished.items():
        if name not in ids:
            near = get_close_matches(name, ids, n=3)
            known = f"near names: {', '.join(near)}" if near else "inspect lists the members"
            faults.append(FrameError(f"members, {name}", "the window has no such member", known))
        elif how not in (Made.CUT, Made.PRINTED):
            faults.append(
                FrameError(f"members, {name}", f'"{how}" is no way', 'write "cut" or "printed"')
            )
    raise_all(faults)


def _decided(member: Member, limit_mm: float, wish: str | None, straight: bool) -> MemberMade:
    width = f"{member.width_mm:.2f} mm wide"
    if member.role is Role.PAINT:
        return MemberMade(member=member.id, made=Made.PRINTED, why="painted on the glass")
    if wish is not None:
        return MemberMade(member=member.id, made=Made(wish), why=WISHED)
    if straight and member.role is not Role.BORDER and is_bent(member.centreline):
        return MemberMade(
            member=member.id, made=Made.PRINTED, why="curved, and the cutter cuts straight lines"
        )
    if member.width_mm >= limit_mm - _HAIR_MM:
        return MemberMade(
            member=member.id, made=Made.CUT, why=f"{width}, {limit_mm:g} mm can be cut"
        )
    return MemberMade(
        member=member.id, made=Made.PRINTED, why=f"{width}, {limit_mm:g} mm is the least to cut"
    )


def is_bent(line: Sequence[Point]) -> bool:
    """The line leaves the straight from end to end by more than a hair."""
    if len(line) < 3:
        return False
    points = np.asarray(line, dtype=np.float64) - line[0]
    end = points[-1]
    span = float(np.hypot(*end))
    off = np.abs(points[:, 0] * end[1] - points[:, 1] * end[0]) / max(span, 1e-9)
    return span < 1e-9 or float(off.max()) > 0.05


def cut_in_one_piece(
    window: Window,
    made: Sequence[MemberMade],
    *,
    web_mm: float,
    stay_mm: float,
    check_border: Callable[[Sequence[MemberMade]], None],
) -> tuple[CutSet, tuple[Finding, ...]]:
    """The cut members as one piece that holds together; loose ones get stays or are printed.

    web_mm : a joint narrower than this does not hold
    stay_mm : width of a stay
    check_border : raises FrameError, if no cut border is there to hold the rest
    """
    leads = AreaSet.of_groups([member.area for member in window.members])
    items = _without_stubs(window, leads, made)
    stays: list[Stay] = []
    moved: list[int] = []
    touching: Neighbours | None = None
    while True:
        cut = [i for i, item in enumerate(items) if item.made is Made.CUT]
        check_border(items)
        area = _cut_area(window, leads, cut)
        if stays:
            area = Area.union([area, *(Area.of(stay.area) for stay in stays)])
        loose = _loose(window, leads, cut, area, web_mm)
        if not loose:
            break
        touching = touching or touching_members(leads)
        ties = Ties(window=window, touching=touching, made=items, width_mm=stay_mm)
        held = frozenset(cut) - frozenset(loose)
        stayed = {name for stay in stays for name in stay.holds}
        for part in loose_parts(loose, touching):
            again = any(window.members[i].id in stayed for i in part)
            found = () if again else stays_for(part, held, ties)
            stays += found
            if not found:
                _print(items, part)
                moved += part
    whole = CutSet(made=tuple(items), area=area, leads=leads, stays=tuple(stays))
    return whole, (*_moved_findings(window, moved), *_stay_findings(stays))


def _without_stubs(window: Window, leads: AreaSet, made: Sequence[MemberMade]) -> list[MemberMade]:
    """Short members left with a free end are printed, one after the other; wishes stand."""
    items = list(made)
    while True:
        cut = [i for i, item in enumerate(items) if item.made is Made.CUT]
        if len(cut) == len(items):
            return items  # every end meets another cut member
        short = [i for i in stubs(window, leads, cut) if items[i].why != WISHED]
        if not short:
            return items
        for i in short:
            items[i] = replace(items[i], made=Made.PRINTED, why="a short stub with a free end")


def _print(items: list[MemberMade], part: Sequence[int]) -> None:
    for i in part:
        items[i] = replace(items[i], made=Made.PRINTED, why="no cut member ties it to the border")


def _cut_area(window: Window, leads: AreaSet, cut: Sequence[int]) -> Area:
    """The area of the cut members, joints between them filled."""
    if len(cut) == len(window.members) and not any(p.region.holes for p in window.panes):
        whole = Region(window.outline.outer, tuple(p.region.outer for p in window.panes))
        if sound_regions([whole])[0]:
            return Area.of((whole,))
    printed = leads.chosen(sorted(set(range(len(leads))) - set(cut)))
    area = leads.chosen(cut).joined().healed(_CRACK_MM)
    if len(cut) == len(window.members):
        return area
    reached = [i for i in cut if len(window.members[i].centreline) > 1]
    strokes = AreaSet.of_strokes(
        [window.members[i].centreline for i in reached],
        [window.members[i].width_mm for i in reached],
        cap="square",
    )
    fills = AreaSet.of_areas(_under(_joints(strokes, printed), printed).parts())
    ties = [fills[i] for i in _joining(fills, leads.chosen(cut))]
    # a printed lead that runs into the border, or a scrap of border, is board where the border is
    ties.append(_under(border_band(window), printed))
    return Area.union([area, *ties]).healed(_CRACK_MM)


def _under(area: Area, printed: AreaSet) -> Area:
    """The area's share of the printed members; only those that it meets are joined."""
    return area & printed.chosen(np.flatnonzero(printed.touching(area))).joined()


def _joints(strokes: AreaSet, printed: AreaSet) -> Area:
    """The strokes that reach into a printed member, where a joint may be theirs."""
    here, _ = strokes.meeting(printed)
    return strokes.chosen(sorted(set(here.tolist()))).joined()


def _joining(fills: AreaSet, cut: AreaSet) -> list[int]:
    """The fills that tie two cut members; at a member's free end there is nothing to tie."""
    touched, _ = fills.within(cut, _HAIR_MM * 100.0)
    return np.flatnonzero(np.bincount(touched, minlength=len(fills)) > 1).tolist()


def _loose(
    window: Window, leads: AreaSet, cut: Sequence[int], area: Area, web_mm: float
) -> list[int]:
    """The cut members that hang on the border by nothing as wide as the web."""
    widths = [window.members[i].width_mm for i in cut]
    web = min(web_mm, *widths, web_mm) * _SLACK
    cores = area.grown(-web / 2.0).parts()
    borders = [i for i in cut if window.members[i].role is Role.BORDER]
    rim = leads.chosen(borders)
    main = max(
        cores,
        key=lambda core: (float(rim.areas_mm2()[rim.touching(core)].sum()), core.area_mm2),
        default=Area.empty(),
    )
    held = leads.chosen(cut).touching(main)
    return [i for i, ok in zip(cut, held, strict=True) if not ok]


def _moved_findings(window: Window, moved: Sequence[int]) -> tuple[Finding, ...]:
    if not moved:
        return ()
    members = [window.members[i] for i in moved]
    names = ", ".join(member.id for member in members[:8]) + (" …" if len(members) > 8 else "")
    place = Area.of(members[0].area).inner_point() if members[0].area else None
    return (
        Finding(
            severity=Severity.NOTE,
            where="frame",
            what=f"wide enough to cut, but hanging on nothing cut, and so printed: {names}",
            hint="widen the members that tie them to the border to have them cut",
            place=place,
        ),
    )


def _stay_findings(stays: Sequence[Stay]) -> tuple[Finding, ...]:
    if not stays:
        return ()
    parts = {stay.holds for stay in stays}
    return (
        Finding(
            severity=Severity.NOTE,
            where="frame, inner layer",
            what=f"{counted(len(parts), 'loose part')} held by "
            f"{counted(len(stays), 'stay')} {stays[0].width_mm:g} mm wide, over printed "
            "leads",
            hint='have the part\'s members "printed" to do without',
            place=Area.of(stays[0].area).inner_point(),
        ),
    )
