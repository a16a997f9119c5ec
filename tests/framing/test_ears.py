"""Ears joined on the pieces of a layer."""

from __future__ import annotations

from math import pi

import pytest

from glasswork.framing.ears import ear_size, place_ears, with_ears
from glasswork.model.geometry import Box, Region
from glasswork.planar import Area

PANEL = Region(((0.0, 0.0), (100.0, 0.0), (100.0, 140.0), (0.0, 140.0)))
EARS = place_ears(PANEL, ear_size((100.0, 140.0), 1.5))
RING = Area.of([PANEL]) - Area.box(Box(6.0, 6.0, 94.0, 134.0))


def _cut_at(*places: tuple[float, float]) -> tuple[Region, ...]:
    """The ring of a frame with a slit of 1 mm all through the panel at each place."""
    left = RING
    for x, y in places:
        across = Box(x - 12.0, y - 0.5, x + 12.0, y + 0.5)
        down = Box(x - 0.5, y - 12.0, x + 0.5, y + 12.0)
        left = left - Area.box(across if min(x, 100.0 - x) < min(y, 140.0 - y) else down)
    return left.regions()


def _root(number: int) -> tuple[float, float]:
    (ax, ay), (bx, by) = EARS[number].neck
    return ((ax + bx) / 2.0, (ay + by) / 2.0)


@pytest.mark.parametrize(
    ("apart", "wanted"), [((), 1), ((0,), 1), ((0, 1), 1), ((0, 1, 2), 1)], ids=str
)
def test_an_ear_over_a_gap_makes_one_piece_of_both(apart: tuple[int, ...], wanted: int) -> None:
    """No board is counted twice, and every pin hole is there once."""
    pieces = _cut_at(*(_root(number) for number in apart))
    assert len(pieces) == max(1, len(apart))
    made = with_ears(pieces, EARS)
    assert len(made) == wanted
    whole = Area.of(made)
    assert whole.area_mm2 == pytest.approx(sum(piece.area_mm2 for piece in made), abs=1e-6)
    ears = Area.union([Area.of((ear.tab,)) for ear in EARS])
    board = Area.of(pieces) | ears
    holes = sum(pi * (ear.hole_diameter_mm / 2.0) ** 2 for ear in EARS)
    assert whole.area_mm2 == pytest.approx(board.area_mm2 - holes, abs=0.2)
    for ear in EARS:
        assert not whole.holds(ear.hole_centre)


def test_pieces_without_an_ear_between_them_stay_apart() -> None:
    pieces = _cut_at((0.0, 20.0), (100.0, 70.0), (50.0, 140.0))
    made = with_ears(pieces, EARS)
    assert len(pieces) == len(made) == 3
    assert Area.of(made).area_mm2 == pytest.approx(sum(one.area_mm2 for one in made), abs=1e-6)
    inside = sum(len(piece.holes) for piece in made)
    assert inside == len(EARS)
