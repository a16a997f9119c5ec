"""The guide's page on films in parts: which part lies where, and how two meet under a lead."""

from __future__ import annotations

from typing import Final

from glasswork.model.geometry import Affine, Box, Point
from glasswork.model.sheet import Colour, Fill, Item, Line, Lines, Text
from glasswork.planar import Area
from glasswork.sheets.dimensions import CAP_MM, level_dimension
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.flow import Flow
from glasswork.sheets.marks import rectangle
from glasswork.sheets.tiles import OVERLAP_MM, Division, Tile
from glasswork.sheets.tint import BOARD, BOARD_EDGE, DIMENSION

_HIGH_MM: Final = 78.0
_TINTS: Final = (
    (198, 221, 232), (244, 226, 190), (212, 230, 200), (236, 208, 208), (222, 212, 236),
    (205, 232, 226),
)  # fmt: skip
_JOINT: Final = (176, 40, 30)
_LEAD: Final = (150, 146, 140)
_DETAIL: Final = 6.0
"""Times true size at which the detail is drawn across; the heights are not to scale."""


def joints(flow: Flow, facts: GuideFacts) -> None:
    """Nothing, where every film is printed whole."""
    division = facts.division
    if division is None:
        return
    count = len(division.tiles)
    flow.heading("Films in parts", keep_mm=_HIGH_MM + 8.0)
    flow.picture(_HIGH_MM, lambda box: [*_map(facts, division, box), *_detail(division, box)])
    flow.space(1.5)
    flow.caption(
        "Left: the parts from the front, with their joints. Right: a joint seen from the edge, the "
        "films drawn too thick."
    )
    thick = facts.printer.film_thickness_mm * facts.separation.count
    flow.paragraph(
        f"The page is too small for this film, so each is printed in {count} parts; every page "
        "says which. Trim each part along its thin grey line, round every corner of the joint. "
        f"Neighbours lie {OVERLAP_MM:g} mm over each other"
        + (
            f". {round(division.bare_mm)} mm of the joints cross glass and will be seen: let the "
            "parts meet cleanly there."
            if round(division.bare_mm)
            else ", always under a lead."
        )
        + " Lay the parts on the front frame one after the other, bring the ink of their panes to "
        "the edges of the leads, and tape them together on the border. The next film is divided in "
        f"the same places; where parts lie over each other the stack is {thick:.2f} mm thicker."
    )


def _map(facts: GuideFacts, division: Division, box: Box) -> list[Item]:
    """The parts in tints, the leads over them, the joints in red, the numbers in the middle."""
    room = Box(box.left, box.top, box.left + 0.56 * box.width, box.bottom)
    whole = facts.plan.film_trim.box
    scale = min(room.width / whole.width, room.height / whole.height)
    (cx, cy), (x, y) = whole.centre, room.centre
    place = Affine(a=scale, d=scale, e=x - scale * cx, f=y - scale * cy)
    items: list[Item] = []
    for tile in division.tiles:
        items.append(Fill(area=(tile.trim.mapped(place),), colour=_tint(tile.number)))
    leads = (*facts.plan.cut, *facts.plan.printed)
    items.append(Fill(area=leads, colour=_LEAD, to_page=place))
    items += [
        Lines(
            paths=(tuple(place.apply(point) for point in joint.line),),
            width_mm=0.55,
            colour=_JOINT,
        )
        for joint in division.joints
    ]
    for tile in division.tiles:
        at = place.apply(_middle(tile))
        items.append(_badge(str(tile.number), at))
        items.append(
            Text(
                at=(at[0], at[1] + 1.55), text=str(tile.number), size_pt=12.0, bold=True,
                anchor="middle", colour=DIMENSION,
            )
        )  # fmt: skip
    return items


def _tint(number: int) -> Colour:
    return _TINTS[(number - 1) % len(_TINTS)]


def _badge(text: str, at: Point) -> Item:
    x, y = at
    half = 3.0 if len(text) == 1 else 4.2
    return Fill(
        area=(rectangle(Box(x - half, y - 3.0, x + half, y + 3.0)),), colour=(255, 255, 255)
    )


def _middle(tile: Tile) -> Point:
    """A place well inside a part."""
    trim = Area.of([tile.trim])
    centre = trim.bounds.centre
    return centre if trim.holds(centre) else trim.inner_point()


def _detail(division: Division, box: Box) -> list[Item]:
    """Two parts under a lead, seen from the edge: front below."""
    first, second = _neighbours(division)
    right = box.right
    left = box.left + 0.62 * box.width
    middle, y = (left + right) / 2.0, box.centre[1]
    half = OVERLAP_MM / 2.0 * _DETAIL
    lead = 2.6 * _DETAIL / 2.0
    boards = [
        Box(middle - lead, y - 12.0, middle + lead, y - 2.6),
        Box(middle - lead, y + 2.6, middle + lead, y + 12.0),
    ]
    items: list[Item] = []
    for board in boards:
        items += [
            Fill(area=(rectangle(board),), colour=BOARD),
            Lines(paths=(rectangle(board).outer,), width_mm=0.15, colour=BOARD_EDGE, closed=True),
        ]
    films = (
        (Box(left, y + 0.2, middle + half, y + 1.5), first),
        (Box(middle - half, y - 1.5, right, y - 0.2), second),
    )
    for film, number in films:
        items += [
            Fill(area=(rectangle(film),), colour=_tint(number)),
            Lines(paths=(rectangle(film).outer,), width_mm=0.2, colour=DIMENSION, closed=True),
        ]
    names = ((left, "start", first, y + 5.2), (right, "end", second, y - 3.4))
    items += [
        Text(at=(x, base), text=f"part {number}", size_pt=8.0, bold=True, anchor=anchor,
             colour=DIMENSION)
        for x, anchor, number, base in names
    ]  # fmt: skip
    for text, board in (("lead, back", boards[0]), ("lead, front", boards[1])):
        at = (board.left - 2.0, board.centre[1] + CAP_MM / 2.0 + (board is boards[1]) * 2.0)
        items.append(Text(at=at, text=text, size_pt=7.5, anchor="end", colour=DIMENSION))
    low = boards[1].bottom + 8.0
    items += [
        Line(points=((x, y + 1.5), (x, low)), width_mm=0.08, colour=DIMENSION)
        for x in (middle - half, middle + half)
    ]
    items += level_dimension((middle - half, middle + half), low + 1.0, "")
    items.append(
        Text(
            at=(middle, low + 2.4 + CAP_MM), text=f"{OVERLAP_MM:g} mm over each other", size_pt=7.5,
            anchor="middle", colour=DIMENSION,
        )
    )  # fmt: skip
    return items


def _neighbours(division: Division) -> tuple[int, int]:
    """Two parts that lie over each other."""
    areas = [(tile.number, Area.of([tile.trim])) for tile in division.tiles]
    for index, (number, area) in enumerate(areas):
        for other, beside in areas[index + 1 :]:
            if not (area & beside).is_empty:
                return number, other
    return 1, 2
