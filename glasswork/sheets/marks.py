"""Registration marks and rules, as filled areas: readers move strokes to whole pixels."""

from __future__ import annotations

from functools import cache
from math import cos, pi, sin
from typing import Final

from msgspec import Struct

from glasswork.model.geometry import Affine, Box, Point, Region, Regions
from glasswork.model.sheet import Fill, Item, Text
from glasswork.model.typeface import CAP_HEIGHT
from glasswork.planar import Area
from glasswork.units import pt_to_mm

BLACK: Final = (0, 0, 0)
GREY: Final = (110, 110, 110)
ARM_MM: Final = 2.5
RING_MM: Final = 1.5
STROKE_MM: Final = 0.15
CLEAR_MM: Final = 3.2
"""Half the side of the square round a mark in which nothing else is printed."""

RULE_MM: Final = 100.0
TICK_MM: Final = 2.2
RULE_DEPTH_MM: Final = 4.8
"""From the rule's base line to the far edge of its figures."""
RULE_OVERHANG_MM: Final = 2.0
_SMALL_PT: Final = 7.0


def rectangle(box: Box) -> Region:
    return Region(
        (
            (box.left, box.top),
            (box.right, box.top),
            (box.right, box.bottom),
            (box.left, box.bottom),
        )
    )


def ring_round(centre: Point, radius_mm: float, *, width_mm: float, chords: int = 48) -> Region:
    """A circular line, as an area."""

    def circle(radius: float) -> tuple[Point, ...]:
        turns = [2.0 * pi * k / chords for k in range(chords)]
        return tuple((centre[0] + radius * cos(t), centre[1] + radius * sin(t)) for t in turns)

    return Region(circle(radius_mm + width_mm / 2.0), (circle(radius_mm - width_mm / 2.0),))


def bar(first: Point, last: Point, *, width_mm: float) -> Region:
    """An upright or level line, as an area."""
    half = width_mm / 2.0
    level = abs(last[0] - first[0]) > abs(last[1] - first[1])
    box = Box.around((first, last))
    grow = (0.0, half) if level else (half, 0.0)
    return rectangle(
        Box(box.left - grow[0], box.top - grow[1], box.right + grow[0], box.bottom + grow[1])
    )


@cache
def _mark() -> Regions:
    """Cross and ring about the origin as one area: readers move lone rectangles to whole pixels."""
    arms = (
        bar((-ARM_MM, 0.0), (ARM_MM, 0.0), width_mm=STROKE_MM),
        bar((0.0, -ARM_MM), (0.0, ARM_MM), width_mm=STROKE_MM),
    )
    return Area.of((*arms, ring_round((0.0, 0.0), RING_MM, width_mm=STROKE_MM))).regions()


def registration_mark(centre: Point) -> Item:
    """A cross in a ring; even about its centre in every way."""
    place = Affine.shift(*centre)
    return Fill(area=tuple(part.mapped(place) for part in _mark()), colour=BLACK, name="mark")


class Rule(Struct, frozen=True, kw_only=True):
    """A 100 mm rule.

    start : its zero, the middle of the first tick
    level : it runs across; if not, down
    ticks : +1 if they stand below or right of the base line, -1 if above or left
    """

    start: Point
    level: bool
    ticks: int

    def point(self, along_mm: float, aside_mm: float) -> Point:
        """A place on the rule: so far along it, so far towards its ticks."""
        x, y = self.start
        aside = aside_mm * self.ticks
        return (x + along_mm, y + aside) if self.level else (x + aside, y + along_mm)

    @property
    def ends(self) -> tuple[Point, Point]:
        return (self.point(0.0, 0.0), self.point(RULE_MM, 0.0))

    @property
    def box(self) -> Box:
        """Everything it prints."""
        return Box.around(
            (
                self.point(-RULE_OVERHANG_MM, -STROKE_MM),
                self.point(RULE_MM + RULE_OVERHANG_MM, RULE_DEPTH_MM),
            )
        )

    def items(self) -> tuple[Item, ...]:
        """Base line, a tick every 5 mm, figures at 0, 50 and 100."""
        half = STROKE_MM / 2.0
        ends = (self.point(-half, 0.0), self.point(RULE_MM + half, 0.0))
        base = bar(*ends, width_mm=STROKE_MM)
        ticks = [
            bar(self.point(at, 0.0), self.point(at, self._tick(at)), width_mm=STROKE_MM)
            for at in range(0, int(RULE_MM) + 1, 5)
        ]
        figures = [self._figure(at, text) for at, text in ((0, "0"), (50, "50"), (100, "100 mm"))]
        comb = Area.of((base, *ticks)).regions()
        return (Fill(area=comb, colour=BLACK, name="rule"), *figures)

    def _tick(self, at: int) -> float:
        return TICK_MM if at % 50 == 0 else 1.6 if at % 10 == 0 else 1.0

    def _figure(self, at: int, text: str) -> Text:
        """Beyond the ticks; beside an upright rule the figures read downwards."""
        cap = pt_to_mm(_SMALL_PT) * CAP_HEIGHT
        body = cap if self.level == (self.ticks > 0) else 0.0
        nudge = {0: -1.0, 50: 0.0, 100: 1.0}[at]
        return Text(
            at=self.point(at + nudge, TICK_MM + 0.6 + body),
            text=text,
            size_pt=_SMALL_PT,
            anchor={0: "start", 50: "middle", 100: "end"}[at],
            turn_deg=0.0 if self.level else 90.0,
        )
