"""Every cut file of a frame, ready for a writer."""

from __future__ import annotations

from glasswork.framing.kerf import cut_paths, file_place, ordered, piece_paths
from glasswork.framing.nest import sheet_paths
from glasswork.framing.plan import MARGIN_MM
from glasswork.model.frame import CutDrawing, Cutter, FramePlan


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
    place, size = file_place((plan.film_trim,), mirrored=False, margin_mm=MARGIN_MM)
    shape = plan.film_trim.mapped(place)
    paths = ordered(piece_paths(shape, 0.0, label="film"))
    return CutDrawing(file="films-trim", title="film trim", size_mm=size, paths=paths)
