"""finishes: one glass in every surface, in one picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from glasswork.model.finish import FINISHES
from tests.pack.conftest import glasswork


def _tiles(target: Path, *options: str) -> list[np.ndarray]:
    """The finishes of a picture, three in a row, without their captions."""
    done = glasswork("finishes", "emerald", "-o", str(target), *options)
    assert done.returncode == 0, done.stderr
    with Image.open(target) as picture:
        seen = np.asarray(picture.convert("RGB")).astype(float)
    side = seen.shape[1] // 3
    high = seen.shape[0] // 3
    corners = [(row * high, column * side) for row in range(3) for column in range(3)]
    return [seen[top : top + side, left : left + side] for top, left in corners]


def test_every_finish_has_a_place_of_its_own_and_the_same_mean_colour(tmp_path: Path) -> None:
    tiles = _tiles(tmp_path / "a.png")
    assert len(tiles) == len(FINISHES)
    assert np.ptp(tiles[0], axis=(0, 1)).max() == 0.0  # clear is flat
    for number, one in enumerate(tiles[1:], start=1):
        assert one.std(axis=(0, 1)).max() > 1.0, FINISHES[number]
        for other in tiles[:number]:
            assert np.abs(one - other).mean() > 1.0, FINISHES[number]
    means = np.array([tile.mean(axis=(0, 1)) for tile in tiles])
    assert np.ptp(means, axis=0).max() < 14.0


def test_seed_films_and_side_change_what_is_shown(tmp_path: Path) -> None:
    usual = _tiles(tmp_path / "a.png")
    for options in (("--seed", "2"), ("--films", "1"), ("--side", "15mm")):
        other = _tiles(tmp_path / "b.png", *options)
        assert np.abs(usual[5] - other[5]).mean() > 1.0, options
    assert np.array_equal(usual, _tiles(tmp_path / "c.png"))


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("emerld",), 1, "harbour, emerld: no such glass; near: emerald"),
        (("emerald", "--side", "300mm"), 2, "--side 300 mm is not between 5 and 200 mm"),
        (("emerald", "--seed", "-1"), 2, "-1 is not in the range"),
        (("emerald", "--films", "4"), 2, "4 is not in the range"),
        (("emerald", "--light", "noon"), 1, "no such light"),
    ],
    ids=["glass", "side", "seed", "films", "light"],
)
def test_what_cannot_be_drawn_is_told_and_nothing_written(
    tmp_path: Path, words: tuple[str, ...], status: int, said: str
) -> None:
    done = glasswork("finishes", *words, "-o", str(tmp_path / "x.png"))
    assert done.returncode == status
    assert said in done.stderr
    assert not list(tmp_path.iterdir())
