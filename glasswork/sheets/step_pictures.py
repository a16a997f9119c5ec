"""A small picture for each step of the guide: this very panel, as it lies on the bench."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Final

from glasswork.model.frame import Face, FrameLayer, Level
from glasswork.model.geometry import Affine, Box, Regions, mapped_regions
from glasswork.model.sheet import Colour, Fill, Item, Lines
from glasswork.planar import Area
from glasswork.sheets.drawings import fitted
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.layout import panel_marks
from glasswork.sheets.marks import ring_round
from glasswork.sheets.tint import BOARD, BOARD_EDGE, DIMENSION, FILM, WALL, lit_colour

STEP_MM: Final = (34.0, 25.0)
"""Width and height of a step's picture."""

_GILT: Final = (214, 172, 84)
_PEWTER: Final = (116, 118, 124)
_RED: Final = (190, 44, 34)
_NIGHT: Final = (26, 26, 32)
_MANY: Final = 800
"""Of more panes than this only the last picture shows each, and the frame's openings are left out:
they would not be seen."""

Draw = Callable[[Box], list[Item]]


def step_picture(step: str, facts: GuideFacts) -> Draw | None:
    """How to draw a step's picture into a box; None if it has none."""
    draw = _PICTURES.get(step)
    return None if draw is None else lambda box: draw(facts, box)


def _print(facts: GuideFacts, box: Box) -> list[Item]:
    """The first film as it lies on its page, with its marks."""
    trim = facts.plan.film_trim
    marks = panel_marks(trim.box)
    place = fitted(Box.around([*marks, trim.box[:2], trim.box[2:]]).grown(2.0), box)
    if facts.ink_faces == "back" or (facts.ink_faces == "together" and facts.separation.count > 1):
        place = Affine(a=-1.0, e=2.0 * trim.box.centre[0]).then(place)
    device = {glass.glass: glass.device[0] for glass in facts.separation.glasses}
    items = _film(facts, place, device)
    for mark in marks:
        x, y = place.apply(mark)
        cross = (((x - 1.1, y), (x + 1.1, y)), ((x, y - 1.1), (x, y + 1.1)))
        items.append(Lines(paths=cross, width_mm=0.15, colour=(0, 0, 0)))
    return items


def _cut(facts: GuideFacts, box: Box) -> list[Item]:
    """The inner layer, ears and all."""
    layer = _layer(facts, Level.INNER)
    place = fitted(_box_of(layer.pieces), box)
    return _board(layer.pieces, place, BOARD)


def _colour(facts: GuideFacts, box: Box) -> list[Item]:
    """The front layers painted and gilt."""
    inner, outer = _layer(facts, Level.INNER), _layer(facts, Level.OUTER)
    place = fitted(_box_of(inner.pieces), box)
    return [*_board(inner.pieces, place, _PEWTER), *_board(outer.pieces, place, _GILT)]


def _try(facts: GuideFacts, box: Box) -> list[Item]:
    """The panel in its opening; the gap is drawn too wide to be seen."""
    outline = Area.of([facts.plan.outline])
    size = max(facts.plan.outline.box.width, facts.plan.outline.box.height)
    opening = outline.grown(0.03 * size)
    around = opening.bounds.grown(0.12 * size)
    place = fitted(around, box)
    wall = (Area.box(around) - opening).regions()
    rings = tuple(
        ring for region in mapped_regions(opening.regions(), place) for ring in region.rings
    )
    pieces = (Area.of(_layer(facts, Level.INNER).pieces) & outline).regions()
    return [
        Fill(area=mapped_regions(wall, place), colour=WALL),
        Lines(paths=rings, width_mm=0.25, colour=DIMENSION, closed=True),
        *_board(pieces, place, BOARD),
    ]


def _trim(facts: GuideFacts, box: Box) -> list[Item]:
    """The line along which a film is cut, and its pin holes."""
    trim = facts.plan.film_trim
    place = fitted(trim.box, box)
    device = {glass.glass: glass.device[0] for glass in facts.separation.glasses}
    return [
        *_film(facts, place, device),
        Lines(
            paths=(place.ring(trim.outer),), width_mm=0.25, colour=_RED, closed=True,
            dashes_mm=(1.4, 0.7),
        ),
        *_pins(facts, place, _RED, 0.4),
    ]  # fmt: skip


