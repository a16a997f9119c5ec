"""Deflate for PDF streams by isal, several times faster than zlib at nearly its size."""

from __future__ import annotations

from typing import Any


def deflate(data: bytes) -> bytes:
    """One zlib stream."""
    from isal import isal_zlib

    stream: Any = isal_zlib.compress(data, 2)
    return bytes(stream)
