"""Outlines followed from run to run are those of OpenCV's border following, pixel by pixel."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from glasswork.drawing.trace_edges import parted
from glasswork.drawing.trace_follow import followed
from glasswork.drawing.trace_gaps import line_ends
from glasswork.drawing.trace_rings import Rings

Places = list[list[int]]


def _random_picture(seed: int) -> NDArray[np.uint8]:
    """Blots and lines of all kinds, some of them smooth, up to the picture's rim."""
    rng = np.random.default_rng(seed)
    size = tuple(rng.integers(1, 60, 2).tolist())
    ink = np.where(rng.random(size) < rng.random(), 255, 0).astype(np.uint8)
    if seed % 2:
        ink = np.asarray(cv2.GaussianBlur(ink, (5, 5), 0)).reshape(size)
    return np.where(ink > 127, 255, 0).astype(np.uint8)


def _from_least(ring: Places) -> tuple[tuple[int, int], ...]:
    """A closed way told from one place on, whichever it began with."""
    places = [(x, y) for x, y in ring]
    least = min(places)
    return min(tuple(places[k:] + places[:k]) for k, place in enumerate(places) if place == least)


@pytest.mark.parametrize("seed", range(120))
def test_outlines_are_those_of_border_following(seed: int) -> None:
    """Source: cv2.findContours, another algorithm of the same library."""
    ink = _random_picture(seed)
    contours, tree = cv2.findContours(ink, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    told = [] if tree is None else np.asarray(tree)[0, :, 3].tolist()
    wanted = [
        (_from_least(np.asarray(ring)[:, 0].tolist()), parent >= 0)
        for ring, parent in zip(contours, told, strict=True)
    ]
    found = followed(ink)
    assert len(found) == len(wanted)
    if len(found):
        holes = (found.areas() < 0.0).tolist()
        rings = found.dense(np.arange(len(found))).each()
        ours = [(_from_least(r.tolist()), hole) for r, hole in zip(rings, holes, strict=True)]
        assert sorted(ours) == sorted(wanted)


@pytest.mark.parametrize("seed", [seed for seed in range(60) if _random_picture(seed).any()])
def test_outlines_are_parted_within_the_tolerance(seed: int) -> None:
    """No run end lies far from the straight lines between the parts' ends; half as much again as
    told is left to OpenCV's last look, which takes out needless corners.
    """
    large = cv2.resize(_random_picture(seed), None, fx=9.0, fy=9.0)
    found = followed(np.where(np.asarray(large) > 127, 255, 0).astype(np.uint8))
    parts = parted(found, 1.3)
    assert len(parts.start) == len(found)
    for ring, numbers in enumerate(parts.each()):
        assert (np.diff(numbers) > 0).all()
        assert found.start[ring] <= numbers[0]
        assert numbers[-1] < found.stop[ring]
        corners = np.stack(found.places(numbers), axis=1).astype(np.float32)
        for x, y in found.polygon(ring).tolist():
            assert abs(cv2.pointPolygonTest(corners, (x, y), True)) <= 1.5 * 1.3


@pytest.mark.parametrize("shift", range(0, 400, 7))
def test_a_line_end_is_one_wherever_its_outline_begins(shift: int) -> None:
    ink = np.zeros((120, 200), np.uint8)
    cv2.rectangle(ink, (10, 10), (190, 110), (255,), 8)
    ink[56:64, 14:100] = 255
    found = followed(ink)
    rings = found.dense(np.arange(len(found))).each()
    rolled = [np.roll(ring, shift, axis=0) for ring in rings]
    sizes = np.cumsum([0, *map(len, rolled)])[:-1]
    ends = line_ends(Rings(points=np.concatenate(rolled), start=sizes), width_px=8.0)
    assert len(ends.at) == 1
    assert ends.at[0] == pytest.approx((99.0, 59.5), abs=1.0)
    assert ends.way[0] == pytest.approx((1.0, 0.0), abs=0.05)
