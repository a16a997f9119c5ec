"""Single files on disk: written aside, then renamed."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def beside_or_named(name: str, folder: Path | None) -> Path:
    """A file that a project names: beside the project, or as it is named."""
    near = None if folder is None else folder / name
    return near if near is not None and near.is_file() else Path(name)


def write_file(path: Path, data: bytes) -> None:
    """The whole file or none; an older one is replaced only when the new one is there.

    Raises: OSError, if the disk refuses
    """
    handle, aside = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.absolute().parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(aside).chmod(0o644)
        Path(aside).replace(path)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise
