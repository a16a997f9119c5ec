"""Vector pictures of this very panel: front elevation and exploded stack."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from glasswork.model.frame import Face, FrameLayer, Level
from glasswork.model.geometry import Affine, Box, Point, Regions, mapped_regions
from glasswork.model.sheet import Colour, Fill, Item, Lines, Text
from glasswork.planar import Area
from glasswork.sheets.dimensions import CAP_MM, SMALL_PT, level_dimension, upright_dimension
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.tint import (
    BOARD,
    BOARD_EDGE,
    BOARD_RAISED,
    DIMENSION,
    FILM,
    is_dark,
    lit_colour,
)

_DIM_MM: Final = 6.0
"""Room for a dimension line beside a drawing."""
_MANY: Final = 400
"""More panes than this are drawn without their numbers."""
_NAME_COLUMNS: Final = 3


def numbered_glasses(facts: GuideFacts) -> dict[str, int]:
    """Glass id -> its number in the legend, in the order of the separation."""
    used = {pane.glass for pane in facts.window.panes}
    known = [glass.glass for glass in facts.separation.glasses if glass.glass in used]
    return {name: number for number, name in enumerate(known, start=1)}


def elevation(facts: GuideFacts, box: Box) -> tuple[Item, ...]:
    """The panel from the front as it looks lit, its size, and each pane's number."""
    inner = Box(box.left + _DIM_MM, box.top, box.right, box.bottom - _DIM_MM)
    outline = facts.plan.outline.box
    place = fitted(outline, inner)
    front = [layer for layer in facts.plan.layers if layer.face is Face.FRONT]
    lying = facts.plan.outline.mapped(place).box
    return (
        *_glass(facts, place),
        *_front(facts, front, place),
        *(_numbers(facts, place) if len(facts.window.panes) <= _MANY else ()),
        *level_dimension((lying.left, lying.right), lying.bottom + 4.0, f"{outline.width:.1f} mm"),
        *upright_dimension((lying.top, lying.bottom), lying.left - 3.0, f"{outline.height:.1f} mm"),
    )


def fitted(shape: Box, box: Box) -> Affine:
    """The map that lays a box in the middle of another, as large as it goes."""
    scale = min(box.width / shape.width, box.height / shape.height)
    (cx, cy), (x, y) = shape.centre, box.centre
    return Affine(a=scale, d=scale, e=x - scale * cx, f=y - scale * cy)


def _glass(facts: GuideFacts, place: Affine) -> list[Item]:
    items: list[Item] = [
        Fill(area=area, colour=colour, to_page=place) for area, colour in _by_glass(facts)
    ]
    items.append(Fill(area=facts.plan.printed, colour=(0, 0, 0), to_page=place))
    return items


def _by_glass(facts: GuideFacts) -> list[tuple[Regions, Colour]]:
    """The panes as they look lit, those of one glass together."""
    colours = {glass.glass: lit_colour(glass) for glass in facts.separation.glasses}
    return [(area, colours[glass]) for glass, area in facts.glass_areas.items()]


def _front(facts: GuideFacts, front: Sequence[FrameLayer], place: Affine) -> list[Item]:
    """The cut layers as seen, ears broken off."""
    panel = Area.of([facts.plan.outline])
    items: list[Item] = []
    for layer in sorted(front, key=lambda layer: layer.level is not Level.INNER):
        shape = (Area.of(layer.pieces) & panel).regions()
        colour = BOARD if layer.level is Level.INNER else BOARD_RAISED
        items += _board(mapped_regions(shape, place), colour)
    return items


def _board(shape: Regions, colour: Colour, *, width_mm: float = 0.12) -> list[Item]:
    rings = tuple(ring for region in shape for ring in region.rings)
    return [
        Fill(area=shape, colour=colour),
        Lines(paths=rings, width_mm=width_mm, colour=BOARD_EDGE, closed=True),
    ]


def _numbers(facts: GuideFacts, place: Affine) -> list[Item]:
    """The legend's number in every pane that has room for it."""
    numbers = numbered_glasses(facts)
    colours = {glass.glass: lit_colour(glass) for glass in facts.separation.glasses}
    items: list[Item] = []
    for pane in facts.window.panes:
        room = Area.of([pane.region]).edge_distance_mm(pane.seed_point) * place.a
        if room < 1.25 * CAP_MM or pane.glass not in numbers:
            continue
        x, y = place.apply(pane.seed_point)
        ink = (255, 255, 255) if is_dark(colours[pane.glass]) else (0, 0, 0)
        items.append(
            Text(
                at=(x, y + CAP_MM / 2.0),
                text=str(numbers[pane.glass]),
                size_pt=SMALL_PT,
                anchor="middle",
                colour=ink,
            )
        )
    return items


# -- exploded ------------------------------------------------------------------------------------


class _Leaf(Struct, frozen=True, kw_only=True):
    """One thing of the stack: its name and its shapes with their colours, back ones first."""

    name: str
    shapes: tuple[tuple[Regions, Colour], ...]
    edged: bool


def exploded(facts: GuideFacts, box: Box) -> tuple[Item, ...]:
    """The stack taken apart, seen from the front right, its parts named from front to back."""
    leaves = _leaves(facts)
    outline = facts.plan.film_trim.box
    slant = Affine(a=0.5, b=0.22, c=0.0, d=1.0)
    corners = [
        slant.apply(corner)
        for corner in (
            (outline.left, outline.top),
            (outline.right, outline.top),
            (outline.right, outline.bottom),
            (outline.left, outline.bottom),
        )
    ]
    leaf = Box.around(corners)
    steps = max(1, len(leaves) - 1)
    names_mm = 4.2 * _name_rows(leaves) + 9.0
    room = Box(box.left, box.top, box.right, box.bottom - names_mm)
    scale = min(room.height / (leaf.height * 1.16), room.width / (leaf.width * (1 + 0.62 * steps)))
    apart = (
        (room.width - leaf.width * scale) / steps,
        -(room.height - leaf.height * scale) / steps,
    )
    step = (min(apart[0], leaf.width * scale * 0.8), max(apart[1], -leaf.height * scale * 0.1))
    wide, high = leaf.width * scale + step[0] * steps, leaf.height * scale - step[1] * steps
    corner = (
        room.left + (room.width - wide) / 2.0,
        room.bottom - (room.height - high) / 2.0 - leaf.height * scale,
    )
    items: list[Item] = []
    for number in reversed(range(len(leaves))):
        place = slant.then(
            Affine(
                a=scale,
                d=scale,
                e=corner[0] - leaf.left * scale + step[0] * number,
                f=corner[1] - leaf.top * scale + step[1] * number,
            )
        )
        items += _leaf(leaves[number], place)
        foot = place.apply((outline.right, outline.bottom))
        items += _tag(number + 1, (foot[0], foot[1] + 3.6))
    return (*items, *_names(leaves, Box(box.left, box.bottom - names_mm, box.right, box.bottom)))


def _leaves(facts: GuideFacts) -> list[_Leaf]:
    plan = facts.plan
    film = (
        ((plan.film_trim,), FILM),
        *_by_glass(facts),
        (plan.printed, (0, 0, 0)),
    )

    def board(layer: FrameLayer) -> _Leaf:
        colour = BOARD_RAISED if layer.level is Level.OUTER else BOARD
        ring = layer.level is Level.RETAINER
        name = "retaining ring" if ring else f"{layer.face.value} {layer.level.value}"
        return _Leaf(
            name=f"{name}, {layer.thickness_mm:g} mm board",
            shapes=((layer.pieces, colour),),
            edged=True,
        )

    boards = [board(layer) for layer in plan.layers]
    films = [
        _Leaf(name=f"film {number}", shapes=film, edged=False)
        for number in range(1, facts.separation.count + 1)
    ]
    fronts = sum(1 for layer in plan.layers if layer.face is Face.FRONT)
    return [*boards[:fronts], *films, *boards[fronts:]]


def _leaf(leaf: _Leaf, place: Affine) -> list[Item]:
    items: list[Item] = []
    for shape, colour in leaf.shapes:
        if leaf.edged:
            items += _board(mapped_regions(shape, place), colour, width_mm=0.1)
        elif shape:
            items.append(Fill(area=shape, colour=colour, to_page=place))
    if not leaf.edged:
        rings = tuple(
            ring for region in mapped_regions(leaf.shapes[0][0], place) for ring in region.rings
        )
        items.append(Lines(paths=rings, width_mm=0.1, colour=DIMENSION, closed=True))
    return items


def _tag(number: int, at: Point) -> list[Item]:
    return [
        Text(at=at, text=str(number), size_pt=8.0, bold=True, anchor="middle", colour=DIMENSION)
    ]


def _names(leaves: Sequence[_Leaf], box: Box) -> list[Item]:
    rows = _name_rows(leaves)
    return [
        Text(
            at=(
                box.left + 2.0 + number // rows * box.width / _NAME_COLUMNS,
                box.top + 7.5 + 4.2 * (number % rows),
            ),
            text=f"{number + 1}  {leaf.name}",
            size_pt=7.5,
            colour=DIMENSION,
        )
        for number, leaf in enumerate(leaves)
    ]


def _name_rows(leaves: Sequence[_Leaf]) -> int:
    return -(-len(leaves) // _NAME_COLUMNS)
