"""Rows of a picture packed as they come, read back by Pillow."""

from __future__ import annotations

import struct
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from glasswork.writers.png import RowPacker, chunk


@pytest.mark.parametrize("lots", [(1, 1, 1, 97), (50, 50), (100,), (99, 1)])
def test_rows_packed_in_lots_are_one_picture(lots: tuple[int, ...]) -> None:
    """Put into a PNG by hand; lots of one size are packed in the same room."""
    pixels = np.random.default_rng(2).integers(0, 256, (100, 4000, 3), dtype=np.uint8)
    packer, first = RowPacker(), 0
    for rows in lots:
        packer.add(pixels[first : first + rows].copy())
        first += rows
    header = struct.pack(">IIBBBBB", 4000, 100, 8, 2, 0, 0, 0)
    parts = [chunk(b"IHDR", header), chunk(b"IDAT", packer.packed()), chunk(b"IEND", b"")]
    with Image.open(BytesIO(b"\x89PNG\r\n\x1a\n" + b"".join(parts))) as seen:
        assert np.array_equal(np.asarray(seen), pixels)
