"""Single files on disk: written aside, then renamed."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


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
