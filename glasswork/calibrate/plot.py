"""Small plots as page items: axes, lines, dots."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from glasswork.calibrate.marks import BLACK, GREY, filled
from glasswork.model.geometry import Box, Point
from glasswork.model.sheet import Colour, Item, Line, Text

FAINT: Colour = (222, 222, 222)


class Plot(Struct, frozen=True, kw_only=True):
    """A frame on the page with its scales. x, y : (from, to); steps : distance of the ticks"""

    box: Box
    x: tuple[float, float]
    y: tuple[float, float]
    steps: tuple[float, float]
    title: str
    labels: tuple[str, str]

    def at(self, x: float, y: float) -> Point:
        """Page mm of a value, kept inside the frame."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return (
            self.box.left + min(max(across, 0.0), 1.0) * self.box.width,
            self.box.bottom - min(max(up, 0.0), 1.0) * self.box.height,
        )

    def frame(self) -> list[Item]:
        b = self.box
        items: list[Item] = [
            Text(at=(b.left, b.top - 2.0), text=self.title, size_pt=8.5, bold=True),
            Text(
                at=(b.centre[0], b.bottom + 7.5),
                text=self.labels[0],
                size_pt=7.0,
                anchor="middle",
                colour=GREY,
            ),
            Text(
                at=(b.left - 8.0, b.centre[1]),
                text=self.labels[1],
                size_pt=7.0,
                anchor="middle",
                colour=GREY,
                turn_deg=-90.0,
            ),
        ]
        for value in ticks(self.x, self.steps[0]):
            x, _ = self.at(value, self.y[0])
            items.append(Line(points=((x, b.top), (x, b.bottom)), width_mm=0.1, colour=FAINT))
            items.append(
                Text(at=(x, b.bottom + 3.4), text=f"{value:g}", size_pt=6.5, anchor="middle")
            )
        for value in ticks(self.y, self.steps[1]):
            _, y = self.at(self.x[0], value)
            items.append(Line(points=((b.left, y), (b.right, y)), width_mm=0.1, colour=FAINT))
            items.append(
                Text(at=(b.left - 1.2, y + 0.8), text=f"{value:g}", size_pt=6.5, anchor="end")
            )
        edge = ((b.left, b.top), (b.right, b.top), (b.right, b.bottom), (b.left, b.bottom))
        items.append(Line(points=edge, width_mm=0.2, closed=True))
        return items

    def line(
        self,
        points: Sequence[Point],
        colour: Colour = BLACK,
        *,
        closed: bool = False,
        dashes_mm: tuple[float, ...] = (),
    ) -> Item:
        return Line(
            points=tuple(self.at(x, y) for x, y in points),
            width_mm=0.35,
            colour=colour,
            closed=closed,
            dashes_mm=dashes_mm,
        )

    def dot(self, x: float, y: float, colour: Colour = BLACK, size_mm: float = 1.0) -> Item:
        px, py = self.at(x, y)
        half = size_mm / 2.0
        return filled(Box(px - half, py - half, px + half, py + half), colour)


def ticks(span: tuple[float, float], step: float) -> list[float]:
    """Multiples of a step within a span."""
    first = int(-(-span[0] // step))
    last = int(span[1] // step)
    return [round(i * step, 9) for i in range(first, last + 1)]
