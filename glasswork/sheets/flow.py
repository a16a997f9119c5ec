"""A column of text, tables and pictures that runs on from page to page."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from msgspec import Struct

from glasswork.model.geometry import Box
from glasswork.model.sheet import Colour, Fill, Item, Line, Page, PageSize, Text
from glasswork.model.typeface import CAP_HEIGHT, text_width_pt
from glasswork.sheets.marks import rectangle
from glasswork.units import pt_to_mm

INK: Final = (34, 38, 44)
SOFT: Final = (104, 110, 118)
ACCENT: Final = (18, 84, 104)
HAIR: Final = (200, 204, 208)
PALE: Final = (240, 243, 244)
BODY_PT: Final = 8.5
SMALL_PT: Final = 7.5
LEADING: Final = 1.38
_SIDE_MM: Final = 16.0
_TOP_MM: Final = 15.0
_FOOT_MM: Final = 15.0
_SWATCH_MM: Final = 4.5
_UNIT: Final = re.compile(r"(mm|mm²|cm²|K|%|mA|mW|V|W|Ω|h|nm)[.,;:)]*")
_BEFORE_HEADING_MM: Final = 5.0


def wrapped(text: str, size_pt: float, width_mm: float, *, bold: bool = False) -> list[str]:
    """The text in lines no wider than the column; a word wider than it is broken, a figure keeps
    its unit."""
    lines: list[str] = []
    line = ""
    for word in _words(text):
        longer = f"{line} {word}" if line else word
        if _mm(longer, size_pt, bold) <= width_mm:
            line = longer
            continue
        if line:
            lines.append(line)
        while _mm(word, size_pt, bold) > width_mm and len(word) > 1:
            fits = next(n for n in range(len(word) - 1, 0, -1)
                        if n == 1 or _mm(word[:n], size_pt, bold) <= width_mm)  # fmt: skip
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [*lines, line] if line else lines


def _words(text: str) -> list[str]:
    words: list[str] = []
    for word in text.split():
        if words and words[-1][-1].isdigit() and _UNIT.fullmatch(word):
            words[-1] = f"{words[-1]} {word}"
        else:
            words.append(word)
    return words


def _mm(text: str, size_pt: float, bold: bool) -> float:
    return pt_to_mm(text_width_pt(text, size_pt, bold=bold))


class Column(Struct, frozen=True, kw_only=True):
    """One column of a table. share : of the width; anchor : "start" or "end"."""

    title: str
    share: float
    anchor: str = "start"


class Cell(Struct, frozen=True, kw_only=True):
    """One cell. swatches : colour samples before the text, touching each other"""

    text: str
    bold: bool = False
    swatches: tuple[Colour, ...] = ()
    colour: Colour = INK


def _swatches_mm(cell: Cell) -> float:
    return len(cell.swatches) * _SWATCH_MM + 1.5 if cell.swatches else 0.0


@dataclass(slots=True)
class Flow:
    """Builds pages from the top down.

    y : where the next thing begins
    measuring : pictures take their room but are not drawn
    """

    page: PageSize
    running: str
    measuring: bool = False
    pages: list[list[Item]] = field(default_factory=lambda: [[]])
    y: float = _TOP_MM

    @property
    def left(self) -> float:
        return _SIDE_MM

    @property
    def right(self) -> float:
        return self.page.width_mm - _SIDE_MM

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def bottom(self) -> float:
        return self.page.height_mm - _FOOT_MM

    def add(self, *items: Item) -> None:
        self.pages[-1].extend(items)

    def need(self, mm: float) -> None:
        """A new page if so much does not fit any more."""
        if self.y + mm > self.bottom and self.pages[-1]:
            self.turn()

    def turn(self) -> None:
        """Begin a new page."""
        self.pages.append([])
        self.y = _TOP_MM

    def space(self, mm: float) -> None:
        self.y += mm

    def title(self, text: str, under: str) -> None:
        for line in wrapped(text, 20.0, self.width, bold=True):
            self.y += pt_to_mm(20.0) * CAP_HEIGHT + 1.0
            self.add(Text(at=(self.left, self.y), text=line, size_pt=20.0, bold=True, colour=INK))
            self.y += 3.2
        self.y += 1.6
        self.paragraph(under, colour=SOFT)
        self.y += 2.0

    def heading(self, text: str, *, keep_mm: float = 18.0) -> None:
        """A heading that stays with at least so much of what follows."""
        self.y += _BEFORE_HEADING_MM if self.pages[-1] and self.y > _TOP_MM else 0.0
        self.need(8.0 + keep_mm)
        self.y += 3.4
        self.add(Text(at=(self.left, self.y), text=text, size_pt=12.0, bold=True, colour=ACCENT))
        self.y += 1.9
        self.add(
            Line(points=((self.left, self.y), (self.right, self.y)), width_mm=0.25, colour=ACCENT)
        )
        self.y += 2.6

    def paragraph(
        self,
        text: str,
        *,
        size_pt: float = BODY_PT,
        indent_mm: float = 0.0,
        bold: bool = False,
        colour: Colour = INK,
        width_mm: float | None = None,
    ) -> None:
        step = pt_to_mm(size_pt) * LEADING
        room = (self.width if width_mm is None else width_mm) - indent_mm
        for line in wrapped(text, size_pt, room, bold=bold):
            self.need(step)
            self.add(
                Text(
                    at=(self.left + indent_mm, self.y + step * 0.76),
                    text=line,
                    size_pt=size_pt,
                    bold=bold,
                    colour=colour,
                )
            )
            self.y += step

    def numbered(
        self,
        number: int,
        title: str,
        text: str,
        *,
        picture: Callable[[Box], Iterable[Item]] | None = None,
        picture_mm: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        """A step: its number in the margin, its title, its text, a picture beside; kept whole.

        picture_mm : width and height of the picture at the right
        """
        wide, high = picture_mm if picture is not None else (0.0, 0.0)
        room = self.width - (wide + 6.0 if picture is not None else 0.0)
        lines = len(wrapped(text, BODY_PT, room - 9.0)) + 1
        step = pt_to_mm(BODY_PT) * LEADING
        self.need(max(lines * step, high))
        top = self.y
        base = top + step * 0.76
        self.add(
            Text(
                at=(self.left + 5.6, base), text=str(number), size_pt=11.0, bold=True,
                anchor="end", colour=ACCENT,
            )
        )  # fmt: skip
        if picture is not None and not self.measuring:
            self.add(*picture(Box(self.right - wide, top, self.right, top + high)))
        self.paragraph(title, indent_mm=9.0, bold=True)
        self.paragraph(text, indent_mm=9.0, width_mm=room)
        self.y = max(self.y + 1.6, top + high + 2.4 if picture is not None else 0.0)

    def together(self, draw: Callable[[Flow], None]) -> None:
        """What is drawn stays on one page, if a page holds it."""
        tall = PageSize(name="", title="", width_mm=self.page.width_mm, height_mm=1e5)
        trial = Flow(page=tall, running="", measuring=True)
        draw(trial)
        height = trial.y - _TOP_MM + _BEFORE_HEADING_MM
        if height <= self.bottom - _TOP_MM:
            self.need(height)
        draw(self)

    def bullet(self, text: str, *, size_pt: float = BODY_PT) -> None:
        step = pt_to_mm(size_pt) * LEADING
        self.need(step * min(2, len(wrapped(text, size_pt, self.width - 4.0))))
        dot = Box(
            self.left + 0.6, self.y + step * 0.42, self.left + 1.5, self.y + step * 0.42 + 0.9
        )
        self.add(Fill(area=(rectangle(dot),), colour=ACCENT))
        self.paragraph(text, size_pt=size_pt, indent_mm=4.0)
        self.y += 0.8

    def picture(self, height_mm: float, draw: Callable[[Box], Iterable[Item]]) -> None:
        """A drawing as wide as the column and so high, kept whole."""
        self.need(height_mm)
        if not self.measuring:
            self.add(*draw(Box(self.left, self.y, self.right, self.y + height_mm)))
        self.y += height_mm

    def caption(self, text: str) -> None:
        self.paragraph(text, size_pt=SMALL_PT, colour=SOFT)
        self.y += 1.0

    def table(
        self, columns: Sequence[Column], rows: Sequence[Sequence[Cell]], *, size_pt: float = 8.0
    ) -> None:
        """A ruled table; the head is said again on every page it runs over, and no row stands alone
        on the last."""
        widths = [column.share * self.width for column in columns]
        self._table_head(columns, widths)
        step = pt_to_mm(size_pt) * LEADING
        written = [
            [
                wrapped(cell.text, size_pt, width - 2.0 - _swatches_mm(cell), bold=cell.bold)
                for cell, width in zip(row, widths, strict=True)
            ]
            for row in rows
        ]
        heights = [max(1, *map(len, texts)) * step + 1.5 for texts in written]
        for number, (row, texts, height) in enumerate(zip(rows, written, heights, strict=True)):
            last_two = heights[number:] if number and len(heights) - number == 2 else ()
            if self.y + max(height, sum(last_two)) > self.bottom:
                self.turn()
                self._table_head(columns, widths)
            self._row(columns, row, widths, texts, size_pt)
            self.y += height
            self.add(
                Line(points=((self.left, self.y), (self.right, self.y)), width_mm=0.1, colour=HAIR)
            )

    def _table_head(self, columns: Sequence[Column], widths: Sequence[float]) -> None:
        x = self.left
        self.need(14.0)
        self.add(
            Fill(area=(rectangle(Box(self.left, self.y, self.right, self.y + 5.2)),), colour=PALE)
        )
        for column, width in zip(columns, widths, strict=True):
            at = x + width - 1.0 if column.anchor == "end" else x + 1.0
            self.add(
                Text(
                    at=(at, self.y + 3.6), text=column.title, size_pt=7.5, bold=True,
                    anchor=column.anchor, colour=SOFT,
                )
            )  # fmt: skip
            x += width
        self.y += 5.2

    def _row(
        self,
        columns: Sequence[Column],
        row: Sequence[Cell],
        widths: Sequence[float],
        texts: Sequence[Sequence[str]],
        size_pt: float,
    ) -> None:
        step = pt_to_mm(size_pt) * LEADING
        x = self.left
        for column, cell, width, lines in zip(columns, row, widths, texts, strict=True):
            begin = x + 1.0
            self._swatches(cell.swatches, begin, self.y + 0.8, step - 0.3)
            begin += _swatches_mm(cell)
            for number, line in enumerate(lines):
                self.add(
                    Text(
                        at=(
                            x + width - 1.0 if column.anchor == "end" else begin,
                            self.y + 0.7 + step * (number + 0.76),
                        ),
                        text=line,
                        size_pt=size_pt,
                        bold=cell.bold,
                        anchor=column.anchor,
                        colour=cell.colour,
                    )
                )
            x += width

    def _swatches(self, colours: Sequence[Colour], left: float, top: float, high: float) -> None:
        """Colour samples side by side, edged: one of clear glass is as white as the paper."""
        for place, colour in enumerate(colours):
            edge = left + _SWATCH_MM * place
            box = Box(edge, top, edge + _SWATCH_MM, top + high)
            self.add(Fill(area=(rectangle(box),), colour=colour))
        if colours:
            box = Box(left, top, left + _SWATCH_MM * len(colours), top + high)
            ring = rectangle(box).outer
            self.add(Line(points=ring, width_mm=0.2, colour=HAIR, closed=True))

    def finished(self) -> tuple[Page, ...]:
        """The pages, each with its foot line."""
        count = len(self.pages)
        made = []
        for number, items in enumerate(self.pages, start=1):
            base = self.page.height_mm - 8.5
            foot = (
                Text(at=(self.left, base), text=self.running, size_pt=7.0, colour=SOFT),
                Text(
                    at=(self.right, base), text=f"{number} / {count}", size_pt=7.0, anchor="end",
                    colour=SOFT,
                ),
            )  # fmt: skip
            made.append(
                Page(
                    width_mm=self.page.width_mm,
                    height_mm=self.page.height_mm,
                    items=(*items, *foot),
                    title=f"guide {number} of {count}",
                )
            )
        return tuple(made)
