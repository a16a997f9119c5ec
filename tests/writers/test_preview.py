"""Previews: the films' own colours, in the right places, with the frame in relief."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from glasswork.cielab import encode_value
from glasswork.model.frame import Face, Level
from glasswork.model.sheet import Picture
from glasswork.planar import Area
from glasswork.writers.preview import (
    preview_back,
    preview_front,
    preview_lit,
    preview_unlit,
)
from glasswork.writers.raster import to_srgb
from glasswork.writers.scene import (
    Packed,
    build_scene,
    camera_for,
    draw,
    draw_each,
    without_ears,
)
from glasswork.writers.seen import flat_film

sys.path.insert(0, str(Path(__file__).parent))  # tests/writers/panels.py builds a panel by hand

from panels import LIT, framed, mole_light, separation

WIDTH = 800


def _pixels(png: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(png)) as picture:
        assert picture.mode == "RGB"
        return np.asarray(picture)


def _linear(srgb: np.ndarray) -> np.ndarray:
    value = srgb / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def _at(picture: np.ndarray, point: tuple[float, float], *, behind: bool = False) -> np.ndarray:
    camera, shape = camera_for(mole_light().outline, width_px=picture.shape[1], behind=behind)
    assert shape == picture.shape[:2]
    x, y = camera.project(np.array([point]), 0.0)[0]
    patch = picture[int(y) - 1 : int(y) + 2, int(x) - 1 : int(x) + 2]
    return _linear(patch).mean(axis=(0, 1))


def _roomy_panes():
    """Panes with 5 mm of glass round their middle, where the frame's shadow does not reach."""
    for pane in mole_light().panes:
        if not Area.of((pane.region,)).grown(-5.0).is_empty:
            yield pane


@pytest.fixture(scope="module")
def lit() -> np.ndarray:
    return _pixels(preview_lit(mole_light(), separation(), framed(mole_light()), width_px=WIDTH))


@pytest.fixture(scope="module")
def back() -> np.ndarray:
    return _pixels(preview_back(mole_light(), separation(), framed(mole_light()), width_px=WIDTH))


def _off_hue(seen: np.ndarray, meant: tuple[float, float, float]) -> float:
    """Angle in degrees between two colours as directions in linear light."""
    a, b = np.asarray(seen), np.asarray(meant)
    return float(np.degrees(np.arccos(a @ b / np.linalg.norm(a) / np.linalg.norm(b))))


def test_glass_shows_the_colour_that_the_separation_foresees(lit) -> None:
    panes = list(_roomy_panes())
    assert len(panes) >= 10
    for pane in panes:
        seen, meant = _at(lit, pane.seed_point), LIT[pane.glass]
        assert _off_hue(seen, meant) < 6.0, pane.id
        assert 0.5 * max(meant) < max(seen) < 1.2 * max(meant) + 0.05, pane.id


def test_the_back_is_the_mirror_of_the_front(back) -> None:
    """The mirrored place of each pane holds its colour; the place itself, on the whole, not."""
    wrong = 0
    for pane in _roomy_panes():
        assert _off_hue(_at(back, pane.seed_point, behind=True), LIT[pane.glass]) < 6.0, pane.id
        wrong += _off_hue(_at(back, pane.seed_point), LIT[pane.glass]) > 6.0
    assert wrong >= 6


def test_unlit_film_is_far_darker_than_lit(lit) -> None:
    unlit = _pixels(preview_unlit(mole_light(), separation(), framed(mole_light()), width_px=WIDTH))
    for pane in _roomy_panes():
        assert _at(unlit, pane.seed_point).sum() < 0.25 * _at(lit, pane.seed_point).sum()


def test_printed_leads_and_frame_keep_the_light_back(lit) -> None:
    plan = framed(mole_light())
    printed = (Area.of(plan.printed) - Area.of(plan.cut).grown(0.6)).grown(-0.3)
    places = [part.inner_point() for part in printed.parts()]
    assert len(places) >= 4
    places += [(3.0, 150.0), (117.0, 150.0), (60.0, 177.0)]
    for place in places:
        assert _at(lit, place).max() < 0.07, place


def test_the_room_is_dark_and_the_glow_spills_over_the_frame(lit) -> None:
    assert _linear(lit[:8]).max() < 0.01
    beside, far = _at(lit, (8.2 - 2.2, 100.0)), _linear(lit[20:30, 20:30]).mean(axis=(0, 1))
    assert beside.sum() > 2.0 * far.sum()


def test_walls_of_the_frame_show_on_both_sides_of_the_film() -> None:
    """Seen from the middle, the near frame shows its walls and so does the far one."""
    window, plan = mole_light(), framed(mole_light())
    camera, shape = camera_for(plan.outline, width_px=WIDTH)
    film = flat_film(window, separation(), plan, lit=True)
    scene = build_scene(plan, film, camera=camera, shape=shape)
    row = int(camera.project(np.array([(60.0, 150.0)]), 0.0)[0, 1])
    left = int(camera.project(np.array([(7.0, 150.0)]), 0.0)[0, 0])
    near_wall = scene.near[row, left - 12 : left + 4, 1]
    assert near_wall.max() > 100
    opening = scene.near[row, left : left + 12, 0] < 20
    far = scene.through[row, left : left + 12][opening]
    assert far.min() < 200
    assert scene.through[row, left + 40] == 255
    levels = np.unique(scene.near[..., 2][scene.near[..., 1] == 0])
    assert {0, 128, 255} <= set(levels.tolist())  # film, inner face, outer face


