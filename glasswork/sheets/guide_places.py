"""Where the frame is weak, and where light may show beside a lead: drawn and listed."""

from __future__ import annotations

from math import cos, dist, pi, sin
from typing import Final

from msgspec import Struct

from glasswork.model.frame import ExposedEdge, Face, Level, WeakPlace
from glasswork.model.geometry import Box, Point, Region
from glasswork.model.sheet import Colour, Fill, Item, Line, Lines, Text
from glasswork.model.words import counted
from glasswork.planar import Area
from glasswork.sheets.drawings import fitted
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import SMALL_PT, SOFT, Cell, Column, Flow
from glasswork.sheets.tint import BOARD, BOARD_EDGE, DIMENSION

_PICTURE_MM: Final = 88.0
_LISTED: Final = 10
"""So many places get a number and a line in the list; every one gets a dot."""
_APART_MM: Final = 5.0
"""Numbered places keep so far from each other on the paper."""
_DOT_MM: Final = 0.75
_NUMBER_PT: Final = 7.0
_COLOURS: Final[dict[str, Colour]] = {
    "web": (198, 92, 24),
    "tip": (198, 92, 24),
    "slender": (124, 62, 150),
    "bare": (20, 96, 170),
}


class _Spot(Struct, frozen=True, kw_only=True):
    """One place. kind : "web", "tip", "slender" or "bare"; short : how little there is of it."""

    kind: str
    at: Point
    what: str
    measured: str
    short: float


def places(flow: Flow, facts: GuideFacts) -> None:
    """The picture and the list, if there is anything to show."""
    spots = _spots(facts)
    if not spots:
        return
    flow.heading("Weak and exposed places", keep_mm=_PICTURE_MM + 10.0)
    place = fitted(facts.plan.outline.box, Box(0.0, 0.0, flow.width, _PICTURE_MM))
    told = _told(spots, place.a)
    flow.picture(_PICTURE_MM, lambda box: _picture(facts, (spots, told), box))
    flow.space(1.5)
    flow.caption(
        "The inner layer from the front. Orange: board narrower than it should be; violet: a "
        "member that bends; blue: an edge where the lead covers less than the tolerances ask for."
    )
    flow.table(
        [
            Column(title="no.", share=0.06),
            Column(title="mm from the top left", share=0.22),
            Column(title="what", share=0.44),
            Column(title="is, wanted", share=0.28, anchor="end"),
        ],
        [
            [
                Cell(text=str(number), bold=True, colour=_COLOURS[spot.kind]),
                Cell(text=f"{spot.at[0]:.1f}, {spot.at[1]:.1f}"),
                Cell(text=spot.what),
                Cell(text=spot.measured),
            ]
            for number, spot in enumerate(told, start=1)
        ],
    )
    left = len(spots) - len(told)
    flow.space(1.0)
    flow.paragraph(
        "Support the marked leads from behind when you lift the layer, and free them last when "
        "cutting by hand. Wider leads, thicker card or printing a member mends them for good."
        + (
            f" {counted(left, 'more place')} drawn without a number; all stand in report.json."
            if left > 0
            else ""
        ),
        size_pt=SMALL_PT,
        colour=SOFT,
    )


def _spots(facts: GuideFacts) -> list[_Spot]:
    plan = facts.plan
    weak = [_of_weak(place) for place in plan.weak]
    bare = [_of_bare(edge) for edge in plan.registration.exposed]
    return sorted([*weak, *bare], key=lambda spot: spot.short)


def _of_weak(place: WeakPlace) -> _Spot:
    layer = f"{place.level.value} layer"
    what = {
        "web": f"narrow web, {layer}",
        "tip": f"pointed end, {layer}",
        "slender": f"slender member {place.member}",
    }[place.kind]
    slender = place.kind == "slender"
    return _Spot(
        kind=place.kind,
        at=place.place,
        what=what,
        measured=f"sags {place.value:.2f} mm, {place.limit:g} mm"
        if slender
        else f"{place.value:.2f} mm, {place.limit:g} mm",
        short=place.limit / max(place.value, 1e-9) if slender else place.value / place.limit,
    )


def _of_bare(edge: ExposedEdge) -> _Spot:
    return _Spot(
        kind="bare",
        at=edge.place,
        what=f"edge of pane {edge.pane}",
        measured=f"covers {edge.cover_mm:.2f} mm, {edge.needed_mm:.2f} mm",
        short=edge.cover_mm / max(edge.needed_mm, 1e-9),
    )


def _told(spots: list[_Spot], scale: float) -> list[_Spot]:
    """The worst places of each kind in turn, far enough apart for their numbers."""
    told: list[_Spot] = []
    by_kind = [
        [s for s in spots if s.kind in kinds] for kinds in (("web", "tip"), ("slender",), ("bare",))
    ]
    for rank in range(max(map(len, by_kind))):
        for group in by_kind:
            if (
                rank < len(group)
                and len(told) < _LISTED
                and all(dist(group[rank].at, other.at) * scale > _APART_MM for other in told)
            ):
                told.append(group[rank])
    return told


def _picture(
    facts: GuideFacts, shown: tuple[list[_Spot], list[_Spot]], box: Box
) -> tuple[Item, ...]:
    spots, told = shown
    plan = facts.plan
    place = fitted(plan.outline.box, box)
    inner = next(
        layer for layer in plan.layers if layer.level is Level.INNER and layer.face is Face.FRONT
    )
    shape = tuple(
        region.mapped(place)
        for region in (Area.of(inner.pieces) & Area.of([plan.outline])).regions()
    )
    rings = tuple(ring for region in shape for ring in region.rings)
    items: list[Item] = [
        Fill(area=shape, colour=BOARD),
        Lines(paths=rings, width_mm=0.1, colour=BOARD_EDGE, closed=True),
    ]
    for kind, colour in _COLOURS.items():
        dots = tuple(_dot(place.apply(spot.at)) for spot in spots if spot.kind == kind)
        if dots:
            items.append(Fill(area=dots, colour=colour))
    for number, spot in enumerate(told, start=1):
        items += _number(number, place.apply(spot.at), box, _COLOURS[spot.kind])
    return tuple(items)


def _number(number: int, at: Point, box: Box, colour: Colour) -> tuple[Item, ...]:
    """A number beside the drawing's dot, on the side away from the middle, and a hair to it."""
    side = 1.0 if at[0] >= box.centre[0] else -1.0
    end = (at[0] + side * 2.6, at[1] - 1.6)
    return (
        Line(points=(at, end), width_mm=0.15, colour=DIMENSION),
        Text(
            at=(end[0] + side * 0.4, end[1] + 0.6),
            text=str(number),
            size_pt=_NUMBER_PT,
            bold=True,
            anchor="start" if side > 0.0 else "end",
            colour=colour,
        ),
    )


def _dot(at: Point) -> Region:
    turns = [2.0 * pi * k / 16.0 for k in range(16)]
    return Region(tuple((at[0] + _DOT_MM * cos(t), at[1] + _DOT_MM * sin(t)) for t in turns))
