"""Board files."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.errors import GlassworkError
from glasswork.readers.board import read_board

BOARDS = Path(__file__).parents[2] / "profiles" / "boards"
GOOD = b"""
name = "reed"
title = "Reed board"
thickness_mm = 2.0
tolerance_mm = 0.1
web_refuse_mm = 1.0
web_warn_mm = 2.0
"""


@pytest.mark.parametrize("path", sorted(BOARDS.glob("*.toml")), ids=lambda path: path.stem)
def test_shipped_boards_read(path: Path) -> None:
    board = read_board(path.read_bytes(), where=path.name)
    assert board.name == path.stem
    assert f"{board.thickness_mm:g}" in board.title
    assert board.source
    assert 0.0 < board.web_refuse_mm <= board.web_warn_mm


def test_the_wanted_boards_are_shipped() -> None:
    wanted = {"chipboard-1", "chipboard-1.5", "chipboard-2", "chipboard-3", "card-0.3",
              "veneer-0.5", "plywood-3", "acrylic-3"}  # fmt: skip
    assert wanted <= {path.stem for path in BOARDS.glob("*.toml")}


@pytest.mark.parametrize("name", ["chipboard-1.5", "chipboard-2", "chipboard-3"])
def test_greyboard_keeps_to_the_published_tolerance(name: str) -> None:
    """±5 % [greyboard-tolerance]; web at least the thickness [laser-webs]."""
    board = read_board((BOARDS / f"{name}.toml").read_bytes(), where=name)
    assert board.tolerance_mm == pytest.approx(0.05 * board.thickness_mm)
    assert board.web_warn_mm >= board.thickness_mm


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ((b"thickness_mm = 2.0", b"thickness_mm = -2.0"), "thickness_mm: -2 mm is not between"),
        ((b"thickness_mm = 2.0", b"thickness_mm = 900"), "thickness_mm: 900 mm is not between"),
        ((b"thickness_mm = 2.0", b"thickness_mm = nan"), "not a finite number"),
        ((b"thickness_mm = 2.0", b""), "thickness_mm"),
        ((b"tolerance_mm = 0.1", b"tolerance_mm = 2.5"), "tolerance_mm: 2.5 mm is not between"),
        ((b"web_warn_mm = 2.0", b"web_warn_mm = 0.5"), "web_warn_mm: 0.5 mm is not between"),
        ((b"web_warn_mm", b"web_wrn_mm"), 'unknown key "web_wrn_mm"'),
        ((b'name = "reed"', b'name = " "'), "name: is empty"),
        ((b'title = "Reed board"', b"title = 3"), "title"),
    ],
)
def test_wrong_boards_are_refused(change: tuple[bytes, bytes], said: str) -> None:
    with pytest.raises(GlassworkError) as caught:
        read_board(GOOD.replace(*change), where="reed.toml")
    assert said in str(caught.value)
    assert str(caught.value).startswith("reed.toml")
