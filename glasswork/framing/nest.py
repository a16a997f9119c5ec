"""Parts laid out on bed-sized sheets, each board on sheets of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from msgspec import Struct

from glasswork.errors import FrameError
from glasswork.framing.kerf import ordered, piece_paths
from glasswork.framing.raster import TURNS, Bed, Mask, Spectrum, grown_for_mask, mask_of
from glasswork.model.frame import CutPath, Cutter, FrameLayer, NestSheet
from glasswork.model.geometry import Affine, Box, Region

SPACING_MM, MARGIN_MM = 3.0, 3.0
"""Room between parts and to the bed's edge; common practice."""
CELL_MM = 1.0
"""Parts are laid to the millimetre."""


class Part(Struct, frozen=True, kw_only=True):
    """One piece to cut, as it lies in its layer's file. turnable : may be turned by
    quarters; else by a half alone, which keeps the grain."""

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
    parts: Sequence[Part],
    bed_mm: tuple[float, float],
    *,
    spacing_mm: float = SPACING_MM,
    advice: Callable[[], str] | None = None,
) -> tuple[NestSheet, ...]:
    """Parts on sheets, none overlapping, none over the bed's edge.

    advice : what to do about a part that is too large

    Raises: FrameError, or Faults, if a part is larger than the bed
    """
    _refuse_too_large(parts, bed_mm, advice)
    sheets: list[NestSheet] = []
    for board in dict.fromkeys(part.board for part in parts):
        mine = [part for part in parts if part.board == board]
        sheets += [
            NestSheet(
                number=len(sheets) + number,
                bed_mm=bed_mm,
                board=board,
                parts=tuple(sheet.places),
                used=sheet.area_mm2 / (bed_mm[0] * bed_mm[1]),
            )
            for number, sheet in enumerate(_laid_out(mine, bed_mm, spacing_mm), start=1)
        ]
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
        if number == 1:  # the ears, and so the marks, are on the first and largest piece
            found += [path.mapped(place) for path in layer.marks]
    return ordered(found)


def fits_bed(size_mm: tuple[float, float], bed_mm: tuple[float, float], *, turnable: bool) -> bool:
    """A part of this size has room on the bed, turned by a quarter if it may be."""
    room = (bed_mm[0] - 2.0 * MARGIN_MM, bed_mm[1] - 2.0 * MARGIN_MM)
    return _fits(size_mm, room) or (turnable and _fits(size_mm[::-1], room))


def _refuse_too_large(
    parts: Sequence[Part], bed_mm: tuple[float, float], advice: Callable[[], str] | None
) -> None:
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
        advice() if advice else "make the panel smaller, or choose a cutter with a larger bed",
    )


def _takes(room: tuple[float, float], part: Part) -> bool:
    size = (part.shape.box.width, part.shape.box.height)
    return _fits(size, room) or (part.turnable and _fits(size[::-1], room))


def _fits(size: tuple[float, float], room: tuple[float, float]) -> bool:
    return size[0] <= room[0] + 1e-6 and size[1] <= room[1] + 1e-6


@dataclass(slots=True, eq=False)
class _Sheet:
    bed: Bed
    places: list[tuple[str, int, Affine]]
    area_mm2: float = 0.0


def _laid_out(parts: Sequence[Part], bed_mm: tuple[float, float], gap: float) -> list[_Sheet]:
    """Largest part first, each at the leftmost place of the first sheet that takes it."""
    rows, columns = (int((side - 2.0 * MARGIN_MM + gap) / CELL_MM) for side in bed_mm[::-1])
    least = min(min(part.shape.box.width, part.shape.box.height) for part in parts)
    sheets: list[_Sheet] = []
    for part in sorted(parts, key=_weight, reverse=True):
        masks = _masks(part, gap, least)
        best = _best_place(sheets, masks)
        if best is None:
            sheets.append(_Sheet(Bed(rows, columns), []))
            best = _best_place(sheets[-1:], masks)
        if best is None:
            _place_alone(sheets[-1], part, bed_mm)
            continue
        sheet, mask, row, column = best
        sheet.bed.take(mask, row, column)
        corner = (MARGIN_MM - gap / 2.0 + column * CELL_MM, MARGIN_MM - gap / 2.0 + row * CELL_MM)
        place = mask.move.then(Affine.shift(*corner))
        sheet.places.append((part.layer, part.piece, place))
        sheet.area_mm2 += part.shape.area_mm2
    return sheets


def _weight(part: Part) -> float:
    box = part.shape.box
    return box.width * box.height


def _masks(part: Part, gap: float, least_mm: float) -> list[Mask]:
    area = grown_for_mask(
        part.shape, room_mm=gap / 2.0, cell_mm=CELL_MM, least_hole_mm=least_mm + gap
    )
    turns = TURNS if part.turnable else TURNS[::2]
    return [mask_of(area, turn, cell_mm=CELL_MM) for turn in turns]


def _best_place(
    sheets: Sequence[_Sheet], masks: Sequence[Mask]
) -> tuple[_Sheet, Mask, int, int] | None:
    """On the first sheet with room, the turn that reaches least far to the right, then down."""
    spectra: dict[int, Spectrum | None] = {}
    for sheet in sheets:
        found = []
        for number, mask in enumerate(masks):
            if sheet.bed.empty:
                place = (0, 0) if sheet.bed.holds(mask) else None
            else:
                if number not in spectra:
                    spectra[number] = sheet.bed.spectrum_of(mask)
                spectrum = spectra[number]
                place = None if spectrum is None else sheet.bed.first_place(mask, spectrum)
            if place is not None:
                row, column = place
                reach = (column + mask.size[1], row + mask.size[0], number)
                found.append((reach, mask, row, column))
        if found:
            _, mask, row, column = min(found, key=lambda item: item[0])
            return sheet, mask, row, column
    return None


def _place_alone(sheet: _Sheet, part: Part, bed_mm: tuple[float, float]) -> None:
    """A part that fills the bed to within a cell has a sheet to itself."""
    room = (bed_mm[0] - 2.0 * MARGIN_MM, bed_mm[1] - 2.0 * MARGIN_MM)
    turn = TURNS[0] if _fits((part.shape.box.width, part.shape.box.height), room) else TURNS[1]
    box = Box.around(turn.ring(part.shape.outer))
    place = turn.then(Affine.shift(MARGIN_MM - box.left, MARGIN_MM - box.top))
    sheet.places.append((part.layer, part.piece, place))
    sheet.area_mm2 += part.shape.area_mm2
    sheet.bed.close()
