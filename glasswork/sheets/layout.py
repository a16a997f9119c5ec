"""Where a film lies on its page, with its marks, its two rules and its heading around it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

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


class Placed(Struct, frozen=True, kw_only=True):
    """A film on its page.

    film : the box of its trimmed outline on the page
    turned : the panel lies on its side, its top to the right
    """

    to_page: Affine
    film: Box
    marks: tuple[Point, ...]
    turned: bool


class Laid(Struct, frozen=True, kw_only=True):
    """One page of films. jobs : which films, as indices; free : room left for a check strip

    Films, marks, rules and heading do not overlap, and all lie where the printer reaches.
    """

    jobs: tuple[int, ...]
    placed: tuple[Placed, ...]
    rules: tuple[Rule, Rule]
    heading: Box
    free: tuple[Box, ...]


class Room(Struct, frozen=True, kw_only=True):
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

    def fits(self, film: Box) -> bool:
        """Whether a film of this size has room, upright or on its side."""
        sides = ((film.width, film.height), (film.height, film.width))
        return any(_spot(width, height, self.body) is not None for width, height in sides)

    def too_small(self, film: Box) -> SheetError:
        most = (self.body.width - 2 * RIM_MM, self.body.height - 2 * RIM_MM)
        return SheetError(
            f"film on {self.name}",
            f"a film of {film.width:.1f} x {film.height:.1f} mm, pin ears included, is larger than "
            f"the {most[0]:.1f} x {most[1]:.1f} mm that the page holds beside marks and rules",
            "choose a smaller width or scale, or a larger page",
        )


def lay_singly(films: Sequence[Box], room: Room, *, mirrored: Sequence[bool]) -> tuple[Laid, ...]:
    """Each film, given by the box of its trimmed outline in panel mm, on a page of its own.

    A film is laid upright if that fits, else on its side.

    Raises: SheetError, if one fits neither way
    """
    return tuple(
        _alone(number, film, room, mirrored=flip)
        for number, (film, flip) in enumerate(zip(films, mirrored, strict=True))
    )


def _alone(number: int, film: Box, room: Room, *, mirrored: bool) -> Laid:
    for turned in (False, True):
        width, height = (film.height, film.width) if turned else (film.width, film.height)
        spot = _spot(width, height, room.body)
        if spot is not None:
            lying, rules = spot
            return Laid(
                jobs=(number,),
                placed=(_placed(film, lying, turned=turned, mirrored=mirrored),),
                rules=rules,
                heading=room.heading,
                free=_left_over(lying, rules, room.body),
            )
    raise room.too_small(film)


def lay_together(films: Sequence[Box], room: Room, *, mirrored: Sequence[bool]) -> tuple[Laid, ...]:
    """Films row by row, as many on a page as fit; tall ones first would save little, so the order
    is kept. A film that fits no shared page gets one of its own.

    Raises: SheetError, if one fits no page
    """
    strip = RULE_DEPTH_MM + _GAP_MM
    body = Box(room.body.left + strip, room.body.top, room.body.right, room.body.bottom - strip)
    pages: list[Laid] = []
    row = _Rows(body)
    for number, (film, flip) in enumerate(zip(films, mirrored, strict=True)):
        if not row.take(number, film, mirrored=flip):
            pages += _closed(row, room, body)
            row = _Rows(body)
            if not row.take(number, film, mirrored=flip):
                pages.append(_alone(number, film, room, mirrored=flip))
    return (*pages, *_closed(row, room, body))


def _closed(rows: _Rows, room: Room, body: Box) -> list[Laid]:
    if not rows.jobs:
        return []
    down = body.top + RULE_OVERHANG_MM
    rules = (
        Rule(start=(body.left + RULE_OVERHANG_MM, body.bottom + _GAP_MM), level=True, ticks=1),
        Rule(start=(body.left - _GAP_MM, down), level=False, ticks=-1),
    )
    top = max(body.bottom - 4.0, rows.bottom + _GAP_MM)
    beside = Box(rules[0].box.right + 4.0, top, body.right, room.body.bottom)
    below = Box(body.left, rows.bottom + _GAP_MM, body.right, body.bottom)
    return [
        Laid(
            jobs=tuple(rows.jobs),
            placed=tuple(rows.placed),
            rules=rules,
            heading=room.heading,
            free=(below, beside),
        )
    ]


class _Rows:
    """Films laid row by row."""

    def __init__(self, body: Box) -> None:
        self.body = body
        self.jobs: list[int] = []
        self.placed: list[Placed] = []
        self._x, self._y, self.bottom = body.left, body.top, body.top

    def take(self, number: int, film: Box, *, mirrored: bool) -> bool:
        """Lay one more film, upright or on its side; False if it does not fit."""
        spot = self._upright_or_turned(film)
        if spot is None:
            return False
        (x, y), turned = spot
        width, height = (film.height, film.width) if turned else (film.width, film.height)
        lying = Box(x + RIM_MM, y + RIM_MM, x + RIM_MM + width, y + RIM_MM + height)
        self.jobs.append(number)
        self.placed.append(_placed(film, lying, turned=turned, mirrored=mirrored))
        self._x, self._y = lying.right + RIM_MM, y
        self.bottom = max(self.bottom, lying.bottom + RIM_MM)
        return True

    def _upright_or_turned(self, film: Box) -> tuple[Point, bool] | None:
        rooms = ((self._x, self._y), (self.body.left, self.bottom))
        for x, y in rooms:
            for turned in (False, True):
                width, height = (film.height, film.width) if turned else (film.width, film.height)
                right, low = x + width + 2 * RIM_MM, y + height + 2 * RIM_MM
                if right <= self.body.right and low <= self.body.bottom:
                    return (x, y), turned
        return None


def _placed(film: Box, lying: Box, *, turned: bool, mirrored: bool) -> Placed:
    to_page = _laid(film, lying, turned=turned, mirrored=mirrored)
    return Placed(
        to_page=to_page,
        film=lying,
        marks=tuple(to_page.apply(mark) for mark in panel_marks(film)),
        turned=turned,
    )


def _left_over(film: Box, rules: tuple[Rule, Rule], body: Box) -> tuple[Box, ...]:
    """Below everything, and right of the film."""
    level, upright = rules
    low = max(film.bottom + RIM_MM, level.box.bottom)
    left = body.left
    if upright.box.bottom > low + _GAP_MM:
        left = upright.box.right + _GAP_MM
    below = Box(left, low + _GAP_MM, body.right, body.bottom)
    beside = Box(film.right + RIM_MM + _GAP_MM, film.top, body.right, film.bottom)
    return (below, beside)


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
