"""Every file of a pack but the report, from the models the stages made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.film import Separation
from glasswork.model.frame import CutDrawing, FramePlan
from glasswork.model.project import Project
from glasswork.model.sheet import Document, Page, Picture
from glasswork.model.window import Window
from glasswork.writers.dxf import write_dxf
from glasswork.writers.pdf import write_pdf
from glasswork.writers.preview import preview_back, preview_front
from glasswork.writers.project import write_project
from glasswork.writers.svg import write_cut_svg

TITLES = {
    "films": ("films", "film prints 1:1 in device colours: print at 100 %, colour management off"),
    "template": ("frame template", "frame parts 1:1: print at 100 %"),
    "guide": ("guide", "what to print, cut, colour and glue, in order"),
}
"""What is printed: the file's name, its title and its subject."""


class Cuts(Struct, frozen=True, kw_only=True):
    """Everything that is cut: layers, nested sheets, the trim of the films, whole and in parts."""

    layers: Sequence[CutDrawing]
    sheets: Sequence[CutDrawing]
    trims: Sequence[CutDrawing]


def paper_files(
    papers: Mapping[str, Sequence[Page]], *, name: str, created: str
) -> dict[str, bytes]:
    """films.pdf, template.pdf and guide.pdf, those of them whose pages are given."""
    return {
        f"{file}.pdf": write_pdf(
            Document(title=f"{name}: {title}", subject=subject, pages=tuple(pages), created=created)
        )
        for file, pages in papers.items()
        for title, subject in [TITLES[file]]
    }


def cut_files(cuts: Cuts) -> dict[str, bytes]:
    """Every frame layer and the film trim as SVG, every nested sheet as SVG and DXF."""
    drawings = (*cuts.trims, *cuts.layers, *cuts.sheets)
    return {
        f"{drawing.file}.svg": write_cut_svg(drawing.paths, drawing.size_mm, title=drawing.title)
        for drawing in drawings
    } | {
        f"{sheet.file}.dxf": write_dxf(sheet.paths, sheet.size_mm, title=sheet.title)
        for sheet in cuts.sheets
    }


def preview_files(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    glass: Picture | None,
    *,
    light: NDArray[np.float32] | None = None,
) -> dict[str, bytes]:
    """The panel lit, in front light, and from the back.

    glass : the panes as seen lit, or None where they are flat
    light : on the diffuser, see `preview_lit`
    """
    lit, unlit = preview_front(window, separation, plan, glass=glass, light=light)
    back = preview_back(window, separation, plan, glass=glass)
    return {"preview-lit.png": lit, "preview-unlit.png": unlit, "preview-back.png": back}


def project_files(project: Project) -> dict[str, bytes]:
    """The project that composes the pack again."""
    return {"project.toml": write_project(project)}
