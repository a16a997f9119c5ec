"""Template pages: every frame part at its true size, to stick on the board and cut by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from glasswork.errors import SheetError
from glasswork.model.frame import FrameLayer, FramePlan
from glasswork.model.geometry import Affine, Box, Regions
from glasswork.model.sheet import Item, Lines, Page, PageSize, Text
from glasswork.sheets.hatch import hatch_lines
from glasswork.sheets.heading import clipped
from glasswork.sheets.marks import RULE_MM, RULE_OVERHANG_MM, Rule

MARGIN_MM: Final = 6.0
HEADING_MM: Final = 11.0
LABEL_MM: Final = 5.0
GAP_MM: Final = 4.0
CUT_MM: Final = 0.2
HATCH: Final = (205, 205, 205)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """A layer on a page: page counts from 0; corner of its place, label line included."""

    layer: FrameLayer
    to_page: Affine
    page: int
    label: tuple[float, float]
    width_mm: float


def template_pages(plan: FramePlan, page: PageSize, *, design_label: str) -> tuple[Page, ...]:
    """The frame layers 1:1, each as its cut face shows, several on a page where they fit.

    Raises: SheetError, if a layer is larger than the page
    """
    spots = _place(plan.layers, page)
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
    shapes = [_ways(layer, body, page) for layer in layers]
    tries = []
    for turned in (False, True):
        chosen = [ways[-1] if turned else ways[0] for ways in shapes]
        tries.append(_rows(layers, chosen, body))
    return min(tries, key=lambda spots: spots[-1].page)


_Way = tuple[Affine, float, float]


def _rows(layers: tuple[FrameLayer, ...], ways: Sequence[_Way], body: Box) -> tuple[_Spot, ...]:
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


def _ways(layer: FrameLayer, body: Box, page: PageSize) -> list[_Way]:
    """The maps that lay the layer's box at the origin, upright first, with the size there."""
    box = Box.around(
        point for piece in layer.pieces for point in layer.panel_to_file.ring(piece.outer)
    )
    home = layer.panel_to_file.then(Affine.shift(-box.left, -box.top))
    turn = Affine(a=0.0, b=1.0, c=-1.0, d=0.0, e=box.height)
    ways = [(home, box.width, box.height), (home.then(turn), box.height, box.width)]
    fitting = [way for way in ways if way[1] <= body.width and way[2] + LABEL_MM <= body.height]
    if not fitting:
        raise SheetError(
            f"{layer.file} on {page.title} page",
            f"a frame layer of {box.width:.1f} x {box.height:.1f} mm is larger than the "
            f"{body.width:.1f} x {body.height - LABEL_MM:.1f} mm that the page holds",
            "choose a smaller width or scale, or a larger page",
        )
    return fitting


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
    label = f"{layer.file.replace('-', ' ')}, {layer.thickness_mm:g} mm board"
    return (
        Lines(paths=hatch_lines(holes, pitch_mm=2.5), width_mm=0.1, colour=HATCH),
        Lines(paths=rings, width_mm=CUT_MM, closed=True),
        Lines(paths=scores, width_mm=0.12, colour=(90, 90, 90)),
        Text(at=spot.label, text=clipped(label, 8.0, max(30.0, spot.width_mm)), size_pt=8.0),
    )
