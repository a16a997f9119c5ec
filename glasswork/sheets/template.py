"""Template pages: every frame part at its true size, to stick on the board and cut by hand."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Final

from msgspec import Struct

from glasswork.errors import SheetError
from glasswork.model.frame import FrameLayer, FramePlan
from glasswork.model.geometry import Affine, Box, Point, Regions
from glasswork.model.sheet import Item, Lines, Page, PageSize, Text
from glasswork.sheets.cropped import Path, cropped
from glasswork.sheets.hatch import hatch_lines
from glasswork.sheets.heading import clipped
from glasswork.sheets.marks import RULE_MM, RULE_OVERHANG_MM, Rule

MARGIN_MM: Final = 6.0
HEADING_MM: Final = 11.0
LABEL_MM: Final = 5.0
GAP_MM: Final = 4.0
CUT_MM: Final = 0.2
HATCH: Final = (205, 205, 205)
OVERLAP_MM: Final = 10.0
_LEAST_MM: Final = 40.0
_CROSS_MM: Final = 2.5
_CROSS_APART_MM: Final = 60.0


class _Spot(Struct, frozen=True, kw_only=True):
    """A layer, or a part of one, on a page.

    page : counts from 0; label : where its line of text begins
    window : what of it is shown, in page mm, where it is larger than the page
    part : said after its name
    """

    layer: FrameLayer
    to_page: Affine
    page: int
    label: Point
    width_mm: float
    window: Box | None = None
    part: str = ""


def template_pages(plan: FramePlan, page: PageSize, *, design_label: str) -> tuple[Page, ...]:
    """The frame layers 1:1, each as its cut face shows, several on a page where they fit.

    A layer larger than the page is printed in parts that overlap, to be joined at their crosses.

    Raises: SheetError, if the page has no room for parts
    """
    spots = _place((*plan.layers, *plan.jig), page)
    pages = max(spot.page for spot in spots) + 1
    return tuple(
        Page(
            width_mm=page.width_mm,
            height_mm=page.height_mm,
            items=(
                *_heading(page, f"{design_label}: frame template {number + 1} of {pages}"),
                *(item for spot in spots if spot.page == number for item in _part(spot)),
            ),
            title=f"template {number + 1} of {pages}",
        )
        for number in range(pages)
    )


def _place(layers: tuple[FrameLayer, ...], page: PageSize) -> tuple[_Spot, ...]:
    """Row by row, in the order of the layers; each lies the way that leaves fewer pages."""
    body = Box(
        MARGIN_MM, MARGIN_MM + HEADING_MM, page.width_mm - MARGIN_MM, page.height_mm - MARGIN_MM
    )
    if body.width < _LEAST_MM or body.height < _LEAST_MM:
        raise SheetError(
            f"template on {page.title} page",
            f"{page.width_mm:g} x {page.height_mm:g} mm leaves no room beside heading and rule",
            "choose a larger page",
        )
    whole = [layer for layer in layers if _ways(layer, body)]
    spots: tuple[_Spot, ...] = ()
    if whole:
        tries = [
            _rows(whole, [_ways(layer, body)[which] for layer in whole], body) for which in (0, -1)
        ]
        spots = min(tries, key=lambda spots: spots[-1].page)
    for layer in layers:
        if layer not in whole:
            first = spots[-1].page + 1 if spots else 0
            spots += _parts(layer, body, first)
    return spots


def _parts(layer: FrameLayer, body: Box, first: int) -> tuple[_Spot, ...]:
    """A page for each part, row by row, overlapping the next."""
    home, width, height = _home(layer)
    room = (body.width, body.height - LABEL_MM)
    columns, rows = (
        max(1, ceil((size - OVERLAP_MM) / (most - OVERLAP_MM)))
        for size, most in zip((width, height), room, strict=True)
    )
    count = rows * columns
    corner = (body.left, body.top + LABEL_MM)
    spots = []
    for number in range(count):
        row, column = divmod(number, columns)
        x0, y0 = column * (room[0] - OVERLAP_MM), row * (room[1] - OVERLAP_MM)
        size = (min(room[0], width - x0), min(room[1], height - y0))
        spots.append(
            _Spot(
                layer=layer,
                to_page=home.then(Affine.shift(corner[0] - x0, corner[1] - y0)),
                page=first + number,
                label=(corner[0], corner[1] - 1.6),
                width_mm=room[0],
                window=Box(corner[0], corner[1], corner[0] + size[0], corner[1] + size[1]),
                part=f", part {number + 1} of {count}: row {row + 1}, column {column + 1}",
            )
        )
    return tuple(spots)


_Way = tuple[Affine, float, float]


def _rows(layers: Sequence[FrameLayer], ways: Sequence[_Way], body: Box) -> tuple[_Spot, ...]:
    spots: list[_Spot] = []
    number, x, y, row = 0, body.left, body.top, 0.0
    for layer, (shape, width, height) in zip(layers, ways, strict=True):
        if x > body.left and x + width > body.right:
            x, y, row = body.left, y + row + GAP_MM, 0.0
        if y + LABEL_MM + height > body.bottom:
            number, x, y, row = number + 1, body.left, body.top, 0.0
        spots.append(
            _Spot(
                layer=layer,
                to_page=shape.then(Affine.shift(x, y + LABEL_MM)),
                page=number,
                label=(x, y + LABEL_MM - 1.6),
                width_mm=width,
            )
        )
        x, row = x + width + GAP_MM, max(row, LABEL_MM + height)
    return tuple(spots)


def _home(layer: FrameLayer) -> _Way:
    """The map that lays the layer's box upright at the origin, and its size."""
    box = Box.around(
        point for piece in layer.pieces for point in layer.panel_to_file.ring(piece.outer)
    )
    home = layer.panel_to_file.then(Affine.shift(-box.left, -box.top))
    return home, box.width, box.height