def _pin(facts: GuideFacts, box: Box) -> list[Item]:
    """The stack from the front, pins through its ears."""
    inner, outer = _layer(facts, Level.INNER), _layer(facts, Level.OUTER)
    place = fitted(_box_of(inner.pieces), box)
    colours = {glass.glass: lit_colour(glass) for glass in facts.separation.glasses}
    return [
        *_film(facts, place, colours),
        *_board(inner.pieces, place, _PEWTER),
        *_board(outer.pieces, place, _GILT),
        *_pins(facts, place, _RED, 1.1),
    ]


def _ears(facts: GuideFacts, box: Box) -> list[Item]:
    """What is broken off."""
    pieces = _layer(facts, Level.INNER).pieces
    outline = Area.of([facts.plan.outline])
    place = fitted(_box_of(pieces), box)
    off = tuple(region for region in (Area.of(pieces) - outline).regions() if region.area_mm2 > 1.0)
    necks = tuple(
        tuple(place.apply(point) for point in ear.neck)
        for ear in facts.plan.ears
        if len(ear.neck) > 1
    )
    items = [
        *_board((Area.of(pieces) & outline).regions(), place, BOARD),
        Fill(area=mapped_regions(off, place), colour=(240, 196, 188)),
    ]
    if necks:
        items.append(Lines(paths=necks, width_mm=0.5, colour=_RED))
    return items


def _light(facts: GuideFacts, box: Box) -> list[Item]:
    """The panel lit in the dark."""
    place = fitted(facts.plan.outline.box.grown(0.06 * facts.plan.outline.box.height), box)
    night = Area.box(box).regions()
    colours = {glass.glass: lit_colour(glass) for glass in facts.separation.glasses}
    outline = Area.of([facts.plan.outline])
    items: list[Item] = [Fill(area=night, colour=_NIGHT), *_film(facts, place, colours, lit=True)]
    for level in (Level.INNER, Level.OUTER):
        pieces = (Area.of(_layer(facts, level).pieces) & outline).regions()
        shade = (52, 50, 50) if level is Level.OUTER else (38, 37, 38)
        items.append(Fill(area=pieces, colour=shade, to_page=place))
    return items


_PICTURES: Final[dict[str, Callable[[GuideFacts, Box], list[Item]]]] = {
    "Print the films": _print,
    "Cut the boards": _cut,
    "Colour the frame": _colour,
    "Try it dry": _try,
    "Trim the films": _trim,
    "Pin and glue": _pin,
    "Break off the ears": _ears,
    "Light it": _light,
}


# -- parts of pictures ---------------------------------------------------------------------------


def _film(
    facts: GuideFacts, place: Affine, colours: dict[str, Colour], *, lit: bool = False
) -> list[Item]:
    """The bare film, the glass on it, and the printed leads. lit : in the dark, without the film"""
    plan = facts.plan
    items: list[Item] = []
    if not lit:
        items.append(Fill(area=(plan.film_trim.mapped(place),), colour=FILM))
    if len(facts.window.panes) > _MANY and not lit:
        most = Counter(pane.glass or "" for pane in facts.window.panes).most_common(1)[0][0]
        return [*items, Fill(area=(plan.outline.mapped(place),), colour=colours[most])]
    items += [
        Fill(area=area, colour=colours[glass], to_page=place)
        for glass, area in facts.glass_areas.items()
    ]
    if plan.printed:
        items.append(Fill(area=plan.printed, colour=(0, 0, 0), to_page=place))
    return items


def _board(pieces: Regions, place: Affine, colour: Colour) -> list[Item]:
    shapes = mapped_regions(pieces, place)
    rings = tuple(ring for region in shapes for ring in region.rings)
    return [
        Fill(area=shapes, colour=colour),
        Lines(paths=rings, width_mm=0.08, colour=BOARD_EDGE, closed=True),
    ]


def _pins(facts: GuideFacts, place: Affine, colour: Colour, across_mm: float) -> list[Item]:
    spots = [place.apply(ear.hole_centre) for ear in facts.plan.ears]
    if not spots:
        return []
    rings = tuple(
        ring_round(s, across_mm / 2.0, width_mm=across_mm - 0.05, chords=16) for s in spots
    )
    return [Fill(area=rings, colour=colour)]


def _layer(facts: GuideFacts, level: Level) -> FrameLayer:
    """A front layer; of windows with very many panes always the outer one, which is open."""
    if len(facts.window.panes) > _MANY:
        level = Level.OUTER
    return next(
        layer for layer in facts.plan.layers if layer.face is Face.FRONT and layer.level is level
    )


def _box_of(pieces: Regions) -> Box:
    return Box.around(point for piece in pieces for point in piece.outer)
