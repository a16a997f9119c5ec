"""Pictures as PNG bytes, lossless and fast.

Rows are filtered by numpy and deflated by isal, whose first level is some ten times faster than
zlib at almost its size on filtered pictures.
Source: [png]
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_COLOUR_TYPE = {1: 0, 3: 2, 4: 6}
_SUB, _UP = 1, 2
_BLOCK = 1 << 19
"""Bytes of rows that are filtered and deflated at once."""


def encode_png(pixels: NDArray[np.uint8], *, px_per_mm: float | None = None) -> bytes:
    """A picture as a PNG file.

    pixels : (rows, columns) grey, or (rows, columns, 3) sRGB, or (rows, columns, 4) with alpha
    px_per_mm : scale written into the file, if it has one
    Raises: ValueError, if the shape is none of these, or empty
    """
    height, width, channels = _shape_of(pixels)
    parts = [_SIGNATURE, _header(width, height, channels)]
    if channels > 1:
        parts.append(chunk(b"sRGB", b"\0"))
    if px_per_mm is not None:
        parts.append(chunk(b"pHYs", _physical(px_per_mm)))
    parts += [chunk(b"IDAT", deflated(pixels)), chunk(b"IEND", b"")]
    return b"".join(parts)


def chunk(name: bytes, body: bytes) -> bytes:
    """One chunk with its length and checksum."""
    return b"".join(
        (
            struct.pack(">I", len(body)),
            name,
            body,
            struct.pack(">I", zlib.crc32(body, zlib.crc32(name))),
        )
    )


class RowPacker:
    """Packs a picture's rows, from the top down, into one zlib stream, each led by its filter."""

    def __init__(self) -> None:
        from isal import isal_zlib

        self._stream: Any = isal_zlib.compressobj(1)
        self._parts: list[bytes] = []
        self._above: NDArray[np.uint8] | None = None
        self._room = np.empty((0, 0), dtype=np.uint8)

    def add(self, rows: NDArray[np.uint8]) -> None:
        """The next rows, (rows, columns, channels) or (rows, columns)."""
        step = 1 if rows.ndim == 2 else rows.shape[-1]
        flat = np.ascontiguousarray(rows).reshape(len(rows), -1)
        high = max(1, _BLOCK // flat.shape[1])
        for start in range(0, len(flat), high):
            some = flat[start : start + high]
            filtered = _filtered(some, self._above, step, room=self._room)
            self._parts.append(self._stream.compress(filtered))
            self._above, self._room = some[-1].copy(), filtered

    def packed(self) -> bytes:
        """The whole stream; asked for once."""
        return b"".join([*self._parts, self._stream.flush()])


def deflated(pixels: NDArray[np.uint8]) -> bytes:
    """The rows, each led by its filter, as one zlib stream; large pictures a block at a time."""
    from isal import isal_zlib

    if pixels.size > _BLOCK:
        packer = RowPacker()
        packer.add(pixels)
        return packer.packed()
    step = 1 if pixels.ndim == 2 else pixels.shape[-1]
    rows = np.ascontiguousarray(pixels).reshape(len(pixels), -1)
    whole: Any = isal_zlib.compress(_filtered(rows, None, step), 1)
    return bytes(whole)


def _shape_of(pixels: NDArray[np.uint8]) -> tuple[int, int, int]:
    channels = 1 if pixels.ndim == 2 else pixels.shape[-1]
    if pixels.ndim not in (2, 3) or channels not in _COLOUR_TYPE or not pixels.size:
        raise ValueError(f"a picture of shape {pixels.shape} is no PNG")
    return pixels.shape[0], pixels.shape[1], channels


def _header(width: int, height: int, channels: int) -> bytes:
    body = struct.pack(">IIBBBBB", width, height, 8, _COLOUR_TYPE[channels], 0, 0, 0)
    return chunk(b"IHDR", body)


def _physical(px_per_mm: float) -> bytes:
    per_metre = round(px_per_mm * 1000.0)
    return struct.pack(">IIB", per_metre, per_metre, 1)


def _filtered(
    rows: NDArray[np.uint8],
    above: NDArray[np.uint8] | None,
    step: int,
    *,
    room: NDArray[np.uint8] | None = None,
) -> NDArray[np.uint8]:
    """Each row less the one above it; the first of all less its left neighbours.

    room : written over and given back if it is of the right size
    """
    shape = (len(rows), rows.shape[1] + 1)
    out = room if room is not None and room.shape == shape else np.empty(shape, dtype=np.uint8)
    out[:, 0] = _UP
    np.subtract(rows[1:], rows[:-1], out=out[1:, 1:])
    if above is not None:
        np.subtract(rows[0], above, out=out[0, 1:])
        return out
    out[0, 0] = _SUB
    out[0, 1 : step + 1] = rows[0, :step]
    np.subtract(rows[0, step:], rows[0, :-step], out=out[0, step + 1 :])
    return out


def encode_apng(frames: Sequence[NDArray[np.uint8]], *, frame_ms: int) -> bytes:
    """Pictures of one shape as an animated PNG that repeats without end.

    frames : at least one, (rows, columns, 3) sRGB; a reader that knows no animation shows the first
    frame_ms : how long each is shown, 1 to 65535
    Raises: ValueError, if there is no frame, or their shapes differ
    Source: [png], third edition: acTL, fcTL, fdAT
    """
    if not frames or any(frame.shape != frames[0].shape for frame in frames):
        raise ValueError("an animation needs frames of one shape")
    height, width, channels = _shape_of(frames[0])
    parts = [_SIGNATURE, _header(width, height, channels), chunk(b"sRGB", b"\0")]
    parts.append(chunk(b"acTL", struct.pack(">II", len(frames), 0)))
    number = 0
    for index, frame in enumerate(frames):
        control = struct.pack(">IIIIIHHBB", number, width, height, 0, 0, frame_ms, 1000, 0, 0)
        parts.append(chunk(b"fcTL", control))
        number += 1
        if index == 0:
            parts.append(chunk(b"IDAT", deflated(frame)))
            continue
        parts.append(chunk(b"fdAT", struct.pack(">I", number) + deflated(frame)))
        number += 1
    parts.append(chunk(b"IEND", b""))
    return b"".join(parts)
