"""Drawn things strips share: fiducials, the machine-readable code, rules, alignment marks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from glasswork.model.geometry import Box, Point, Region, Regions
from glasswork.model.sheet import Colour, Fill, Item, Line, Text

BLACK: Colour = (0, 0, 0)
GREY: Colour = (96, 96, 96)


def square(box: Box) -> Region:
    """A box as an area."""
    return Region(
        (
            (box.left, box.top),
            (box.right, box.top),
            (box.right, box.bottom),
            (box.left, box.bottom),
        )
    )


def filled(box: Box, colour: Colour, *, name: str = "") -> Fill:
    """A filled box."""
    return Fill(area=(square(box),), colour=colour, name=name)


def fiducial(number: int, box: Box) -> Fill:
    """A square mark with a pattern that says which it is: 4 x 4 cells in a black border."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    bits = cv2.aruco.generateImageMarker(book, number, 6) == 0
    return Fill(area=cells(bits.tolist(), box), colour=BLACK, name=f"fiducial {number}")


def code_squares(text: str, box: Box) -> Fill:
    """The machine-readable code of a text (ISO/IEC 18004), error level Q, as squares."""
    import segno

    code = segno.make(text, error="q", micro=False, boost_error=False)
    return Fill(area=cells(code.matrix, box), colour=BLACK, name="code")


def cells(rows: Iterable[Sequence[Any]], box: Box) -> Regions:
    """The set cells of a matrix as areas: one for each run of cells in a row."""
    matrix = [list(row) for row in rows]
    high, wide = box.height / len(matrix), box.width / len(matrix[0])
    areas = []
    for i, row in enumerate(matrix):
        top, start = box.top + i * high, 0
        while start < len(row):
            end = start
            while end < len(row) and row[end]:
                end += 1
            if end > start:
                # A hair of overlap, so that no renderer leaves a seam between rows.
                under = box.top + (i + 1) * high + (0.01 if i + 1 < len(matrix) else 0.0)
                areas.append(
                    square(Box(box.left + start * wide, top, box.left + end * wide, under))
                )
            start = end + 1
    return tuple(areas)


def rule(start: Point, *, length_mm: float, down: bool) -> list[Item]:
    """A rule with a tick each 10 mm, long ones at the ends, which are measured."""
    x, y = start
    items: list[Item] = []

    def place(along: float, aside: float) -> Point:
        return (x + aside, y + along) if down else (x + along, y + aside)

    items.append(Line(points=(place(0.0, 0.0), place(length_mm, 0.0)), width_mm=0.15))
    for step in range(int(length_mm // 10) + 1):
        long = step in (0, int(length_mm // 10))
        side = 3.0 if long else 1.5
        items.append(
            Line(points=(place(step * 10.0, 0.0), place(step * 10.0, side)), width_mm=0.15)
        )
    label = Text(
        at=place(length_mm / 2.0, 5.0),
        text=f"{length_mm:g} mm, end tick to end tick",
        size_pt=6.5,
        anchor="middle",
        turn_deg=90.0 if down else 0.0,
    )
    return [*items, label]


def align_mark(at: Point) -> list[Item]:
    """A ring with a cross, to lay one film on another by."""
    x, y = at
    ring = tuple((x + 1.5 * c, y + 1.5 * s) for c, s in _CIRCLE)
    return [
        Line(points=ring, width_mm=0.12, closed=True),
        Line(points=((x - 2.5, y), (x + 2.5, y)), width_mm=0.1),
        Line(points=((x, y - 2.5), (x, y + 2.5)), width_mm=0.1),
    ]


def _circle(corners: int = 36) -> tuple[Point, ...]:
    from math import cos, pi, sin

    return tuple((cos(2 * pi * i / corners), sin(2 * pi * i / corners)) for i in range(corners))


_CIRCLE = _circle()
