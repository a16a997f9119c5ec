"""The reach of films: outlines that hold what can be made and nothing else, drawn and kept."""

from __future__ import annotations

from io import BytesIO

import msgspec
import numpy as np
import pytest

from glasswork.colour.predict import make_stack
from glasswork.colour.reach import find_reach, reach_outlines
from glasswork.colour.solve import within_limit
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.reach import Reach
from glasswork.writers.reach import draw_reach, write_reach_json


@pytest.fixture(scope="module")
def reach(harbour: Palette, dye: PrinterProfile, led: Light) -> Reach:
    return find_reach(harbour, dye, led, lightnesses=(30.0, 60.0))


def _inside(outline: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Share of the outline's radius at each point's hue; below 1 inside."""
    angle = np.linspace(0.0, 2.0 * np.pi, len(outline) + 1)
    radius = np.hypot(*np.append(outline, outline[:1], axis=0).T)
    hue = np.arctan2(points[:, 1], points[:, 0]) % (2.0 * np.pi)
    return np.hypot(*points.T) / np.interp(hue, angle, radius)


def test_what_can_be_made_lies_inside(reach: Reach, dye: PrinterProfile, led: Light) -> None:
    rng = np.random.default_rng(3)
    for films in (1, 2, 3):
        model = make_stack(dye, led, films)
        made = model.lab(within_limit(rng.random((20_000, 3)), model))
        for piece in reach.slices:
            if piece.films != films or not piece.outline_ab:
                continue
            near = made[np.abs(made[:, 0] - piece.lightness) < 0.5]
            assert len(near) > 40
            # Straight lines between steps of hue cut corners by a few per cent.
            assert _inside(np.array(piece.outline_ab), near[:, 1:]).max() < 1.08


def test_the_outline_is_touched(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    (outline,) = reach_outlines(model, (45.0,), hues=24)
    corners = np.random.default_rng(1).random((50_000, 3))
    corners[np.arange(len(corners)), np.random.default_rng(2).integers(0, 3, len(corners))] = 1.0
    made = model.lab(within_limit(corners, model))
    near = made[np.abs(made[:, 0] - 45.0) < 1.0]
    assert _inside(np.array(outline), near[:, 1:]).max() > 0.97


def test_what_cannot_be_made_is_empty(dye: PrinterProfile, led: Light) -> None:
    outlines = reach_outlines(make_stack(dye, led, 1), (3.0, 50.0), hues=12)
    assert outlines[0] == ()
    assert len(outlines[1]) == 12


def test_more_films_make_deeper_colours(reach: Reach) -> None:
    area = {
        piece.films: float(np.abs(np.linalg.det(
            np.stack((np.array(piece.outline_ab), np.roll(piece.outline_ab, -1, axis=0)), axis=1)
        )).sum()) if piece.outline_ab else 0.0
        for piece in reach.slices
        if piece.lightness == 30.0
    }  # fmt: skip
    assert area[1] < area[2] < area[3]


def test_json_reads_back(reach: Reach) -> None:
    assert msgspec.json.decode(write_reach_json(reach), type=Reach) == reach
    assert {glass.id for glass in reach.glasses if min(glass.delta_e00) > reach.limit} == {
        "mackerel",
        "port-green",
    }


def test_the_picture_shows_the_colours_themselves(reach: Reach) -> None:
    from PIL import Image

    picture = Image.open(BytesIO(draw_reach(reach, width_px=900)))
    assert picture.width == 900
    pixels = np.asarray(picture.convert("RGB"), dtype=int)
    # The panel of L* 60, somewhat right of its middle and up: an orange.
    side = 450
    x, y = side + side // 2 + side // 8, side // 6 + side // 2 - side // 6
    red, green, blue = pixels[y, x]
    assert red > green > blue
    assert red > 150
