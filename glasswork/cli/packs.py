"""Packs on disk: written aside, then renamed; what is not a pack is never touched."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

import msgspec

from glasswork.cli.files import check_folder
from glasswork.cli.shelf import read_file
from glasswork.errors import GlassworkError, PackError
from glasswork.model.report import REPORT_FILE


def check_target(target: Path) -> None:
    """Refuse a target that is neither free, nor empty, nor a pack.

    Raises: PackError
    """
    if not target.exists() and not target.is_symlink():
        check_folder(target)
        return
    if target.is_symlink() or not target.is_dir():
        raise PackError(str(target), "is not a folder", "name another place for the pack")
    if any(target.iterdir()) and not _is_pack(target):
        raise PackError(
            str(target),
            "holds files and is not a pack; it was left as it is",
            "name a new or empty folder",
        )


class _Signature(msgspec.Struct):
    """What tells a report of any version from other JSON."""

    version: int
    design: str
    films_table: list[msgspec.Raw]
    cautions: list[str]


def _is_pack(folder: Path) -> bool:
    try:
        msgspec.json.decode(read_file(folder / REPORT_FILE), type=_Signature)
    except (GlassworkError, msgspec.DecodeError):
        return False
    return True


def write_pack(target: Path, files: Mapping[str, bytes]) -> None:
    """All files or none: written into a folder beside the target, which then takes its place.

    Raises: PackError, if the target may not be replaced; OSError, if the disk refuses
    """
    check_target(target)
    target = target.absolute()
    aside = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        for name, data in files.items():
            path = aside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        aside.chmod(0o777 & ~_umask())
        _swap(aside, target)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def _swap(fresh: Path, target: Path) -> None:
    """Put the fresh folder in the target's place; the old pack comes back if that fails."""
    if not target.exists():
        fresh.rename(target)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{target.name}-old-", dir=target.parent)) / "pack"
    target.rename(old)
    try:
        fresh.rename(target)
    except OSError:
        old.rename(target)
        raise
    finally:
        shutil.rmtree(old.parent, ignore_errors=True)


def read_pack(folder: Path) -> dict[str, bytes]:
    """Every file of a pack.

    Raises: PackError, if the folder is no pack
    """
    if not (folder / REPORT_FILE).is_file():
        raise PackError(str(folder), f"is not a pack: no {REPORT_FILE}", "name a pack's folder")
    return {
        str(path.relative_to(folder).as_posix()): read_file(path)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
