"""draw: a window from measures, on to a pack."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.drawing.drawn import KINDS
from tests.pack.conftest import glasswork


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_is_drawn_and_nothing_in_it_is_found_amiss(kind: str, tmp_path: Path) -> None:
    done = glasswork("draw", kind, "-o", str(tmp_path / "w.svg"))
    assert done.returncode == 0, done.stderr
    seen = glasswork("inspect", str(tmp_path / "w.svg"))
    assert seen.returncode == 0, seen.stdout
    assert "panes" in seen.stdout
    assert "error" not in seen.stdout


def test_measures_arrive_in_the_drawing_and_in_the_pack(tmp_path: Path) -> None:
    words = ("--width", "9cm", "--height", "140", "--lights", "2", "--tracery", "trefoil")
    drawn = glasswork("draw", "equilateral", *words, "-o", "w.svg", cwd=tmp_path)
    assert "w.svg: 90 × 140 mm" in drawn.stdout
    assert "next: glasswork compose w.svg -o w" in drawn.stdout
    done = glasswork("compose", "w.svg", "-o", "w", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "90.0 x 140.0 mm" in done.stdout


def test_a_real_window_is_drawn_to_scale(tmp_path: Path) -> None:
    done = glasswork(
        "draw", "casement", "--scale", "1:48", "--lead", "6", "-o", "w.svg", cwd=tmp_path
    )
    assert "25 × 40 mm" in done.stdout
    assert "note: A lead of 6 mm is 0.125 mm at 1:48: drawn 0.2 mm wide." in done.stdout


def test_a_drawing_is_not_written_over_unasked(tmp_path: Path) -> None:
    kept = tmp_path / "rose.svg"
    kept.write_text("worked on by hand")
    refused = glasswork("draw", "rose", cwd=tmp_path)
    assert refused.returncode == 1
    assert "rose.svg: is there already" in refused.stderr
    assert kept.read_text() == "worked on by hand"
    assert glasswork("draw", "rose", "-o", "rose.svg", cwd=tmp_path).returncode == 0
    assert kept.read_text().startswith("<svg") or "<svg" in kept.read_text()[:200]


@pytest.mark.parametrize(
    ("words", "said", "code"),
    [
        (("lancer",), '"lancer" is no kind of window; known: equilateral', 2),
        (("lancet", "--lights", "9"), "9 is not in the range 1 to 4", 2),
        (("lancet", "--width", "-5"), "outside", 1),
        (("lancet", "--width", "3"), "width_mm: 3 mm is outside 10 to 20000 mm", 1),
        (("lancet", "--lead", "50"), "the border of 4 mm is thinner than the leads of 50 mm", 1),
        (("lancet", "--border", "7", "--lead", "7"), "leave less than half of a quarry", 1),
        (("casement", "--bars", "2", "--bar", "9"), "thinner than the saddle bars of 9 mm", 1),
        (("lancet", "--width", "nan"), "nan", 2),
        (("rose", "--petals", "2"), "2 is not in the range 3 to 32", 2),
    ],
)
def test_measures_that_make_no_window(
    words: tuple[str, ...], said: str, code: int, tmp_path: Path
) -> None:
    done = glasswork("draw", *words, "-o", str(tmp_path / "w.svg"))
    assert done.returncode == code, done.stderr
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert not list(tmp_path.iterdir())
