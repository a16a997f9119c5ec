"""Cutter files."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.errors import GlassworkError
from glasswork.readers.cutter import read_cutter

CUTTERS = Path(__file__).parents[2] / "profiles" / "cutters"
GOOD = b"""
name = "quay"
title = "Quay cutter"
kind = "laser"
accuracy_mm = 0.1
min_width_mm = 0.8
bed_mm = [300, 200]
max_board_mm = 5.0
kerf_by_thickness = [[1.0, 0.1], [2.0, 0.2]]
"""


@pytest.mark.parametrize("path", sorted(CUTTERS.glob("*.toml")), ids=lambda path: path.stem)
def test_shipped_cutters_read(path: Path) -> None:
    cutter = read_cutter(path.read_bytes(), where=path.name)
    assert cutter.name == path.stem
    assert cutter.kind == path.stem
    assert cutter.source


def test_the_wanted_cutters_are_shipped() -> None:
    assert {path.stem for path in CUTTERS.glob("*.toml")} >= {
        "laser", "drag-blade", "hand-knife", "rotary"
    }  # fmt: skip


def test_laser_kerf_is_the_published_one() -> None:
    """0.003 in in 1/32 in board [laser-kerf-board]; 1.5-2 mm card 0.15, 3 mm 0.20
    [laser-kerf-sheet].
    """
    laser = read_cutter((CUTTERS / "laser.toml").read_bytes(), where="laser")
    assert laser.kerf_for(25.4 / 32) == pytest.approx(0.003 * 25.4, abs=5e-4)
    assert laser.kerf_for(1.5) == laser.kerf_for(2.0) == 0.15
    assert laser.kerf_for(3.0) == 0.20
    assert laser.kerf_for(2.5) == pytest.approx(0.175)
    assert laser.kerf_for(0.1) == 0.076
    assert laser.kerf_for(9.0) == 0.20


def test_knives_remove_nothing() -> None:
    for name in ("drag-blade", "hand-knife", "rotary"):
        knife = read_cutter((CUTTERS / f"{name}.toml").read_bytes(), where=name)
        assert knife.kerf_for(1.0) == 0.0


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ((b'kind = "laser"', b'kind = "sieve"'), '"sieve" is no kind of cutter'),
        ((b"[2.0, 0.2]", b"[2.0, -0.2]"), "kerf -0.2 mm is not between"),
        ((b"[2.0, 0.2]", b"[0.5, 0.2]"), "the thicknesses do not rise"),
        ((b"bed_mm = [300, 200]", b"bed_mm = [300, 0]"), "bed 300 x 0 mm"),
        ((b"bed_mm = [300, 200]", b"bed_mm = [300]"), "bed_mm"),
        ((b"accuracy_mm = 0.1", b"accuracy_mm = inf"), "not a finite number"),
        ((b"min_width_mm = 0.8", b"min_width_mm = 0"), "min_width_mm: 0 mm is not over 0"),
        ((b"kerf_by", b"kerff_by"), "kerf_by_thickness"),
        ((b"max_board_mm = 5.0", b"max_board_mm = -5.0"), "max_board_mm: -5 mm"),
    ],
)
def test_wrong_cutters_are_refused(change: tuple[bytes, bytes], said: str) -> None:
    with pytest.raises(GlassworkError) as caught:
        read_cutter(GOOD.replace(*change), where="quay.toml")
    assert said in str(caught.value)
    assert str(caught.value).startswith("quay.toml")
