"""Single files on disk: written aside, then renamed."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from glasswork.errors import PackError


def beside_or_named(name: str, folder: Path | None) -> Path:
    """A file that a project names: beside the project, or as it is named."""
    near = None if folder is None else folder / name
    return near if near is not None and near.is_file() else Path(name)


def check_folder(path: Path) -> None:
    """Raises: PackError, if the folder of a file or pack that is to be written is not there"""
    folder = path.absolute().parent
    if not folder.is_dir():
        raise PackError(str(path), f"no folder {folder}", "make that folder first")


def check_ending(name: str | None, *endings: str) -> None:
    """A file that is to be written tells its kind by its ending; None is no file.

    Raises: PackError, if it has another ending
    """
    if name is not None and Path(name).suffix.lower() not in endings:
        known = " or ".join(endings)
        raise PackError(
            "output", f'"{Path(name).name}" does not end in {known}', f"name a {known} file"
        )


def write_file(path: Path, data: bytes) -> None:
    """The whole file or none; an older one is replaced only when the new one is there.

    Raises: PackError, if its folder is not there; OSError, if the disk refuses
    """
    check_folder(path)
    handle, aside = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.absolute().parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(aside).chmod(0o644)
        Path(aside).replace(path)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise
