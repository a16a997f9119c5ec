"""The sample designs: whole, clean, in colours of the palette, and drawn again by their scripts."""

from __future__ import annotations

import re
import tomllib
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from glasswork.drawing.make import make_window
from glasswork.model.window import Role, Sizing, Window
from glasswork.readers.design import read_design
from glasswork.readers.project import read_project, sizing_of
from tests.drawing.tiling import tiling_error
from tests.scripts.draw_samples import SAMPLES
from tests.scripts.draw_sketch import sketch

ROOT = Path(__file__).parents[2]
DESIGNS = ROOT / "sample_designs"
_NUMBER = re.compile(r"(?<=[MLA \"])-?\d+(?:\.\d+)?(?=[ \"m])")
DRAWINGS = sorted(p for p in DESIGNS.iterdir() if p.suffix in (".svg", ".png"))


def _window(path: Path, sizing: Sizing) -> Window:
    art = read_design(path.read_bytes(), name=path.name)
    window, _ = make_window(art, roles={}, sizing=sizing)
    return window


def test_there_are_samples_of_every_kind() -> None:
    names = {path.name for path in DRAWINGS}
    assert names >= {
        "ferry-house.svg",  # two lancet lights with tracery
        "salt-works.svg",  # a casement of quarries
        "kelp-rose.svg",  # a round window
        "heron-sketch.png",  # a hand-drawn raster sketch with scan noise
    }


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda p: p.name)
def test_a_sample_makes_a_window_with_no_option_at_all(path: Path) -> None:
    window = _window(path, Sizing())
    assert tiling_error(window) < 1e-9
    wide, high = window.size_mm
    assert 80.0 < wide < 200.0
    assert 80.0 < high < 200.0
    assert min(pane.region.area_mm2 for pane in window.panes) > 0.4
    roles = {member.role for member in window.members}
    assert {Role.BORDER, Role.LEAD} <= roles


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda p: p.name)
def test_every_sample_has_a_project_file_of_its_name(path: Path) -> None:
    file = path.with_suffix(".toml")
    project = read_project(file.read_bytes(), where=file.name)
    assert project.design == path.name
    assert "invented" in file.read_text("utf-8")
    window = _window(path, sizing_of(project, where=file.name))
    if project.opening is not None:
        for side, room in zip(window.size_mm, project.opening, strict=True):
            assert side <= room - 2.0 * (project.clearance or 0.0) + 1e-6


@pytest.mark.parametrize("path", [p for p in DRAWINGS if p.suffix == ".svg"], ids=lambda p: p.name)
def test_glass_of_the_drawn_samples_is_glass_of_the_palette(path: Path) -> None:
    palette = tomllib.loads((ROOT / "profiles/palettes/harbour.toml").read_text("utf-8"))
    known = {glass["srgb"] for glass in palette["glass"]}
    fills = {pane.fill for pane in _window(path, Sizing()).panes}
    assert fills <= known
    assert len(fills) >= 8


def test_the_sketch_is_what_its_script_draws() -> None:
    kept = np.asarray(Image.open(DESIGNS / "heron-sketch.png").convert("RGB"), dtype=np.float64)
    again = np.asarray(Image.open(BytesIO(sketch())).convert("RGB"), dtype=np.float64)
    assert kept.shape == again.shape
    # other versions of the drawing library round otherwise at edges
    assert np.abs(kept - again).mean() < 0.5


@pytest.mark.parametrize("name", SAMPLES)
def test_drawn_samples_are_what_their_script_draws(name: str) -> None:
    kept, again = ((DESIGNS / name).read_text("utf-8"), SAMPLES[name]().decode())
    assert _NUMBER.sub("0", kept) == _NUMBER.sub("0", again)
    one, other = (np.array(_NUMBER.findall(text), dtype=np.float64) for text in (kept, again))
    assert np.abs(one - other).max() < 1e-5  # the last digit may be another machine's


@pytest.mark.parametrize("name", SAMPLES)
def test_drawn_samples_keep_their_arcs(name: str) -> None:
    text = (DESIGNS / name).read_text("utf-8")
    assert text.count("A") > 20
    assert "invented harbour town of Varnholt" in text
