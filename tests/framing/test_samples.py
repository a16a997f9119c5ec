"""Every sample design at three scales: layers in one piece, weak places listed, files cut."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace

from glasswork.drawing.make import make_window
from glasswork.errors import FrameError
from glasswork.framing.files import layer_drawings, sheet_drawings
from glasswork.framing.made import narrowest_cut_mm
from glasswork.framing.plan import plan_frame
from glasswork.model.geometry import Affine
from glasswork.model.project import Project
from glasswork.model.window import Role, Window
from glasswork.readers.design import read_design
from glasswork.readers.project import read_project, sizing_of

from test_drawn import covered, held, sound, weak_places_are_listed  # isort: skip
from windows import bed_for, board, cutter, printer  # isort: skip

SAMPLES = sorted((Path(__file__).parents[2] / "sample_designs").glob("*.toml"))
MEANS = {1.0: None, 0.5: ("chipboard-1", "laser"), 1.6: None}
"""Scale, and the board and cutter where the project's own are too coarse for it."""


@cache
def window_of(path: Path) -> tuple[Project, Window]:
    project = read_project(path.read_bytes(), where=path.name)
    drawing = path.with_name(project.design)
    art = read_design(drawing.read_bytes(), name=drawing.name)
    sizing = sizing_of(project, where=path.name)
    return project, make_window(art, roles=project.roles, sizing=sizing)[0]


@pytest.mark.parametrize("scale", sorted(MEANS))
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_make_sound_frames(path: Path, scale: float) -> None:
    project, window = window_of(path)
    window = window.mapped(Affine.scale(scale), width_factor=scale)
    board_name, cutter_name = MEANS[scale] or (project.board, project.cutter)
    means = replace(cutter(cutter_name), bed_mm=bed_for(window))
    border = min(m.width_mm for m in window.members if m.role is Role.BORDER)
    least = narrowest_cut_mm(board(board_name), means)
    if border < least:  # told, not drawn
        with pytest.raises(FrameError, match="the least that can be cut"):
            plan_frame(window, board(board_name), means, printer=printer(), films=2)
        return
    made, _ = plan_frame(window, board(board_name), means, printer=printer(), films=2)
    sound(made, window)
    held(made, window, board(board_name).web_refuse_mm)
    covered(made, window)
    weak_places_are_listed(made, window, board(board_name).web_warn_mm)
    for drawing in (*layer_drawings(made, means), *sheet_drawings(made, means)):
        assert drawing.paths
