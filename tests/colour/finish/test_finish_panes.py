"""Panes as levels and tables give pixel for pixel what one picture in full colour gives."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from glasswork.colour.finish.panes import pane_pictures
from glasswork.colour.finish.pictures import film_pictures
from glasswork.model.finish import FinishSettings
from glasswork.model.sheet import Picture
from tests.colour.finish import sheets


def test_panes_agree_with_the_whole_picture() -> None:
    glazing = sheets.glazing(FinishSettings(dpi=300))
    whole, films = film_pictures(glazing), pane_pictures(glazing)
    assert len(films) == len(whole) >= 1
    for picture, panes in zip(whole, films, strict=True):
        assert isinstance(panes, tuple)
        px = picture.pixels.shape[1] / picture.box.width
        seen = 0
        for pane in panes:
            assert isinstance(pane, Picture)
            assert pane.palette is not None
            left = round((pane.box.left - picture.box.left) * px)
            top = round((pane.box.top - picture.box.top) * px)
            rows, columns = pane.pixels.shape
            inner = (slice(2, rows - 2), slice(2, columns - 2))
            there = picture.pixels[top : top + rows, left : left + columns][inner]
            mine = pane.palette[pane.pixels][inner]
            assert np.array_equal(mine, there), pane.name
            seen += mine[:, :, 0].size
        assert seen > 1e5


def test_matted_glass_stays_in_full_colour() -> None:
    glazing = sheets.glazing(FinishSettings(dpi=300))
    matted = replace(glazing, settings=replace(glazing.settings, matting=0.5))
    (first, *_) = pane_pictures(matted)
    assert isinstance(first, Picture)
    assert first.palette is None


def test_identical_films_share_their_levels() -> None:
    glazing = sheets.glazing(FinishSettings(dpi=300))
    films = pane_pictures(replace(glazing, films=2, identical=True))
    assert len(films) == 2
    assert films[0] is films[1]