def test_turning_the_panel_moves_what_lies_higher() -> None:
    outline = mole_light().outline
    straight, _ = camera_for(outline, width_px=WIDTH)
    turned, _ = camera_for(outline, width_px=WIDTH, turn_deg=20.0)
    middle = np.array([outline.box.centre])
    assert straight.project(middle, 4.0) == pytest.approx(straight.project(middle, 0.0))
    moved = turned.project(middle, 4.0) - turned.project(middle, 0.0)
    near = turned.distance_mm / (turned.distance_mm - 4.0 * np.cos(np.radians(20.0)))
    assert moved[0, 0] == pytest.approx(4.0 * np.sin(np.radians(20.0)) * turned.px_per_mm * near)


def test_ears_are_broken_off() -> None:
    plan = framed(mole_light())
    assert plan.ears
    whole = Area.of((plan.outline,)).grown(1e-6)
    for layer in plan.layers:
        shown = without_ears(layer.pieces, plan)
        assert (Area.of(shown) - whole).area_mm2 < 1e-6
        if layer.face is Face.FRONT and layer.level is Level.INNER:
            assert Area.of(shown).area_mm2 == pytest.approx(Area.of(plan.cut).area_mm2, rel=1e-6)


def test_srgb_is_the_published_curve_with_noise_of_one_step() -> None:
    """[srgb]: 0 -> 0, 0.0031308 -> 0.04045, 0.21404 -> 0.5, 1 -> 1."""
    for linear, srgb in ((0.0, 0.0), (0.0031308, 0.04045), (0.21404, 0.5), (1.0, 1.0)):
        assert encode_value(linear) == pytest.approx(srgb, abs=2e-5)
        shown = to_srgb(np.full((64, 64, 3), linear, np.float32))
        assert abs(shown.mean() - srgb * 255.0) < 0.06
        assert shown.max() - shown.min() <= 1


def test_glass_with_a_surface_lies_where_its_pane_lies() -> None:
    """A picture of two colours: left and right half of the panel, nothing outside it."""
    window, plan = mole_light(), framed(mole_light())
    box = window.outline.box
    pixels = np.zeros((90, 60, 3), np.uint8)
    pixels[:, :30], pixels[:, 30:] = (200, 0, 0), (0, 0, 200)
    glass = Picture(box=box, pixels=pixels)
    shown = _pixels(preview_lit(window, separation(), plan, width_px=WIDTH, glass=glass))
    for pane in _roomy_panes():
        seen = _at(shown, pane.seed_point)
        assert seen.argmax() == (0 if pane.seed_point[0] < box.width / 2 else 2), pane.id
    assert _at(shown, (2.0, 2.0)).max() < 0.05  # outside the arch, inside the picture


def test_same_bytes_on_every_run(lit) -> None:
    again = preview_lit(mole_light(), separation(), framed(mole_light()), width_px=WIDTH)
    assert np.array_equal(_pixels(again), lit)


def test_a_tall_window_stays_in_the_frame() -> None:
    camera, (rows, columns) = camera_for(mole_light().outline, width_px=1600)
    assert columns == 1600
    assert rows <= 1.5 * columns + 1
    box = mole_light().outline.box
    corners = camera.project(np.array([(box.left, box.top), (box.right, box.bottom)]), 4.0)
    assert corners.min() > 0
    assert corners[1, 0] < columns
    assert corners[1, 1] < rows


def test_both_from_the_front_are_the_two() -> None:
    both = preview_front(mole_light(), separation(), framed(mole_light()), width_px=WIDTH)
    lit = preview_lit(mole_light(), separation(), framed(mole_light()), width_px=WIDTH)
    unlit = preview_unlit(mole_light(), separation(), framed(mole_light()), width_px=WIDTH)
    assert both == (lit, unlit)


def test_areas_drawn_at_once_are_those_drawn_one_by_one() -> None:
    plan = framed(mole_light())
    camera, shape = camera_for(plan.outline, width_px=WIDTH)
    areas = [(pane.region,) for pane in mole_light().panes]
    values = [(20 * n % 256, 7 * n % 256, 255) for n in range(len(areas))]
    once, singly = np.zeros((*shape, 3), np.uint8), np.zeros((*shape, 3), np.uint8)
    draw_each(once, [*areas, ()], camera, 0.0, [*values, (9, 9, 9)])
    for area, value in zip(areas, values, strict=True):
        draw(singly, Packed.of(area), camera, 0.0, value)
    assert (once == singly).all()
    assert once.any()
