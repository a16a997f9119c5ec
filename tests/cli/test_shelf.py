"""Finding profiles."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.cli import shelf
from glasswork.cli.kit import load_kit
from glasswork.errors import GlassworkError, ProfileError, ReadError
from glasswork.model.project import Project


def test_an_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(ProfileError) as caught:
        shelf.find("pages", "a5")
    assert "a4" in str(caught.value)
    assert "letter" in str(caught.value)


def test_a_path_is_found_beside_the_project(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text("x = 1")
    assert shelf.find("boards", "own.toml", beside=tmp_path) == tmp_path / "own.toml"


def test_the_users_own_profile_goes_before_the_shipped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GLASSWORK_HOME", str(tmp_path))
    (tmp_path / "profiles" / "pages").mkdir(parents=True)
    own = tmp_path / "profiles" / "pages" / "a4.toml"
    own.write_text("x = 1")
    assert shelf.find("pages", "a4") == own


def test_a_profile_reads_no_file_outside_its_folder(tmp_path: Path) -> None:
    (tmp_path / "secret.csv").write_text("x")
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "near.csv").write_text("y")
    load = shelf.siblings(tmp_path / "in" / "profile.toml")
    assert load("near.csv") == b"y"
    with pytest.raises(ProfileError, match="outside"):
        load("../secret.csv")


def test_missing_files_and_folders_are_said(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="no such file"):
        shelf.read_file(tmp_path / "none.svg")
    with pytest.raises(ReadError, match="is a folder"):
        shelf.read_file(tmp_path)


def test_a_light_may_be_written_as_its_standard_writes_it() -> None:
    assert shelf.find("lights", "LED-B3").stem == "led-b3"


def test_a_broken_board_that_nobody_named_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GLASSWORK_HOME", str(tmp_path))
    folder = tmp_path / "profiles" / "boards"
    folder.mkdir(parents=True)
    (folder / "torn.toml").write_text("thickness_mm = ", encoding="utf-8")
    kit = load_kit(Project(design="x.svg"))
    names = {board.name for board in kit.other_boards()}
    assert "card-0.3" in names
    assert not names & {"torn", kit.board.name}
    with pytest.raises(GlassworkError, match="torn"):
        load_kit(Project(design="x.svg", board="torn"))
