"""Pictures keep every pixel at its place, however the film lies on the page."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.errors import SheetError
from glasswork.model.geometry import Affine, Box
from glasswork.model.sheet import Picture
from glasswork.sheets.pictures import pictures_on_page

STRAIGHT = Affine(1.0, 0.0, 0.0, 1.0, 20.0, 30.0)
MIRRORED = Affine(-1.0, 0.0, 0.0, 1.0, 120.0, 30.0)
TURNED = Affine(0.0, 1.0, -1.0, 0.0, 90.0, 12.0)
TURNED_MIRRORED = Affine(0.0, 1.0, 1.0, 0.0, 9.0, 12.0)
SCALED = Affine(1.002, 0.0, 0.0, 0.997, 20.0, 30.0)


def _picture() -> Picture:
    pixels = np.random.default_rng(5).integers(0, 256, (6, 10, 3), dtype=np.uint8)
    return Picture(box=Box(2.0, 3.0, 22.0, 15.0), pixels=pixels)


def _at(picture: Picture, point: tuple[float, float]) -> tuple[int, ...]:
    rows, columns = picture.pixels.shape[:2]
    x = (point[0] - picture.box.left) / picture.box.width * columns
    y = (point[1] - picture.box.top) / picture.box.height * rows
    return tuple(picture.pixels[int(y), int(x)].tolist())


@pytest.mark.parametrize("to_page", [STRAIGHT, MIRRORED, TURNED, TURNED_MIRRORED, SCALED])
def test_every_panel_point_keeps_its_colour(to_page) -> None:
    picture = _picture()
    (placed,) = pictures_on_page((picture,), to_page)
    for x in np.arange(3.0, 22.0, 2.0):
        for y in np.arange(4.0, 15.0, 2.0):
            assert _at(placed, to_page.apply((x, y))) == _at(picture, (x, y))


def test_shared_pixels_stay_shared() -> None:
    picture = _picture()
    first, second = pictures_on_page((picture, picture), MIRRORED)
    assert first.pixels is second.pixels


def test_other_turns_are_refused() -> None:
    slanting = Affine(0.8, 0.6, -0.6, 0.8, 0.0, 0.0)
    with pytest.raises(SheetError, match="quarter turn"):
        pictures_on_page((_picture(),), slanting)