def _ways(layer: FrameLayer, body: Box) -> list[_Way]:
    """How the layer fits the page whole: upright, on its side; empty if it does not."""
    home, width, height = _home(layer)
    turn = Affine(a=0.0, b=1.0, c=-1.0, d=0.0, e=height)
    ways = [(home, width, height), (home.then(turn), height, width)]
    return [way for way in ways if way[1] <= body.width and way[2] + LABEL_MM <= body.height]


def _heading(page: PageSize, title: str) -> tuple[Item, ...]:
    left, top = MARGIN_MM, MARGIN_MM
    start = page.width_mm - MARGIN_MM - RULE_OVERHANG_MM - RULE_MM
    rule = Rule(start=(start, top + 1.0), level=True, ticks=1)
    room = start - RULE_OVERHANG_MM - left
    return (
        Text(at=(left, top + 3.2), text=clipped(title, 9.0, room, bold=True), size_pt=9.0,
             bold=True),
        Text(at=(left, top + 7.0), text="Print at 100 %, not fitted. Cut on the lines;",
             size_pt=7.5),
        Text(at=(left, top + 10.2), text="what is hatched falls out.", size_pt=7.5),
        *rule.items(),
    )  # fmt: skip


def _part(spot: _Spot) -> tuple[Item, ...]:
    layer = spot.layer
    pieces: Regions = tuple(piece.mapped(spot.to_page) for piece in layer.pieces)
    holes = tuple(hole for piece in pieces for hole in piece.holes)
    rings = tuple(ring for piece in pieces for ring in piece.rings)
    scores = tuple(
        layer_path
        for layer_path in (
            layer.panel_to_file.inverse().then(spot.to_page).ring(mark.points)
            for mark in layer.marks
        )
    )
    label = f"{layer.file.replace('-', ' ')}, {layer.thickness_mm:g} mm board{spot.part}"
    hatch: Sequence[Path] = hatch_lines(holes, pitch_mm=2.5)
    closed = spot.window is None
    if spot.window is not None:
        hatch = cropped(hatch, spot.window, closed=False)
        rings = cropped(rings, spot.window, closed=True)
        scores = cropped(scores, spot.window, closed=False)
    return (
        Lines(paths=tuple(hatch), width_mm=0.1, colour=HATCH),
        Lines(paths=rings, width_mm=CUT_MM, closed=closed),
        Lines(paths=scores, width_mm=0.12, colour=(90, 90, 90)),
        Text(at=spot.label, text=clipped(label, 8.0, max(30.0, spot.width_mm)), size_pt=8.0),
        *_joining(spot),
    )


def _joining(spot: _Spot) -> tuple[Item, ...]:
    """Crosses every so far on the middle of each overlap: laid on each other, the parts join."""
    window = spot.window
    if window is None:
        return ()
    box = Box.around(
        point for piece in spot.layer.pieces for point in spot.to_page.ring(piece.outer)
    )
    half = OVERLAP_MM / 2.0
    inner = window.grown(-_CROSS_MM)
    crosses = [
        (x, y)
        for x, y in _crosses(box, window, half)
        if inner.left <= x <= inner.right and inner.top <= y <= inner.bottom
    ]
    paths = tuple(
        path
        for x, y in crosses
        for path in (
            ((x - _CROSS_MM, y), (x + _CROSS_MM, y)),
            ((x, y - _CROSS_MM), (x, y + _CROSS_MM)),
        )
    )
    return (Lines(paths=paths, width_mm=0.15, colour=(90, 90, 90)),)


def _crosses(box: Box, window: Box, half: float) -> list[Point]:
    """Places in the overlaps, the same on both parts that share them."""
    upright = [x for x, beyond in ((window.left + half, window.left > box.left + 1e-6),
                                   (window.right - half, window.right < box.right - 1e-6))
               if beyond]  # fmt: skip
    level = [y for y, beyond in ((window.top + half, window.top > box.top + 1e-6),
                                 (window.bottom - half, window.bottom < box.bottom - 1e-6))
             if beyond]  # fmt: skip
    down = [box.top + _CROSS_APART_MM * (k + 0.5) for k in range(_count(box.height))]
    across = [box.left + _CROSS_APART_MM * (k + 0.5) for k in range(_count(box.width))]
    return [(x, y) for x in upright for y in down] + [(x, y) for y in level for x in across]


def _count(length_mm: float) -> int:
    return max(1, int(length_mm // _CROSS_APART_MM))
