"""Dimension lines: a line, its ends, and a figure on it."""

from __future__ import annotations

from math import hypot
from typing import Final

from glasswork.model.geometry import Point, Region
from glasswork.model.sheet import Fill, Item, Line, Lines, Text
from glasswork.model.typeface import CAP_HEIGHT, text_width_pt
from glasswork.sheets.tint import DIMENSION
from glasswork.units import pt_to_mm

SMALL_PT: Final = 7.0
_TICK_MM: Final = 1.2
CAP_MM: Final = pt_to_mm(SMALL_PT) * CAP_HEIGHT


def level_dimension(span: tuple[float, float], y: float, text: str) -> list[Item]:
    """A dimension line from left to right, its figure on it."""
    left, right = span
    return [
        Line(points=((left, y), (right, y)), width_mm=0.12, colour=DIMENSION),
        *_arrows((left, y), (right, y)),
        *_ends((left, y), (right, y)),
        Text(
            at=((left + right) / 2.0, y - _clear_mm(text, right - left)),
            text=text,
            size_pt=SMALL_PT,
            anchor="middle",
            colour=DIMENSION,
        ),
    ]


def upright_dimension(span: tuple[float, float], x: float, text: str) -> list[Item]:
    """A dimension line from top to bottom, its figure along it, read from the right."""
    top, bottom = span
    return [
        Line(points=((x, top), (x, bottom)), width_mm=0.12, colour=DIMENSION),
        *_arrows((x, top), (x, bottom)),
        *_ends((x, top), (x, bottom)),
        Text(
            at=(x - _clear_mm(text, bottom - top), (top + bottom) / 2.0),
            text=text,
            size_pt=SMALL_PT,
            anchor="middle",
            colour=DIMENSION,
            turn_deg=-90.0,
        ),
    ]


def _clear_mm(text: str, span_mm: float) -> float:
    """How far a figure stands off its line: above the end ticks too where it is as wide."""
    wide = pt_to_mm(text_width_pt(text, SMALL_PT)) > span_mm - 1.0
    return _TICK_MM + 0.5 if wide else 0.7


def _arrows(first: Point, last: Point) -> list[Item]:
    span = hypot(last[0] - first[0], last[1] - first[1])
    if span < 4.0:
        return []
    ux, uy = (last[0] - first[0]) / span, (last[1] - first[1]) / span

    def head(tip: Point, way: float) -> Region:
        x, y = tip
        back = (x + ux * 1.6 * way, y + uy * 1.6 * way)
        return Region(
            (
                tip,
                (back[0] - uy * 0.4, back[1] + ux * 0.4),
                (back[0] + uy * 0.4, back[1] - ux * 0.4),
            )
        )

    return [Fill(area=(head(first, 1.0), head(last, -1.0)), colour=DIMENSION)]


def _ends(first: Point, last: Point) -> list[Item]:
    level = first[1] == last[1]
    ticks = tuple(
        ((x, y - _TICK_MM), (x, y + _TICK_MM)) if level else ((x - _TICK_MM, y), (x + _TICK_MM, y))
        for x, y in (first, last)
    )
    return [Lines(paths=ticks, width_mm=0.12, colour=DIMENSION)]
