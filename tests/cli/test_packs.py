"""Packs on disk: whole or not there, and nobody else's folder is touched."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.cli.packs import check_target, read_pack, write_pack
from glasswork.errors import PackError
from tests.cli.reports import SMALL_REPORT

FILES = {"report.json": SMALL_REPORT, "frames/front-outer.svg": b"<svg/>"}


def _tree(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_pack_is_written_whole_and_read_back(tmp_path: Path) -> None:
    write_pack(tmp_path / "pack", FILES)
    assert read_pack(tmp_path / "pack") == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]


def test_a_pack_or_an_empty_folder_is_replaced(tmp_path: Path) -> None:
    target = tmp_path / "pack"
    target.mkdir()
    write_pack(target, {**FILES, "old.txt": b"old"})
    write_pack(target, FILES)
    assert _tree(target) == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]


@pytest.mark.parametrize("name", ["notes.txt", "report.json"])
def test_a_folder_that_is_no_pack_is_never_touched(tmp_path: Path, name: str) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / name).write_text("{}")
    with pytest.raises(PackError, match="not a pack"):
        write_pack(tmp_path / "mine", FILES)
    assert _tree(tmp_path / "mine") == {name: b"{}"}


def test_a_file_or_a_missing_parent_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(PackError, match="not a folder"):
        check_target(tmp_path / "file")
    with pytest.raises(PackError, match="no folder"):
        check_target(tmp_path / "nowhere" / "pack")


def test_a_full_disk_leaves_the_old_pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "pack"
    write_pack(target, FILES)
    written = Path.write_bytes

    def refuse(self: Path, data: bytes) -> int:
        if self.name == "front-outer.svg":
            raise OSError(28, "No space left on device", str(self))
        return written(self, data)

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(OSError, match="No space left"):
        write_pack(target, {**FILES, "new.txt": b"new"})
    assert _tree(target) == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]
