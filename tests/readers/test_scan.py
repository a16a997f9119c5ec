"""Raster drawings of every colour model, and broken ones."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from PIL import Image

from glasswork.errors import ReadError
from glasswork.readers.scan import read_scan


def _page() -> Any:
    """A white page with a black bar across its upper third."""
    grey = np.full((90, 60), 255, np.uint8)
    grey[20:30] = 0
    return Image.fromarray(grey)


def _saved(picture: Any, kind: str = "PNG", **words: Any) -> bytes:
    buffer = BytesIO()
    picture.save(buffer, kind, **words)
    return buffer.getvalue()


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "LA"])
def test_png_of_every_colour_model_reads_the_same(mode: str) -> None:
    scan = read_scan(_saved(_page().convert(mode)), name="p.png")
    assert scan.grey.shape == (90, 60)
    assert scan.grey[25].max() == 0
    assert scan.grey[60].min() == 255
    assert scan.rgb is None or scan.rgb.shape == (90, 60, 3)


def test_sixteen_bit_grey_keeps_its_middle() -> None:
    deep = np.full((64, 64), 32768, np.uint16)
    scan = read_scan(_saved(Image.fromarray(deep)), name="p.png")
    assert abs(int(scan.grey[5, 5]) - 127) <= 1


def test_see_through_paper_is_white() -> None:
    clear = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    assert read_scan(_saved(clear), name="p.png").grey.min() == 255


def test_cmyk_jpeg() -> None:
    scan = read_scan(_saved(_page().convert("CMYK"), "JPEG"), name="p.jpg")
    assert scan.grey[25, 30] < 60
    assert scan.grey[60, 30] > 200


def test_exif_orientation_is_obeyed() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # turned by a quarter [EXIF 2.3, tag 274; from memory]
    scan = read_scan(_saved(_page().convert("RGB"), "JPEG", exif=exif), name="p.jpg")
    assert scan.grey.shape == (60, 90)


def test_resolution_gives_millimetres() -> None:
    scan = read_scan(_saved(_page(), dpi=(254, 254)), name="p.png")
    assert scan.mm_per_px == pytest.approx(0.1, rel=1e-3)
    assert read_scan(_saved(_page()), name="p.png").mm_per_px is None
    assert read_scan(_saved(_page(), dpi=(1, 1)), name="p.png").mm_per_px is None


def _bomb() -> bytes:
    head = struct.pack(">IIBBBBB", 60000, 60000, 1, 0, 0, 0, 0)
    chunk = b"IHDR" + head
    crc = struct.pack(">I", zlib.crc32(chunk))
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + crc + b"\0\0\0\0IDAT"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (_saved(_page())[:80], "cut short|not a whole"),
        (_saved(_page().convert("RGB"), "JPEG")[:300], "cut short|not a whole"),
        (b"\x89PNG\r\n\x1a\n", "not a whole"),
        (_bomb(), "million pixels"),
        (_saved(Image.new("L", (8, 8))), "under 32 px"),
        (_saved(_page(), "GIF"), "not a whole"),
    ],
)
def test_pictures_that_cannot_be_used(data: bytes, said: str) -> None:
    with pytest.raises(ReadError, match=said):
        read_scan(data, name="p.png")


def test_moving_pictures_are_refused() -> None:
    frames = [Image.new("L", (64, 64), value) for value in (0, 128, 255)]
    moving = _saved(frames[0], save_all=True, append_images=frames[1:])
    with pytest.raises(ReadError, match="3 frames"):
        read_scan(moving, name="p.png")
