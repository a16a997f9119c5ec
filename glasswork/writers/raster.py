"""Arithmetic on pictures in linear light, and the way to and from sRGB. Source: [srgb]

Pictures are lit in bands of rows, so that no full picture of floats is ever held.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import decode_srgb, encode_srgb

Bytes = NDArray[np.uint8]
Single = NDArray[np.float32]
Tint = tuple[float, float, float]

SMALLER = 4
"""Soft fields are held so many times smaller than the picture."""
_BAND = 128
_HIGH = 1 if sys.byteorder == "little" else 0
"""Which byte of two holds the whole steps."""
_WORKERS = 2


def opencv() -> Any:
    """OpenCV, untyped: its stubs differ between versions."""
    import cv2

    return cv2


class Field(Struct, frozen=True, eq=False):
    """A soft picture, held small and handed out in bands of rows at full size.

    small : (rows / 4, columns / 4[, 3]), rounded up
    """

    small: Single
    columns: int

    def band(self, first: int, last: int, shown: slice | None = None) -> Single:
        """Rows first to last, full columns or those shown, at full size.

        Rows and columns begin at a multiple of SMALLER.
        """
        cv2 = opencv()
        left, right = (0, self.columns) if shown is None else (shown.start, shown.stop)
        top, end = first // SMALLER, -(-last // SMALLER)
        near, far = max(left // SMALLER - 1, 0), -(-right // SMALLER) + 1
        index = np.clip(np.arange(top - 1, end + 1), 0, len(self.small) - 1)
        part = self.small[index, near:far]
        size = (part.shape[1] * SMALLER, part.shape[0] * SMALLER)
        full: Single = cv2.resize(part, size, interpolation=cv2.INTER_LINEAR)
        begin = left - near * SMALLER
        return full[SMALLER : SMALLER + last - first, begin : begin + right - left]


def in_bands(rows: int, work: Callable[[int, int], None]) -> None:
    """Call work(first, last) for bands of rows, two at a time."""
    starts = range(0, rows, _BAND)
    with ThreadPoolExecutor(_WORKERS) as pool:
        list(pool.map(lambda first: work(first, min(first + _BAND, rows)), starts))


def shrunk(picture: Any) -> Single:
    """The picture so many times smaller, (rows, columns[, channels]) rounded up."""
    cv2 = opencv()
    rows, columns = picture.shape[:2]
    below, right = -rows % SMALLER, -columns % SMALLER
    if below or right:
        picture = cv2.copyMakeBorder(picture, 0, below, 0, right, cv2.BORDER_REPLICATE)
    size = ((columns + right) // SMALLER, (rows + below) // SMALLER)
    small: Single = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    return small.astype(np.float32, copy=False)


def blur(picture: Any, sigma_px: float) -> Any:
    """Gaussian blur; a wide one works on a smaller picture."""
    cv2 = opencv()
    factor = int(sigma_px // 5)
    if factor < 2:
        return cv2.GaussianBlur(picture, (0, 0), max(sigma_px, 0.3))
    rows, columns = picture.shape[:2]
    size = (max(1, columns // factor), max(1, rows // factor))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma_px / factor)
    return cv2.resize(small, (columns, rows), interpolation=cv2.INTER_CUBIC)


def moved(picture: Single, right_px: float, down_px: float) -> Single:
    """The picture shifted; what comes in is 0."""
    cv2 = opencv()
    shift = np.array([[1.0, 0.0, right_px], [0.0, 1.0, down_px]], np.float32)
    out: Single = cv2.warpAffine(picture, shift, picture.shape[1::-1])
    return out


def unit(plane: Bytes) -> Single:
    """0-255 to 0-1."""
    return np.multiply(plane, np.float32(1.0 / 255.0), dtype=np.float32)


def spread(plane: Single) -> Single:
    """One plane as three equal ones."""
    cv2 = opencv()
    out: Single = cv2.merge([plane, plane, plane])
    return out


def tinted(parts: list[tuple[Single, Tint]]) -> Single:
    """Σ plane · tint, as three planes."""
    cv2 = opencv()
    planes = [
        sum(
            (plane * np.float32(tint[k]) for plane, tint in parts[1:]), parts[0][0] * parts[0][1][k]
        )
        for k in range(3)
    ]
    out: Single = cv2.merge([np.ascontiguousarray(plane, dtype=np.float32) for plane in planes])
    return out


def linear(srgb: Bytes) -> Single:
    """8-bit sRGB to linear light 0-1."""
    out: Single = opencv().LUT(np.ascontiguousarray(srgb), _decode())
    return out


def to_srgb(light: Single, *, first_row: int = 0, noise: bool = True) -> Bytes:
    """Linear light to 8-bit sRGB, noise of one step laid over it against banding.

    light : (rows, columns, 3), clipped to 0-1
    first_row : where these rows lie in the picture
    """
    cv2 = opencv()
    index = cv2.multiply(light, (65535.0,) * 4, dtype=cv2.CV_16U)
    fine = _look_up(index, _curve())
    if noise:
        fine = cv2.add(fine, repeated(_noise(light.shape[1]), first_row, len(light)))
    else:
        fine += np.uint16(128)
    out: Bytes = fine.view(np.uint8).reshape(*fine.shape, 2)[..., _HIGH]
    return out


def repeated(tile: Any, first: int, count: int) -> Any:
    """Rows first to first + count of a tile repeated downwards; a view where that can be."""
    start = first % len(tile)
    if start + count <= len(tile):
        return tile[start : start + count]
    return tile[np.arange(first, first + count) % len(tile)]


def _look_up(index: Any, table: Any) -> Any:
    """Table look-up of 16-bit values; older OpenCV knows it for 8 bits only."""
    cv2 = opencv()
    if int(cv2.__version__.split(".", 1)[0]) >= 5:
        return cv2.LUT(index, table)
    return table[index]


@cache
def _decode() -> Single:
    return decode_srgb(np.arange(256) / 255.0).astype(np.float32)


@cache
def _curve() -> NDArray[np.uint16]:
    """65536 steps of linear light to sRGB in 1/256 of an 8-bit step."""
    srgb = encode_srgb(np.arange(65536) / 65535.0)
    return np.rint(srgb * 255.0 * 256.0).astype(np.uint16)


@cache
def _noise(columns: int) -> NDArray[np.uint16]:
    """Uniform noise of one 8-bit step, the same in the three colours, the same on every run."""
    tile = np.random.default_rng(7).integers(0, 256, (256, 256), dtype=np.uint16)
    full = np.tile(tile, (1, columns // 256 + 1))[:, :columns]
    return np.ascontiguousarray(np.repeat(full[..., None], 3, axis=2))


@cache
def grain(columns: int) -> Single:
    """Slight unevenness of a painted board, (256, columns); repeats below."""
    tile = np.random.default_rng(11).normal(0.0, 1.0, (256, 256)).astype(np.float32)
    wide = np.tile(tile, (3, 3))
    soft = 0.05 * blur(wide, 1.6) + 0.5 * opencv().GaussianBlur(wide, (0, 0), 12.0)
    full = np.tile(soft[256:512, 256:512], (1, columns // 256 + 1))[:, :columns]
    return np.ascontiguousarray(full, dtype=np.float32)
