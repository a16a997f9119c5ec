"""Raster drawings: PNG and JPEG bytes in, an upright `Scan` out.

Every colour model that makers' programs write is turned into 8-bit grey and, where the picture
has colour, 8-bit RGB: palettes, alpha (laid on white), 16-bit grey, CMYK.
"""

from __future__ import annotations

import warnings
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.errors import ReadError
from glasswork.model.window import Scan
from glasswork.units import MM_PER_IN

MOST_PIXELS = 160_000_000
"""A little over an A4 sheet at 1200 dpi."""
LEAST_SIDE_PX = 32
_BAND_ROWS = 64
_DPI_FROM, _DPI_TO = 60.0, 4800.0
"""Below and above, the figure in the file is no scanner's."""


def read_scan(data: bytes, *, name: str) -> Scan:
    """The picture, turned upright as its EXIF orientation says.

    Raises: ReadError, if it is empty, broken, moving, or over 160 million pixels
    """
    if not data:
        raise ReadError(name, "the file is empty", "scan the drawing again")
    picture = _opened(data, name)
    width, height = picture.size
    if width * height > MOST_PIXELS:
        raise ReadError(
            name,
            f"{width} x {height} px is over {MOST_PIXELS // 1_000_000} million pixels",
            "scan at a lower resolution: 300 to 600 dpi serve",
        )
    if min(width, height) < LEAST_SIDE_PX:
        raise ReadError(
            name,
            f"{width} x {height} px is under {LEAST_SIDE_PX} px",
            "scan at 300 dpi or more",
        )
    if getattr(picture, "n_frames", 1) > 1:
        raise ReadError(name, f"{picture.n_frames} frames, not a drawing", "save one frame alone")
    dpi = picture.info.get("dpi")
    grey, rgb = _pixels(_upright(_decoded(picture, name)))
    return Scan(name=name, grey=grey, mm_per_px=_mm_per_px(dpi), rgb=rgb)


def _opened(data: bytes, name: str) -> Any:
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            return Image.open(BytesIO(data), formats=("PNG", "JPEG"))
    except Image.DecompressionBombError as exc:
        raise ReadError(
            name,
            f"over {MOST_PIXELS // 1_000_000} million pixels",
            "scan at a lower resolution: 300 to 600 dpi serve",
        ) from exc
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as exc:
        raise ReadError(name, "not a whole PNG or JPEG picture", "save it again") from exc


def _decoded(picture: Any, name: str) -> Any:
    try:
        picture.load()
    except (OSError, SyntaxError, ValueError, EOFError) as exc:
        raise ReadError(
            name, f"the picture is cut short or broken ({exc})", "save it again"
        ) from exc
    return picture


def _upright(picture: Any) -> Any:
    from PIL import ImageOps

    ImageOps.exif_transpose(picture, in_place=True)
    return picture


def _mm_per_px(dpi: Any) -> float | None:
    """From the resolution that the file tells, if it is one that a scanner has."""
    try:
        across, down = (float(value) for value in dpi)
    except (TypeError, ValueError):
        return None
    if not _DPI_FROM <= across <= _DPI_TO or abs(across - down) > 0.01 * across:
        return None
    return MM_PER_IN / across


def _pixels(picture: Any) -> tuple[NDArray[np.uint8], NDArray[np.uint8] | None]:
    """Grey, and RGB if the picture has colour, band by band: no copy of all of it is made but
    these.
    """
    width, height = picture.size
    grey = np.empty((height, width), np.uint8)
    coloured = picture.mode not in ("1", "L", "LA") and not picture.mode.startswith("I")
    rgb = np.empty((height, width, 3), np.uint8) if coloured else None
    for top in range(0, height, _BAND_ROWS):
        rows = slice(top, min(height, top + _BAND_ROWS))
        band = picture.crop((0, rows.start, width, rows.stop))
        grey[rows] = _grey(band)
        if rgb is not None:
            plain = _on_white(band)
            rgb[rows] = np.asarray(plain if plain.mode == "RGB" else plain.convert("RGB"))
    return grey, rgb


def _on_white(picture: Any) -> Any:
    """Without alpha: what is see-through shows white paper."""
    from PIL import Image

    if "A" not in picture.mode and "transparency" not in picture.info:
        return picture
    clear = picture.convert("RGBA")
    return Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear).convert("RGB")


def _grey(picture: Any) -> NDArray[np.uint8]:
    if picture.mode.startswith("I"):
        deep = np.asarray(picture).astype(np.float64)
        return np.clip(deep / (65535.0 / 255.0), 0.0, 255.0).astype(np.uint8)
    plain = _on_white(picture)
    return np.asarray(plain if plain.mode == "L" else plain.convert("L"))
