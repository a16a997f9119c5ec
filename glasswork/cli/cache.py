"""Computed tables kept between runs, in the user's cache folder."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


class FolderCache:
    """Bytes under a key, a file each. What cannot be read or written is simply not cached."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def get(self, key: str) -> bytes | None:
        """The bytes, or None."""
        try:
            return (self._folder / key).read_bytes()
        except OSError:
            return None

    def put(self, key: str, data: bytes) -> None:
        """Keep the bytes: written aside, then renamed, so that no half file is ever read."""
        aside: str | None = None
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            handle, aside = tempfile.mkstemp(prefix=".", dir=self._folder)
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(aside).replace(self._folder / key)
        except OSError:
            if aside is not None:
                Path(aside).unlink(missing_ok=True)
