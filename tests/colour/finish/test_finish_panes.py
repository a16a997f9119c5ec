"""Panes as levels and tables give pixel for pixel what one picture in full colour gives."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.colour.finish.counts import level_counts
from glasswork.colour.finish.laid import LaidCuts
from glasswork.colour.finish.panes import pane_pictures
from glasswork.model.finish import FinishSettings
from glasswork.model.geometry import Region
from glasswork.model.sheet import PackedPicture, Picture
from glasswork.writers.png import RowPacker
from tests.colour.finish import sheets


def test_panes_agree_with_the_whole_picture() -> None:
    glazing = sheets.glazing(FinishSettings(dpi=300))
    whole, films = sheets.whole_films(glazing), pane_pictures(glazing, RowPacker)
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
    (first, *_) = pane_pictures(matted, RowPacker)
    assert isinstance(first, PackedPicture)


def test_many_small_panes_are_one_picture_a_film() -> None:
    glazing = sheets.glazing(FinishSettings(dpi=300))
    twice = {"cuts": glazing.cuts * 4, "tones": glazing.tones * 4}  # as if panes were smaller
    first, second = pane_pictures(replace(glazing, **twice, films=2, identical=False), RowPacker)
    assert isinstance(first, PackedPicture)
    assert isinstance(second, PackedPicture)
    assert first.data is not second.data
    assert first.columns == pytest.approx(glazing.box.width * 300 / 25.4, abs=1.0)


def test_identical_films_share_their_levels() -> None:
    glazing = sheets.glazing(FinishSettings(dpi=300))
    films = pane_pictures(replace(glazing, films=2, identical=True), RowPacker)
    assert len(films) == 2
    assert films[0] is films[1]


def test_levels_counted_for_all_panes_at_once_are_those_that_are_printed() -> None:
    """Beside the pixels of each pane at 600 dpi, drawn by themselves."""
    glazing = sheets.glazing(FinishSettings(dpi=600))
    counts = level_counts(glazing.cuts)
    assert counts.shape == (len(glazing.cuts), 256)
    px = 600 / 25.4
    steps = np.arange(256)
    for cut, counted in zip(glazing.cuts, counts, strict=True):
        patch = LaidCuts([replace(cut, area=(cut.glass,))], (0.0, 0.0), px).patch(0)
        printed = patch.levels[patch.filled > 0].astype(float)
        assert counted.sum() / 4.0**2 == pytest.approx(printed.size / px**2, rel=0.2)
        assert counted @ steps / counted.sum() == pytest.approx(printed.mean(), abs=4.0)
        spread = np.sqrt(counted @ (steps - printed.mean()) ** 2 / counted.sum())
        assert spread == pytest.approx(printed.std(), rel=0.25, abs=2.0)


def test_a_pane_too_small_to_be_seen_is_counted_as_next_to_none() -> None:
    cut = sheets.glazing(FinishSettings(dpi=300)).cuts[0]
    speck = Region(((50.0, 50.0), (50.001, 50.0), (50.0, 50.001)))
    counts = level_counts((cut, replace(cut, glass=speck, pane="speck")))
    assert counts[0].sum() > 1000
    assert counts[1].sum() <= 2
