"""Where a film lies on its page, with its marks, its two rules and its heading around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from glasswork.errors import SheetError
from glasswork.model.geometry import Affine, Box, Point
from glasswork.sheets.marks import ARM_MM, CLEAR_MM, RULE_DEPTH_MM, RULE_MM, RULE_OVERHANG_MM, Rule

HEADING_MM: Final = 12.0
MARK_OFF_MM: Final = 4.0
"""How far the marks' centres stand off the film's trimmed corners, on each axis."""
RIM_MM: Final = MARK_OFF_MM + ARM_MM + 0.2
ODD_MARK_MM: Final = 12.0
"""The mark beside the panel's top right corner is moved in by this, so that films turned over
show at once."""
_RULE_LONG_MM: Final = RULE_MM + 2.0 * RULE_OVERHANG_MM
_RULE_OFF_MM: Final = 1.2
_GAP_MM: Final = 1.0
_APART_MM: Final = 2.0
"""Between the end of the upright rule and the level one, so that their figures stand free."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A film on its page; all in the page's true millimetres, before print-scale compensation.

    turned : the panel lies on its side, its top to the right
    """

    to_page: Affine
    film: Box
    marks: tuple[Point, ...]
    rules: tuple[Rule, Rule]
    heading: Box
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What a page offers. body : below the heading"""

    name: str
    heading: Box
    body: Box

    @classmethod
    def on(cls, printable: Box, *, name: str) -> Room:
        left, top, right, bottom = printable
        split = top + HEADING_MM
        return cls(
            name=name,
            heading=Box(left, top, right, split),
            body=Box(left, split, right, bottom),
        )


def place_film(film: Box, room: Room, *, mirrored: bool) -> Placed:
    """A film, given by the box of its trimmed outline in panel mm, laid on a page.

    It is laid upright if that fits, else on its side.

    Raises: SheetError, if it fits neither way
    """
    for turned in (False, True):
        width, height = (film.height, film.width) if turned else (film.width, film.height)
        spot = _spot(width, height, room.body)
        if spot is not None:
            lying, rules = spot
            to_page = _laid(film, lying, turned=turned, mirrored=mirrored)
            return Placed(
                to_page=to_page,
                film=lying,
                marks=tuple(to_page.apply(mark) for mark in panel_marks(film)),
                rules=rules,
                heading=room.heading,
                turned=turned,
            )
    most = (room.body.width - 2 * RIM_MM, room.body.height - 2 * RIM_MM)
    raise SheetError(
        f"film on {room.name}",
        f"a film of {film.width:.1f} x {film.height:.1f} mm, pin ears included, is larger than the "
        f"{most[0]:.1f} x {most[1]:.1f} mm that the page holds beside marks and rules",
        "choose a smaller width or scale, or a larger page",
    )


def panel_marks(film: Box) -> tuple[Point, ...]:
    """Centres of the four marks in panel mm; the second is moved in."""
    around = film.grown(MARK_OFF_MM)
    odd = min(ODD_MARK_MM, film.width / 4.0)
    return (
        (around.left, around.top),
        (around.right - odd, around.top),
        (around.right, around.bottom),
        (around.left, around.bottom),
    )


def _laid(film: Box, lying: Box, *, turned: bool, mirrored: bool) -> Affine:
    """The map that lays the film's box on a box of the page."""
    home = Affine.shift(-film.left, -film.top)
    if turned:
        turn = Affine(a=0.0, b=1.0, c=-1.0, d=0.0, e=film.height, f=0.0)
        flip = Affine(d=-1.0, f=film.width) if mirrored else Affine()
    else:
        turn = Affine()
        flip = Affine(a=-1.0, e=film.width) if mirrored else Affine()
    return home.then(turn).then(flip).then(Affine.shift(lying.left, lying.top))


def _spot(width: float, height: float, body: Box) -> tuple[Box, tuple[Rule, Rule]] | None:
    """Where a film of this size lies, and its rules, level one first; None if there is no room."""
    inside_level = width + 2 * (MARK_OFF_MM - CLEAR_MM) >= _RULE_LONG_MM
    inside_upright = height + 2 * (MARK_OFF_MM - CLEAR_MM) >= _RULE_LONG_MM
    rule = RULE_DEPTH_MM + _GAP_MM
    needs_w = width + 2 * RIM_MM
    needs_h = height + 2 * RIM_MM + (0.0 if inside_level else rule)
    beside = not inside_upright and needs_w + rule <= body.width
    below = not inside_upright and not beside
    if beside:
        needs_w += rule
        needs_h = max(needs_h, _RULE_LONG_MM)
    if below:
        needs_h += _RULE_LONG_MM
    if needs_w > body.width or needs_h > body.height:
        return None
    left = body.left + (body.width - needs_w) / 2.0 + (rule if beside else 0.0) + RIM_MM
    top = body.top + RIM_MM
    film = Box(left, top, left + width, top + height)
    upright = _upright(film, body, beside=beside, below=below)
    clear_of = upright.box.bottom + _APART_MM if beside else 0.0
    level = _level(film, body, inside=inside_level, clear_of=clear_of)
    return (film, (level, upright)) if level.box.bottom <= body.bottom else None


def _level(film: Box, body: Box, *, inside: bool, clear_of: float) -> Rule:
    """The rule that runs across: in the strip of the lower marks, or below it.

    clear_of : the height that it must stay below where it runs outside the strip, page mm
    """
    middle = film.centre[0] - RULE_MM / 2.0
    if inside:
        return Rule(start=(middle, film.bottom + _RULE_OFF_MM), level=True, ticks=1)
    low = body.left + RULE_OVERHANG_MM + RULE_DEPTH_MM + _GAP_MM
    high = body.right - RULE_OVERHANG_MM - RULE_MM
    start = min(max(middle, low), high)
    y = max(film.bottom + RIM_MM + _GAP_MM, clear_of)
    return Rule(start=(start, y), level=True, ticks=1)


def _upright(film: Box, body: Box, *, beside: bool, below: bool) -> Rule:
    """The rule that runs down: in the strip of the left marks, beside it, or below the film."""
    if below:
        x = body.left + RULE_DEPTH_MM + _GAP_MM
        y = body.bottom - RULE_OVERHANG_MM - RULE_MM
        return Rule(start=(x, y), level=False, ticks=-1)
    if beside:
        x = film.left - RIM_MM - _GAP_MM
        y = max(body.top + RULE_OVERHANG_MM, film.centre[1] - RULE_MM / 2.0)
        return Rule(start=(x, y), level=False, ticks=-1)
    y = film.centre[1] - RULE_MM / 2.0
    return Rule(start=(film.left - _RULE_OFF_MM, y), level=False, ticks=-1)
