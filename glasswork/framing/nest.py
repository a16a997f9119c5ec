"""Parts laid out on bed-sized sheets, each board on sheets of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from glasswork.errors import FrameError
from glasswork.framing.kerf import ordered, piece_paths
from glasswork.model.frame import CutPath, Cutter, FrameLayer, NestSheet
from glasswork.model.geometry import Affine, Box, Region

SPACING_MM, MARGIN_MM = 3.0, 3.0
"""Room between parts and to the bed's edge; common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One piece to cut, as it lies in its layer's file. turnable : may be turned by 90°."""

    layer: str
    piece: int
    board: str
    shape: Region
    turnable: bool = True


def parts_of(
    layers: Sequence[FrameLayer], *, grained: frozenset[str] = frozenset()
) -> tuple[Part, ...]:
    """Every piece of every layer, mapped into its file. grained : boards that are not turned."""
    return tuple(
        Part(
            layer=layer.file,
            piece=number,
            board=layer.board,
            shape=piece.mapped(layer.panel_to_file),
            turnable=layer.board not in grained,
        )
        for layer in layers
        for number, piece in enumerate(layer.pieces, start=1)
    )


def nest(
    parts: Sequence[Part], bed_mm: tuple[float, float], *, spacing_mm: float = SPACING_MM
) -> tuple[NestSheet, ...]:
    """Parts on sheets, none overlapping, none over the bed's edge.

    Raises: FrameError, or Faults, if a part is larger than the bed
    """
    _refuse_too_large(parts, bed_mm)
    sheets: list[NestSheet] = []
    for board in dict.fromkeys(part.board for part in parts):
        mine = [part for part in parts if part.board == board]
        sheets += _shelves(mine, bed_mm, spacing_mm, board, len(sheets) + 1)
    return tuple(sheets)


def sheet_paths(
    sheet: NestSheet, layers: Sequence[FrameLayer], cutter: Cutter
) -> tuple[CutPath, ...]:
    """The paths of one sheet in bed mm, inside before outside."""
    by_file = {layer.file: layer for layer in layers}
    found: list[CutPath] = []
    for file, number, place in sheet.parts:
        layer = by_file[file]
        shape = layer.pieces[number - 1].mapped(layer.panel_to_file).mapped(place)
        kerf = cutter.kerf_for(layer.thickness_mm)
        found += piece_paths(shape, kerf, label=f"{file} {number}")
    return ordered(found)


def _refuse_too_large(parts: Sequence[Part], bed_mm: tuple[float, float]) -> None:
    room = (bed_mm[0] - 2.0 * MARGIN_MM, bed_mm[1] - 2.0 * MARGIN_MM)
    large = [part for part in parts if not _takes(room, part)]
    if not large:
        return
    part = max(large, key=lambda one: one.shape.box.width * one.shape.box.height)
    grain = "" if part.turnable else " along its grain"
    more = f" ({len(large)} parts are too large)" if len(large) > 1 else ""
    raise FrameError(
        f"frame, {part.layer}",
        f"the part is {part.shape.box.width:.1f} x {part.shape.box.height:.1f} mm with its pin "
        f"ears, the bed takes {room[0]:g} x {room[1]:g} mm{grain}{more}",
        "make the panel smaller, or choose a cutter with a larger bed",
    )


def _takes(room: tuple[float, float], part: Part) -> bool:
    size = (part.shape.box.width, part.shape.box.height)
    return _fits(size, room) or (part.turnable and _fits(size[::-1], room))


def _fits(size: tuple[float, float], room: tuple[float, float]) -> bool:
    return size[0] <= room[0] + 1e-6 and size[1] <= room[1] + 1e-6


def _shelves(
    parts: Sequence[Part], bed_mm: tuple[float, float], gap: float, board: str, first: int
) -> list[NestSheet]:
    """Rows of parts, tallest first."""
    width, height = bed_mm[0] - MARGIN_MM, bed_mm[1] - MARGIN_MM
    placed: list[list[tuple[str, int, Affine]]] = []
    areas: list[float] = []
    x = y = row = 0.0
    for part in sorted(parts, key=lambda p: -max(p.shape.box.width, p.shape.box.height)):
        turn = _turn(part, (width - MARGIN_MM, height - MARGIN_MM))
        box = Box.around(turn.ring(part.shape.outer))
        if x + box.width > width and placed:
            x, y, row = MARGIN_MM, y + row + gap, 0.0
        if not placed or y + box.height > height:
            placed.append([])
            areas.append(0.0)
            x = y = MARGIN_MM
            row = 0.0
        place = turn.then(Affine.shift(x - box.left, y - box.top))
        placed[-1].append((part.layer, part.piece, place))
        areas[-1] += part.shape.area_mm2
        x += box.width + gap
        row = max(row, box.height)
    return [
        NestSheet(
            number=first + i,
            bed_mm=bed_mm,
            board=board,
            parts=tuple(items),
            used=areas[i] / (bed_mm[0] * bed_mm[1]),
        )
        for i, items in enumerate(placed)
    ]


def _turn(part: Part, room: tuple[float, float]) -> Affine:
    size = (part.shape.box.width, part.shape.box.height)
    if _fits(size, room):
        return Affine()
    return Affine(a=0.0, b=1.0, c=-1.0, d=0.0)
