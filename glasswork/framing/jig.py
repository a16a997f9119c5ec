"""The assembly jig: a tray that the layers drop into, with holes for the pins in its floor."""

from __future__ import annotations

from collections.abc import Sequence

from glasswork.framing.ears import pin_hole
from glasswork.framing.kerf import file_place
from glasswork.model.frame import Board, Ear, Face, FrameLayer, Level
from glasswork.model.geometry import Region
from glasswork.planar import Area

PLAY_MM = 0.2
"""Room between the layers and the tray's wall; common practice."""
WALL_MM = 12.0


def build_jig(
    outline: Region, ears: Sequence[Ear], board: Board, *, margin_mm: float
) -> tuple[FrameLayer, ...]:
    """Floor and wall of the tray, glued on each other. The wall keeps the layers from turning
    while the pins are set; the outline fits it one way round only, like the pins.
    """
    body = Area.union([Area.of((outline,)), *(Area.of((ear.tab,)) for ear in ears)])
    plate = Area.box(body.bounds.grown(WALL_MM)).regions()[0]
    floor = Region(plate.outer, tuple(pin_hole(ear) for ear in ears))
    well = body.grown(PLAY_MM, join="mitre").filled()
    wall = Region(plate.outer, tuple(region.outer for region in well.regions()))
    return tuple(
        _layer(name, piece, board, margin_mm)
        for name, piece in (("jig-floor", floor), ("jig-wall", wall))
    )


def _layer(name: str, piece: Region, board: Board, margin_mm: float) -> FrameLayer:
    place, size = file_place((piece,), mirrored=False, margin_mm=margin_mm)
    return FrameLayer(
        file=name,
        face=Face.FRONT,
        level=Level.JIG,
        board=board.name,
        thickness_mm=board.thickness_mm,
        pieces=(piece,),
        min_web_mm=WALL_MM,
        panel_to_file=place,
        file_mm=size,
    )
