"""preview: one picture of the panel, at an angle, side by side, misplaced, turning."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.pack.conftest import ROOT, glasswork

SAMPLE = str(ROOT / "sample_designs/salt-works.svg")


def _preview(target: Path, *options: str) -> np.ndarray:
    done = glasswork("preview", SAMPLE, "-o", str(target), *options)
    assert done.returncode == 0, done.stderr
    assert [path.name for path in target.parent.iterdir()] == [target.name]
    with Image.open(target) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


def test_each_view_is_another_picture_of_the_asked_width(tmp_path: Path) -> None:
    seen = {}
    for view in ("lit", "unlit", "back", "misplaced"):
        target = tmp_path / view / "p.png"
        target.parent.mkdir()
        seen[view] = _preview(target, "--view", view, "--width-px", "320")
        assert seen[view].shape[1] == 320
    names = list(seen)
    for one in names:
        for other in names[names.index(one) + 1 :]:
            assert np.abs(seen[one] - seen[other]).mean() > 0.5, (one, other)


def test_the_angle_narrows_the_panel_as_its_cosine_does(tmp_path: Path) -> None:
    """A panel turned by 40 degrees: its outline is as wide as a pinhole camera sees it."""
    wide = {}
    for angle in ("0", "40"):
        pixels = _preview(
            tmp_path / "p.png", "--view", "unlit", "--width-px", "640", "--angle", angle
        )
        row = pixels[pixels.shape[0] // 2]
        saturated = np.ptp(row, axis=1) > 40  # glass and gilding, not the wall
        wide[angle] = np.flatnonzero(saturated)[[0, -1]]
    straight = wide["0"][1] - wide["0"][0]
    turned = wide["40"][1] - wide["40"][0]
    assert turned / straight == pytest.approx(np.cos(np.radians(40.0)), abs=0.06)


def test_films_side_by_side_and_the_turn(tmp_path: Path) -> None:
    side = _preview(tmp_path / "p.png", "--view", "films", "--width-px", "480")
    assert side.shape[1] == 480
    _preview(tmp_path / "p.png", "--view", "turn", "--width-px", "160", "--angle", "20")
    with Image.open(tmp_path / "p.png") as turning:
        assert turning.n_frames == 20


def test_misplaced_tells_how_far(tmp_path: Path) -> None:
    target = tmp_path / "p.png"
    done = glasswork("preview", SAMPLE, "-o", str(target), "--view", "misplaced",
                     "--width-px", "200")  # fmt: skip
    assert "the worst case of the tolerances" in done.stdout


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--angle", "75"), "75° is not between -60 and 60"),
        (("--width-px", "90000"), "90000 px is not between 160 and 6400"),
        (("--view", "turn", "--width-px", "1600"), "1600 px is not between 160 and 1200"),
        (("--view", "films", "--angle", "10"), "seen straight on"),
    ],
)
def test_what_cannot_be_drawn_is_refused(
    tmp_path: Path, options: tuple[str, ...], told: str
) -> None:
    done = glasswork("preview", SAMPLE, "-o", str(tmp_path / "p.png"), *options)
    assert done.returncode == 1
    assert told in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_only_a_png_is_written(tmp_path: Path) -> None:
    done = glasswork("preview", SAMPLE, "-o", str(tmp_path / "p.jpg"))
    assert done.returncode == 1
    assert "does not end in .png" in done.stderr
