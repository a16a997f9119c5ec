"""Odd drawings composed to the end: each pack holds what it promises, measured on its files.

The drawings are made here, after what drawings from elsewhere brought up; a project file beside
each holds its settings. `compose` itself raises if a check fails.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from glasswork.cli.kit import load_kit
from glasswork.framing.kerf import piece_paths
from glasswork.model.geometry import Region
from glasswork.panel import Panel, Watch, decide
from glasswork.pipeline import Pack, compose
from glasswork.readers.project import read_project
from glasswork.verify.marks import _centre_of_mark
from glasswork.verify.shown import FilmPicture, render_films

FOLDER = Path(__file__).parents[1] / "designs" / "composed"
NAMES = sorted(path.stem for path in FOLDER.glob("*.toml"))


def run(name: str, job: Callable[..., object], **more: object) -> object:
    project = read_project((FOLDER / f"{name}.toml").read_bytes(), where=name)
    drawing = (FOLDER / project.design).read_bytes()
    watch = Watch(clock=time.perf_counter)
    return job(drawing, project, load_kit(project), name=project.design, watch=watch, **more)


@cache
def pack(name: str) -> Pack:
    made = run(name, compose, created="2026-01-02T00:00:00Z")
    assert isinstance(made, Pack)
    return made


def panel(name: str) -> Panel:
    made = run(name, decide)
    assert isinstance(made, Panel)
    return made


@pytest.mark.parametrize("name", NAMES)
def test_every_check_of_the_written_files_holds(name: str) -> None:
    made = pack(name)
    assert made.report.verified
    assert [check for check in made.report.verified if not check.ok] == []


def polygon(region: Region) -> shapely.Polygon:
    return shapely.Polygon(region.outer, region.holes)


def test_the_film_reaches_all_glass_across_a_narrow_neck() -> None:
    """The film stands back from the panel's edge, but not so far that it loses the bell."""
    plan = panel("buoy-and-bell")
    film = polygon(plan.plan.film_trim)
    for pane in plan.window.panes:
        assert film.buffer(1e-6).covers(polygon(pane.region)), pane.id
    assert polygon(plan.window.outline).buffer(1e-6).covers(film.difference(ears(plan)))


def ears(plan: Panel) -> shapely.Geometry:
    return shapely.union_all([polygon(ear.tab) for ear in plan.plan.ears]).buffer(0.01)


def test_a_slit_narrower_than_the_kerf_is_left_closed_and_told() -> None:
    plan = panel("salt-comb")
    kerf = 0.15  # laser, chipboard of 2 mm
    for layer in plan.plan.layers:
        for piece in layer.pieces:
            paths = piece_paths(piece, kerf, label=layer.file)
            back = shapely.Polygon(paths[-1].points).buffer(-kerf / 2, join_style="mitre")
            solid = shapely.Polygon(piece.outer)
            assert back.symmetric_difference(solid).area < 0.002 * solid.area, layer.file
    told = [found.what for found in plan.findings if "narrower than the cut" in found.what]
    assert told == ["18 openings and slits narrower than the cut, left closed"]


def test_paint_over_a_panes_middle_moves_where_its_colour_is_measured() -> None:
    made = pack("heron-eye-flat").report
    paint = shapely.box(14, 39, 74, 53)  # the bar under the eye, in panel mm
    for pane in made.panes:
        assert pane.seed_room_mm > 0.5
        assert shapely.Point(pane.seed_point_mm).distance(paint) > pane.seed_room_mm - 0.01


def test_panes_a_tenth_of_a_millimetre_wide_are_measured_too() -> None:
    panes = pack("tide-rings").report.panes
    narrow = [pane for pane in panes if pane.seed_room_mm < 0.1]
    assert len(narrow) >= 8


def test_a_film_that_falls_apart_at_a_joint_loses_nothing() -> None:
    """The legs of the quay are parts of their own; every pane is on one part."""
    report = pack("horseshoe-quay").report
    parts = [page for page in report.films.pages if page.film == 1]
    told = [pane for page in parts for pane in page.panes]
    assert sorted(told) == sorted(pane.id for pane in report.panes)
    whole = polygon(panel("horseshoe-quay").plan.film_trim)
    laid = shapely.union_all([shapely.Polygon(page.trim_mm) for page in parts])
    assert shapely.Polygon(whole.exterior).difference(laid).area < 0.05


def test_marks_are_measured_finer_than_the_renderers_pixels() -> None:
    """A pixel is 0.021 mm here; mirrored pages would show twice the error."""
    made = pack("horseshoe-quay")
    shown = render_films(made.files["films.pdf"])
    for facts in made.report.films.pages:
        page = FilmPicture(facts=facts, page=shown.opened()[facts.page - 1], rgb=shown.rgb[0])
        seen = [_centre_of_mark(page, mark) for mark in facts.marks_mm]
        assert np.abs(np.array(seen) - np.array(facts.marks_mm)).max() < 0.004
