"""Raster drawings of every colour model, and broken ones."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO
from pathlib import Path
from subprocess import run
from sys import executable
from tempfile import TemporaryDirectory
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


@pytest.mark.parametrize("mode", ["L", "P", "RGB", "RGBA", "CMYK"])
def test_a_picture_of_many_rows_is_read_as_pillow_turns_the_whole_of_it(mode: str) -> None:
    rng = np.random.default_rng(4)
    picture = Image.fromarray(rng.integers(0, 256, (700, 40, 3), np.uint8)).convert(mode)
    kind = "JPEG" if mode == "CMYK" else "PNG"
    data = _saved(picture, kind)
    whole = Image.open(BytesIO(data))
    scan = read_scan(data, name="p")
    assert np.array_equal(scan.grey, np.asarray(whole.convert("L")))
    assert (scan.rgb is None) == (mode == "L")
    if scan.rgb is not None:
        assert np.array_equal(scan.rgb, np.asarray(whole.convert("RGB")))


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is told by Linux")
def test_reading_takes_no_more_memory_than_the_picture_and_what_is_made_of_it() -> None:
    """Pillow's 4 bytes a pixel, and grey and RGB, 4 more; measured in a process of its own."""
    rows, columns = 6000, 5000
    data = _saved(Image.new("RGB", (columns, rows), "white"), compress_level=1)
    script = (
        "import re, sys\n"
        "from glasswork.readers.scan import read_scan\n"
        "def peak_kb():\n"
        "    told = open('/proc/self/status').read()\n"
        "    return int(re.search(r'VmHWM:\\s+(\\d+)', told)[1])\n"
        "read_scan(open(sys.argv[1], 'rb').read(), name='small.png')\n"
        "before = peak_kb()\n"
        "read_scan(open(sys.argv[2], 'rb').read(), name='p.png')\n"
        "print(peak_kb() - before)\n"
    )
    with TemporaryDirectory() as folder:
        small, large = Path(folder, "small.png"), Path(folder, "large.png")
        small.write_bytes(_saved(_page().convert("RGB")))
        large.write_bytes(data)
        found = run([executable, "-c", script, small, large], capture_output=True, check=True)
    peak_bytes = int(found.stdout) * 1024
    assert peak_bytes <= 8.5 * rows * columns + len(data)


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
