"""A panel in an opening of any outline: as large as goes in, and where it lies."""

from __future__ import annotations

from glasswork.errors import FrameError
from glasswork.framing.fit import panel_for
from glasswork.model.geometry import Affine, Region
from glasswork.planar import Area

_HALVINGS = 40
_HAIR_MM = 1e-4


def largest_width_mm(outline: Region, opening: Region, clearance_mm: float) -> float:
    """Width of the largest panel of this shape that keeps the clearance all round in an opening.

    Raises: FrameError, if nothing is left of the opening, or the shape goes nowhere into it
    """
    room = panel_for(opening, clearance_mm)
    within = Area.of((room,)).grown(_HAIR_MM)
    box = outline.box
    most = min(room.box.width / box.width, room.box.height / box.height)
    least = 0.0
    if _goes_in(outline, within, room, most):
        return most * box.width
    for _ in range(_HALVINGS):
        middle = (least + most) / 2.0
        if _goes_in(outline, within, room, middle):
            least = middle
        else:
            most = middle
    if least < 0.05 * most or least == 0.0:
        raise FrameError(
            "frame, opening",
            "the panel's shape goes nowhere into the opening's",
            "draw the panel's outline after the opening's",
        )
    return least * box.width


def moved_onto(outline: Region, opening: Region, clearance_mm: float) -> Region:
    """The opening moved to where the panel lies in the middle of its room, in panel mm.

    Raises: FrameError, if the clearance leaves nothing of the opening
    """
    (x, y), (cx, cy) = outline.box.centre, panel_for(opening, clearance_mm).box.centre
    return opening.mapped(Affine(e=x - cx, f=y - cy))


def _goes_in(outline: Region, within: Area, room: Region, factor: float) -> bool:
    (x, y), (cx, cy) = outline.box.centre, room.box.centre
    place = Affine(a=factor, d=factor, e=cx - x * factor, f=cy - y * factor)
    return (Area.of((outline.mapped(place),)) - within).is_empty
