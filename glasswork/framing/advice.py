"""Refusals that name what would do: a border, a width of the window, a thinner board."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, floor

from msgspec import Struct

from glasswork.errors import FrameError, GlassworkError
from glasswork.framing.ears import ear_size, place_ears
from glasswork.framing.jig import build_jig
from glasswork.framing.made import WISHED, check_means, narrowest_cut_mm
from glasswork.framing.nest import MARGIN_MM, fits_bed
from glasswork.model.frame import Board, Cutter, Made, MemberMade
from glasswork.model.geometry import Affine, Box, Region
from glasswork.model.window import Role, Window

_HAIR_MM = 1e-6
_GROWTH = 1.08
"""A panel that has to be larger is tried in steps of this."""


class Choices(Struct, frozen=True, kw_only=True):
    """What may be changed to make a frame that is refused.

    others : asked for boards that could be cut instead; none if the levels have their own
    sized : an opening settles the panel's size
    grows : the border grows with the window; not if its width is given in mm
    """

    others: Callable[[], tuple[Board, ...]] = tuple
    sized: bool = False
    grows: bool = True


class Bed(Struct, frozen=True, kw_only=True):
    """What has to lie on the cutter's bed. grained : parts keep their direction"""

    boards: tuple[Board, ...]
    cutter: Cutter
    jig: bool
    margin_mm: float

    def takes(self, outline: Region) -> bool:
        """A panel of this outline has room on the bed with its pin ears, and its tray."""
        web = max(board.web_refuse_mm for board in self.boards)
        grained = any(board.grain for board in self.boards)
        try:
            ears = place_ears(outline, ear_size((outline.box.width, outline.box.height), web))
        except FrameError:
            return False
        box = Box.around([*outline.outer, *(point for ear in ears for point in ear.tab.outer)])
        sizes = [(box.width, box.height)]
        if self.jig:
            for layer in build_jig(outline, ears, self.boards[0], margin_mm=self.margin_mm):
                plate = layer.pieces[0].box
                sizes.append((plate.width, plate.height))
        return all(fits_bed(size, self.cutter.bed_mm, turnable=not grained) for size in sizes)


def least_border_mm(boards: Sequence[Board], cutter: Cutter) -> float:
    """The narrowest border that every one of the boards can be cut to."""
    return max(narrowest_cut_mm(board, cutter) for board in boards)


def check_border(window: Window, made: Sequence[MemberMade], bed: Bed, choices: Choices) -> None:
    """Raises: FrameError, if nothing of the border is cut: with what would do"""
    borders = [
        (member.width_mm, item)
        for member, item in zip(window.members, made, strict=True)
        if member.role is Role.BORDER
    ]
    if any(item.made is Made.CUT for _, item in borders):
        return
    where = f"{window.name}, border"
    if not borders:
        raise FrameError(
            where,
            "the window has no border to hold the frame together",
            "draw a line round the panel, or give the role border to the outermost one",
        )
    if all(item.why == WISHED for _, item in borders):
        raise FrameError(
            where,
            "all of it is to be printed, and nothing is left to hold the frame together",
            'take its members\' "printed" out of [members]',
        )
    widest = max(width for width, _ in borders)
    least = narrowest_cut_mm(bed.boards[0], bed.cutter)
    raise FrameError(
        where,
        f"{widest:.2f} mm wide, the least that can be cut is {least:g} mm",
        _wider(window, widest, bed, choices),
    )


def _wider(window: Window, widest_mm: float, bed: Bed, choices: Choices) -> str:
    """What would make the border wide enough."""
    need = least_border_mm(bed.boards, bed.cutter)
    ways = [f"make the border {need:g} mm wide in the panel (a line: [widths] border = {need:g})"]
    times = need / widest_mm
    width = ceil(window.size_mm[0] * times - _HAIR_MM)
    if choices.grows and not choices.sized:
        grown = window.outline.mapped(Affine.scale(width / window.size_mm[0]))
        if bed.takes(grown):
            ways.append(f"make the window {width} mm wide (--width {width})")
    thinner = [board for board in choices.others() if _would_do(board, widest_mm, bed.cutter)]
    if thinner:
        board = max(thinner, key=lambda one: one.thickness_mm)
        ways.append(f"choose {board.title} (--board {board.name})")
    elif len(ways) == 1 and all(board.web_refuse_mm <= widest_mm for board in bed.boards):
        ways.append(f"choose a cutter that cuts {floor(widest_mm * 100.0) / 100.0:g} mm")
    return ", or ".join(ways)


def _would_do(board: Board, border_mm: float, cutter: Cutter) -> bool:
    try:
        check_means(board, cutter)
    except GlassworkError:
        return False
    return narrowest_cut_mm(board, cutter) <= border_mm + _HAIR_MM


def smaller_panel(window: Window, bed: Bed, choices: Choices) -> str:
    """What to do about a part that is too large for the bed: the largest width that has room."""
    larger = "choose a cutter with a larger bed"
    if choices.sized:
        return f"{larger}, or make the opening smaller"
    width = _largest_width_mm(window, bed)
    border = max((m.width_mm for m in window.members if m.role is Role.BORDER), default=0.0)
    times = (width or 0) / window.size_mm[0]
    if not width or (
        choices.grows and border * times < least_border_mm(bed.boards, bed.cutter) - _HAIR_MM
    ):
        return larger
    return f"make the panel at most {width} mm wide (--width {width}), or {larger}"


def larger_panel(window: Window, bed: Bed, choices: Choices) -> str:
    """What to do about an edge without room for pin ears: the least width that has it."""
    edge = "give its edge three longer stretches that are nearly straight"
    if choices.sized:
        return f"make the opening larger, or {edge}"
    width = _least_width_mm(window, bed)
    if width is None:
        return edge
    return f"make the panel {width} mm wide (--width {width}), or {edge}"


def _least_width_mm(window: Window, bed: Bed) -> int | None:
    """The least whole number of mm, above the window's width, that has room; nearly."""
    wide = window.size_mm[0]

    def takes(width: int) -> bool:
        return bed.takes(window.outline.mapped(Affine.scale(width / wide)))

    low, high = floor(wide), ceil(wide)
    most = max(bed.cutter.bed_mm)
    while not takes(high := ceil(high * _GROWTH)):
        low = high
        if high > most:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if takes(middle) else (middle, high)
    return high


def _largest_width_mm(window: Window, bed: Bed) -> int | None:
    """The largest whole number of mm, below the window's width, that has room."""
    wide = window.size_mm[0]
    low, high = 0, floor(min(wide, max(bed.cutter.bed_mm) - 2.0 * MARGIN_MM))
    while low < high:
        middle = (low + high + 1) // 2
        if bed.takes(window.outline.mapped(Affine.scale(middle / wide))):
            low = middle
        else:
            high = middle - 1
    return low or None
