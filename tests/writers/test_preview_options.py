"""Preview options: viewing angle, light plan, films side by side, films awry, an animated turn."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from glasswork.planar import Area
from glasswork.writers.png import encode_apng
from glasswork.writers.preview import (
    preview_films,
    preview_lit,
    preview_misaligned,
    preview_turn,
    spread_shifts,
)
from glasswork.writers.scene import build_scene, camera_for
from glasswork.writers.seen import awry_film, flat_film

sys.path.insert(0, str(Path(__file__).parent))  # tests/writers/panels.py builds a panel by hand

from panels import framed, mole_light, separation

WIDTH = 480


def _pixels(png: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(png)) as picture:
        return np.asarray(picture.convert("RGB"))


def test_films_that_lie_true_make_the_colours_of_the_stack() -> None:
    """Shares of a colour multiply to the whole, within rounding, soft edges aside."""
    window, plan = mole_light(), framed(mole_light())
    camera, shape = camera_for(plan.outline, width_px=WIDTH)
    for films in (1, 2, 3):
        made = separation(films=films)
        still = awry_film(window, made, plan, shifts_mm=((0.0, 0.0),) * films)(camera, shape)
        flat = flat_film(window, made, plan, lit=True)(camera, shape)
        away = np.abs(still.astype(int) - flat)
        assert np.percentile(away, 95) <= 2


def test_a_film_carries_the_share_that_its_density_says() -> None:
    """A film without density is clear: moving it changes nothing, moving the other one does."""
    made = separation(films=2)
    uneven = replace(
        made,
        glasses=tuple(
            replace(glass, film_status_a=((0.9,) * 3, (0.0,) * 3)) for glass in made.glasses
        ),
    )
    window, plan = mole_light(), replace(framed(mole_light()), printed=())
    camera, shape = camera_for(plan.outline, width_px=WIDTH)
    inner = tuple(slice(side // 3, side * 2 // 3) for side in shape)

    def seen(first: float, second: float) -> np.ndarray:
        film = awry_film(window, uneven, plan, shifts_mm=((first, 0.0), (second, 0.0)))
        return film(camera, shape)[inner].astype(int)

    still = seen(0.0, 0.0)
    assert np.abs(seen(0.0, 4.0) - still).max() <= 1
    assert (np.abs(seen(4.0, 0.0) - still).max(axis=2) > 20).mean() > 0.05


def test_films_awry_by_the_tolerance_double_the_printed_leads() -> None:
    """The further the films lie apart, the more of the glass beside a printed lead turns black."""
    window, plan = mole_light(), framed(mole_light())
    printed = Area.of(plan.printed) - Area.of(plan.cut).grown(0.6)
    lead = max(printed.parts(), key=lambda part: part.area_mm2)
    camera, _ = camera_for(plan.outline, width_px=800)
    x, y = lead.inner_point()
    left, top = camera.project(np.array([(x - 3.0, y - 1.0)]), 0.0)[0].astype(int)
    right, bottom = camera.project(np.array([(x + 3.0, y + 1.0)]), 0.0)[0].astype(int)

    def dark(off_mm: float) -> int:
        png = preview_misaligned(window, separation(), plan, width_px=800, off_mm=off_mm)
        return int((_pixels(png)[top:bottom, left:right].max(axis=2) < 70).sum())

    still, tolerance = dark(0.0), dark(plan.registration.worst_case_mm)
    assert plan.registration.worst_case_mm > 0.3
    assert tolerance > 1.25 * still > 0


def test_shifts_are_as_unlike_as_can_be() -> None:
    for films in (1, 2, 3):
        shifts = np.array(spread_shifts(films, 0.5))
        assert np.hypot(shifts[:, 0], shifts[:, 1]) == pytest.approx([0.5] * films)
    two = np.array(spread_shifts(2, 0.5))
    assert two.sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-12)


def test_light_plan_shows_where_the_diffuser_is_dark() -> None:
    """Light from the left half only: the right half of the glass stays dark."""
    window, plan = mole_light(), framed(mole_light())
    light = np.zeros((18, 12), np.float32)
    light[:, :6] = 1.0
    seen = _pixels(preview_lit(window, separation(), plan, width_px=WIDTH, light=light))
    even = _pixels(preview_lit(window, separation(), plan, width_px=WIDTH))
    half = WIDTH // 2
    assert seen[:, half + 20 :].mean() < 0.4 * even[:, half + 20 :].mean()
    assert seen[:, : half - 20].mean() > 0.9 * even[:, : half - 20].mean()


def test_films_side_by_side_with_captions() -> None:
    window, plan = mole_light(), framed(mole_light())
    trials = [(f"trial {n}", separation()) for n in range(5)]
    seen = _pixels(preview_films(window, trials, plan, width_px=960))
    tile = 320
    _, (rows, _) = camera_for(plan.outline, width_px=tile)
    assert seen.shape[1] == 960
    band = seen.shape[0] // 2 - rows
    assert band >= 24
    assert np.array_equal(seen[:rows, :tile], seen[:rows, tile : 2 * tile])
    caption = seen[rows : rows + band, :tile]
    assert (caption.max(axis=2) > 150).sum() > 30  # letters
    assert (seen[-rows:, 2 * tile :] == 12).all()  # the sixth place stays empty


def test_turning_to_the_side_shows_the_depth_of_the_frame() -> None:
    window, plan = mole_light(), framed(mole_light())
    straight = _pixels(preview_lit(window, separation(), plan, width_px=WIDTH))
    turned = _pixels(preview_lit(window, separation(), plan, width_px=WIDTH, turn_deg=30.0))
    assert turned.shape == straight.shape
    glow = (straight.max(axis=2) > 90).sum(), (turned.max(axis=2) > 90).sum()
    # the panel is narrower by cos 30° and the frame's walls hide glass besides
    assert glow[1] < 0.97 * glow[0] * np.cos(np.radians(30.0))


@pytest.mark.parametrize("board_mm", [1.0, 2.0, 4.0])
def test_parallax_is_that_of_the_layers_true_heights(board_mm: float) -> None:
    """The raised face stands beside the film by as much as a pinhole camera sees: a point at
    height h and x from the middle, turned by t, lands at f (x cos t + h sin t) / (d - h cos t +
    x sin t) (plane geometry, computed here anew)."""
    plain = framed(mole_light())
    plan = replace(
        plain, layers=tuple(replace(layer, thickness_mm=board_mm) for layer in plain.layers)
    )
    camera, shape = camera_for(plan.outline, width_px=1200, turn_deg=32.0)
    scene = build_scene(
        plan, flat_film(mole_light(), separation(), plan, lit=True), camera=camera, shape=shape
    )
    row = round(camera.origin_px[1] + 50.0 * camera.px_per_mm)  # where the sides are upright
    t, middle = np.radians(32.0), 60.0

    def seen(x: float, h: float) -> float:
        x -= middle
        away = camera.distance_mm - h * np.cos(t) + x * np.sin(t)
        focal = camera.px_per_mm * camera.distance_mm
        return camera.origin_px[0] + focal * (x * np.cos(t) + h * np.sin(t)) / away

    raised = np.flatnonzero(scene.near[row, :, 2] > 250)
    film = np.flatnonzero(scene.panel[row] > 127)
    rise = 2.0 * board_mm  # inner and outer layer
    assert scene.rise_mm == pytest.approx(rise)
    assert film[0] == pytest.approx(seen(0.0, 0.0), abs=1.0)
    assert raised[0] == pytest.approx(seen(0.0, rise), abs=1.2)
    assert raised[-1] + 1 == pytest.approx(seen(120.0, rise), abs=1.2)


def test_the_turn_is_an_animation_that_pillow_plays() -> None:
    png = preview_turn(
        mole_light(), separation(), framed(mole_light()), width_px=160, frames=6, frame_ms=90
    )
    with Image.open(io.BytesIO(png)) as played:
        assert played.n_frames == 6
        assert played.info["loop"] == 0
        frames = []
        for number in range(6):
            played.seek(number)
            assert played.info["duration"] == pytest.approx(90.0)
            frames.append(np.asarray(played.convert("RGB")))
    assert np.array_equal(frames[0], frames[3])  # straight on, twice in a swing
    assert not np.array_equal(frames[1], frames[4])  # to the right, to the left


def test_animation_frames_must_have_one_shape() -> None:
    with pytest.raises(ValueError, match="frames of one shape"):
        encode_apng([np.zeros((4, 4, 3), np.uint8), np.zeros((4, 5, 3), np.uint8)], frame_ms=10)
    with pytest.raises(ValueError, match="frames of one shape"):
        encode_apng([], frame_ms=10)
