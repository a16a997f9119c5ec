"""Strips drawn on pages: what is measured above, what is judged by eye below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from glasswork.calibrate.marks import (
    BLACK,
    GREY,
    align_mark,
    code_squares,
    fiducial,
    filled,
    rule,
)
from glasswork.errors import SheetError
from glasswork.model.geometry import Affine, Box, Point, Region
from glasswork.model.reading import StripLayout
from glasswork.model.sheet import Colour, Fill, Item, Line, Page, PageSize, Text

MARGIN_MM: Final = 8.0
"""Kept free on each side: most printers leave less unprintable."""

INK_TOTALS: Final = tuple(round(1.0 + 0.2 * i, 1) for i in range(11))
"""Ink of the squares that show the ink limit: 1.0 is 100 %, the sum over the device axes."""

_NOTES: Final = (
    "Print at 100 %, not fitted to the page. Same paper type, quality and inks as for the window; "
    "all colour correction off.",
    "Let the film dry overnight before anything lies on it. Measure the two rules: long end tick "
    "to long end tick.",
    "Photo: film on the lit panel, room dark, nothing else in the light. The block of patches "
    "fills the picture, with all its square marks.",
    "Lock focus, exposure and white balance on the bare film, then turn the exposure down until it "
    "looks light grey, not white.",
    "One photo of one film; then one each with two and three copies on each other, if printed. "
    "Do not touch the exposure in between.",
    "Ink limit: the last square above whose clear lines are all open and which is dry to the touch "
    "after an hour.",
)


def device_colour(device: Sequence[float]) -> Colour:
    """8-bit colour of device values 0-1."""
    r, g, b = (round(255 * v) for v in device)
    return (r, g, b)


def strip_pages(
    layout: StripLayout, page: PageSize, *, films: int = 1, label: str = ""
) -> tuple[Page, ...]:
    """A page for each copy of a strip.

    films : copies, 1-3, alike but for their number, to be measured on each other
    label : printer, ink and film as the maker calls them
    Raises: SheetError, if the strip does not fit the page or films is not 1-3
    """
    if not 1 <= films <= 3:
        raise SheetError("strip", f"{films} films are not between 1 and 3", "print one to three")
    if (
        layout.width_mm > page.width_mm - 2 * MARGIN_MM
        or layout.height_mm > page.height_mm - 2 * MARGIN_MM
    ):
        raise SheetError(
            f"strip on {page.name}",
            f"{layout.width_mm:g} x {layout.height_mm:g} mm does not fit "
            f"{page.width_mm:g} x {page.height_mm:g} mm with margins of {MARGIN_MM:g}",
            "choose a4 or letter",
        )
    place = placing(layout, page)
    return tuple(
        Page(
            width_mm=page.width_mm,
            height_mm=page.height_mm,
            items=tuple(moved(item, place) for item in _items(layout, copy, films, label)),
            title=f"{layout.title} {copy} of {films}",
        )
        for copy in range(1, films + 1)
    )


def placing(layout: StripLayout, page: PageSize) -> Affine:
    """Where the strip's frame lies on the page: in the middle; a quick strip at the top, so that
    the rest of the film stays for other work."""
    top = (page.height_mm - layout.height_mm) / 2.0
    if layout.height_mm < page.height_mm / 2.0:
        top = MARGIN_MM + 4.0
    return Affine.shift((page.width_mm - layout.width_mm) / 2.0, top)


def moved(item: Item, place: Affine) -> Item:
    """A drawn thing shifted."""
    if isinstance(item, Fill):
        return replace(item, area=tuple(region.mapped(place) for region in item.area))
    if isinstance(item, Line):
        return replace(item, points=tuple(place.apply(point) for point in item.points))
    if isinstance(item, Text):
        return replace(item, at=place.apply(item.at))
    raise TypeError(f"strips draw no {type(item).__name__}")


def _items(layout: StripLayout, copy: int, films: int, label: str) -> list[Item]:
    items: list[Item] = []
    for mark in layout.fiducials:
        items.append(fiducial(mark.number, mark.box))
    items.append(code_squares(layout.code, layout.code_box))
    for patch in layout.patches:
        if patch.device != (1.0, 1.0, 1.0):
            items.append(filled(patch.box, device_colour(patch.device), name=patch.name))
    items += _names(layout)
    items += _heading(layout, copy, films, label)
    if layout.height_mm > layout.block.bottom + 60.0:
        items += _below(layout)
    else:
        items += rule((45.0, layout.block.bottom - 9.5), length_mm=100.0, down=False)
    return items


def _names(layout: StripLayout) -> list[Item]:
    """Row letters beside the patches, column numbers above and below, and a hairline around."""
    first, last = layout.patches[0].box, layout.patches[-1].box
    items: list[Item] = []
    for patch in layout.patches:
        x, y = patch.box.centre
        if patch.box.left == first.left:
            for side, anchor in ((first.left - 1.0, "end"), (last.right + 1.0, "start")):
                items.append(
                    Text(
                        at=(side, y + 0.9),
                        text=patch.name[0],
                        size_pt=6.5,
                        anchor=anchor,
                        colour=GREY,
                    )
                )
        if patch.box.top == first.top:
            for level in (first.top - 0.9, last.bottom + 2.6):
                items.append(
                    Text(
                        at=(x, level),
                        text=patch.name[1:],
                        size_pt=6.0,
                        anchor="middle",
                        colour=GREY,
                    )
                )
    corners = (
        (first.left, first.top),
        (last.right, first.top),
        (last.right, last.bottom),
        (first.left, last.bottom),
    )
    items.append(Line(points=corners, width_mm=0.1, colour=GREY, closed=True))
    return items


def _heading(layout: StripLayout, copy: int, films: int, label: str) -> list[Item]:
    left = layout.code_box.right + 5.0
    which = f"film {copy} of {films}" if films > 1 else "one film"
    items: list[Item] = [
        Text(at=(left, 6.5), text=f"Glasswork {layout.title}", size_pt=13.0, bold=True),
        Text(at=(left, 11.5), text=f"{layout.code}   ·   {which}", size_pt=8.0),
        Text(
            at=(left, 16.0),
            text=label or "printer, ink, film, settings:",
            size_pt=8.0,
        ),
        Text(at=(176.0, 6.5), text="this way up, ink towards you", size_pt=7.0, anchor="end"),
    ]
    if not label:
        items.append(Line(points=((left + 41.0, 16.3), (176.0, 16.3)), width_mm=0.1, colour=GREY))
    items.append(Text(at=(left, 20.5), text="date:", size_pt=8.0))
    items.append(Line(points=((left + 9.0, 20.8), (left + 45.0, 20.8)), width_mm=0.1, colour=GREY))
    bottom = layout.block.bottom - 5.0
    spots: list[Point] = [(20.0, bottom), (170.0, bottom)]
    for spot in spots:
        items += align_mark(spot)
    return items


def _below(layout: StripLayout) -> list[Item]:
    """Rules, figures for the eye, notes."""
    top = layout.block.bottom + 6.0
    items: list[Item] = [*rule((40.0, top), length_mm=100.0, down=False)]
    items += rule((3.0, top), length_mm=100.0, down=True)
    items += ink_figures(Box(14.0, top + 10.0, 176.0, top + 38.0))
    items += _line_figures(Box(14.0, top + 46.0, 176.0, top + 64.0))
    for i, note in enumerate(wrapped(_NOTES)):
        items.append(Text(at=(14.0, top + 72.0 + 3.4 * i), text=note, size_pt=7.0))
    return items


def wrapped(notes: Sequence[str], width: int = 132) -> list[str]:
    from textwrap import wrap

    lines: list[str] = []
    for number, note in enumerate(notes, start=1):
        first, *rest = wrap(note, width)
        lines += [f"{number}  {first}", *(f"    {line}" for line in rest)]
    return lines


def _above(box: Box, words: str) -> Text:
    return Text(at=(box.left, box.top - 1.2), text=words, size_pt=7.0, bold=True)


def ink_figures(box: Box) -> list[Item]:
    """Squares of more and more ink; clear lines through the upper half, the lower half to touch."""
    pitch = box.width / len(INK_TOTALS)
    words = "Ink limit and drying: lines that close, puddles, a tacky or banded lower half"
    items: list[Item] = [_above(box, words)]
    for i, total in enumerate(INK_TOTALS):
        left = box.left + i * pitch
        field = Box(left, box.top, left + pitch - 1.2, box.bottom - 4.0)
        colour = device_colour((1.0 - total / 3.0,) * 3)
        holes = []
        for k, width in enumerate((0.15, 0.25, 0.4, 0.6)):
            x = field.left + 2.2 + 2.7 * k
            holes.append(Box(x, field.top + 1.5, x + width, field.top + 10.0))
        items.append(
            Fill(
                area=(Region(_ring(field), tuple(_ring(hole) for hole in holes)),),
                colour=colour,
                name=f"ink {total:g}",
            )
        )
        items.append(
            Text(
                at=(field.centre[0], box.bottom - 0.6),
                text=f"{100 * total:.0f} %",
                size_pt=7.0,
                anchor="middle",
            )
        )
    return items


def _line_figures(box: Box) -> list[Item]:
    """Lines of growing width, black on clear and clear on black, upright and lying."""
    words = "Finest lines that stand, and finest gaps that stay open (mm)"
    items: list[Item] = [_above(box, words)]
    widths = (0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.8)
    half = box.width / 2.0
    high = box.height - 4.0
    for side in (0, 1):
        left = box.left + side * half
        holes = []
        for i, width in enumerate(widths):
            x, row = left + 4.0 + 5.4 * i, left + 44.0
            upright = Box(x, box.top + 1.5, x + width, box.top + high - 1.5)
            lying_y = box.top + 1.5 + i * (high - 3.0) / len(widths)
            lying = Box(row, lying_y, row + 28.0, lying_y + width)
            holes += [upright, lying]
            items.append(
                Text(
                    at=(x + width / 2, box.bottom - 0.8),
                    text=f"{width:g}",
                    size_pt=6.0,
                    anchor="middle",
                )
            )
        if side:
            field = Box(left, box.top, left + half - 2.0, box.top + high)
            items.append(
                Fill(area=(Region(_ring(field), tuple(_ring(h) for h in holes)),), colour=BLACK)
            )
        else:
            items += [filled(hole, BLACK) for hole in holes]
    return items


def _ring(box: Box) -> tuple[Point, ...]:
    return (
        (box.left, box.top),
        (box.right, box.top),
        (box.right, box.bottom),
        (box.left, box.bottom),
    )
