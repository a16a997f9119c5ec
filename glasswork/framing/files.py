"""Every cut file of a frame, ready for a writer."""

from __future__ import annotations

from collections.abc import Sequence

from glasswork.framing.kerf import cut_paths, file_place, ordered, piece_paths
from glasswork.framing.nest import sheet_paths
from glasswork.framing.plan import MARGIN_MM
from glasswork.model.frame import CutDrawing, Cutter, FramePlan
from glasswork.model.geometry import Region


def layer_drawings(plan: FramePlan, cutter: Cutter) -> tuple[CutDrawing, ...]:
    """One drawing a frame layer: frames/front-outer, frames/front-inner, …, frames/retainer;
    frames/jig-floor and frames/jig-wall where a jig is wanted.

    Raises: FrameError, if an opening is narrower than the kerf
    """
    return tuple(
        CutDrawing(
            file=f"frames/{layer.file}",
            title=f"{layer.file}, {layer.thickness_mm:g} mm",
            size_mm=layer.file_mm,
            paths=cut_paths(layer, cutter),
        )
        for layer in (*plan.layers, *plan.jig)
    )


def sheet_drawings(plan: FramePlan, cutter: Cutter) -> tuple[CutDrawing, ...]:
    """One drawing a nested sheet: frames/sheet-1, …"""
    return tuple(
        CutDrawing(
            file=f"frames/sheet-{sheet.number}",
            title=f"sheet {sheet.number}, {sheet.board}",
            size_mm=sheet.bed_mm,
            paths=sheet_paths(sheet, (*plan.layers, *plan.jig), cutter),
        )
        for sheet in plan.sheets
    )


def trim_drawing(plan: FramePlan) -> CutDrawing:
    """Where the film is trimmed: films-trim, seen from the front, cut with a knife."""
    return _trimmed(plan.film_trim, "films-trim", "film trim")


def trim_drawings(plan: FramePlan, parts: Sequence[Region] = ()) -> tuple[CutDrawing, ...]:
    """The same, and of a film in parts each part: films-trim-1, …

    parts : where they are trimmed, panel mm
    """
    return (
        trim_drawing(plan),
        *(
            _trimmed(part, f"films-trim-{n}", f"film trim, part {n} of {len(parts)}")
            for n, part in enumerate(parts, start=1)
        ),
    )


def _trimmed(trim: Region, file: str, title: str) -> CutDrawing:
    place, size = file_place((trim,), mirrored=False, margin_mm=MARGIN_MM)
    paths = ordered(piece_paths(trim.mapped(place), 0.0, label="film"))
    return CutDrawing(file=file, title=title, size_mm=size, paths=paths)
