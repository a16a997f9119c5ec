"""Which members are cut from board and which are printed on the film."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

import numpy as np

from glasswork.errors import FrameError, GlassworkError, raise_all
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import Board, Cutter, Made, MemberMade
from glasswork.model.geometry import Region
from glasswork.model.window import Member, Role, Window
from glasswork.planar import Area, AreaSet, sound_regions

_HAIR_MM = 1e-6
_SLACK = 0.98
"""Share of the narrowest width at which a joint still counts as held."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSet:
    """What is cut. area : the inner layer before rounding and pin ears, in one piece."""

    made: tuple[MemberMade, ...]
    area: Area
    leads: AreaSet


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


def decide(
    window: Window, limit_mm: float, *, wished: Mapping[str, str], straight_only: bool = False
) -> tuple[MemberMade, ...]:
    """Cut or printed by width, and as the maker wishes.

    wished : member id -> "cut" or "printed"
    Raises: FrameError, if a wish names no member, or is neither word
    """
    _check_wishes(window, wished)
    return tuple(_decided(m, limit_mm, wished.get(m.id), straight_only) for m in window.members)


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
        return MemberMade(member=member.id, made=Made(wish), why="as the project says")
    if straight and len(member.centreline) > 2 and member.role is not Role.BORDER:
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


def cut_in_one_piece(
    window: Window, made: Sequence[MemberMade], *, web_mm: float
) -> tuple[CutSet, tuple[Finding, ...]]:
    """The cut members as one piece that holds together; loose ones become printed.

    web_mm : a joint narrower than this does not hold
    Raises: FrameError, if no cut border is there to hold the rest
    """
    leads = AreaSet.of_groups([member.area for member in window.members])
    items = list(made)
    moved: list[int] = []
    while True:
        cut = [i for i, item in enumerate(items) if item.made is Made.CUT]
        _need_border(window, items, web_mm)
        area = _cut_area(window, leads, cut)
        loose = _loose(window, leads, cut, area, web_mm)
        if not loose:
            break
        for i in loose:
            items[i] = replace(
                items[i], made=Made.PRINTED, why="no cut member ties it to the border"
            )
        moved += loose
    findings = _moved_findings(window, moved)
    return CutSet(made=tuple(items), area=area, leads=leads), findings


def _need_border(window: Window, made: Sequence[MemberMade], web_mm: float) -> None:
    borders = [
        (member, item)
        for member, item in zip(window.members, made, strict=True)
        if member.role is Role.BORDER
    ]
    if any(item.made is Made.CUT for _, item in borders):
        return
    if not borders:
        raise FrameError(
            f"{window.name}, border",
            "the window has no border to hold the frame together",
            "draw a line round the panel, or give the role border to the outermost one",
        )
    widest = max(member.width_mm for member, _ in borders)
    raise FrameError(
        f"{window.name}, border",
        f"{widest:.2f} mm wide, the least that can be cut is {web_mm:g} mm",
        "draw a wider border, make the panel larger, or choose a thinner board",
    )


def _cut_area(window: Window, leads: AreaSet, cut: Sequence[int]) -> Area:
    """The area of the cut members, joints between them filled."""
    if len(cut) == len(window.members) and not any(p.region.holes for p in window.panes):
        whole = Region(window.outline.outer, tuple(p.region.outer for p in window.panes))
        if sound_regions([whole])[0]:
            return Area.of((whole,))
    area = leads.chosen(cut).joined()
    if len(cut) == len(window.members):
        return area
    reached = [i for i in cut if len(window.members[i].centreline) > 1]
    if not reached:
        return area
    strokes = AreaSet.of_strokes(
        [window.members[i].centreline for i in reached],
        [window.members[i].width_mm for i in reached],
        cap="square",
    )
    printed = leads.chosen(sorted(set(range(len(leads))) - set(cut)))
    return area | (_joints(strokes, printed) & printed.joined())


def _joints(strokes: AreaSet, printed: AreaSet) -> Area:
    """The strokes that reach into a printed member, where a joint may be theirs."""
    here, _ = strokes.meeting(printed)
    return strokes.chosen(np.unique(here)).joined()


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
            what=f"{len(members)} members wide enough to cut hang on nothing cut and are printed "
            f"({names})",
            hint="widen the members that tie them to the border to have them cut",
            place=place,
        ),
    )
