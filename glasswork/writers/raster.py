"""Arithmetic on pictures in linear light, and the way to and from sRGB. Source: [srgb]"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
Single = NDArray[np.float32]
Tint = tuple[float, float, float]


def opencv() -> Any:
    """OpenCV, untyped: its stubs differ between versions."""
    import cv2

    return cv2


def to_srgb(linear: Single) -> Bytes:
    """Linear light to 8-bit sRGB, noise of one step laid over it.

    linear : (rows, columns, 3), clipped to 0-1
    """
    cv2 = opencv()
    index = cv2.multiply(linear, 65535.0, dtype=cv2.CV_16U)
    fine = _look_up(index, _curve())
    fine = cv2.add(fine, _noise(linear.shape[0], linear.shape[1]))
    return np.ascontiguousarray((fine >> 8).astype(np.uint8))


def unit(plane: Bytes) -> Single:
    cv2 = opencv()
    out: Single = cv2.multiply(np.ascontiguousarray(plane), 1.0 / 255.0, dtype=cv2.CV_32F)
    return out


def three(plane: Single) -> Single:
    cv2 = opencv()
    out: Single = cv2.merge([np.ascontiguousarray(plane, dtype=np.float32)] * 3)
    return out


def times(picture: Single, tint: Tint) -> Single:
    cv2 = opencv()
    out: Single = cv2.multiply(picture, (*tint, 0.0))
    return out


def shrunk(picture: Any, factor: int) -> Single:
    cv2 = opencv()
    rows, columns = picture.shape[:2]
    size = (max(1, columns // factor), max(1, rows // factor))
    small: Single = cv2.resize(picture, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    return small


def blur(picture: Single, sigma_px: float) -> Single:
    cv2 = opencv()
    out: Single = cv2.GaussianBlur(picture, (0, 0), max(sigma_px, 0.3))
    return out


def wide_blur(picture: Single, sigma_px: float) -> Single:
    """A blur that works on a smaller picture where it is wide."""
    cv2 = opencv()
    factor = int(sigma_px // 4)
    if factor < 2:
        return blur(picture, sigma_px)
    small = blur(shrunk(picture, factor), sigma_px / factor)
    out: Single = cv2.resize(small, picture.shape[1::-1], interpolation=cv2.INTER_CUBIC)
    return out


def linear(srgb: Bytes) -> Single:
    cv2 = opencv()
    out: Single = cv2.LUT(srgb, _decode())
    return out


def _look_up(index: Any, table: Any) -> Any:
    """Table look-up of 16-bit values; older OpenCV knows it for 8 bits only."""
    cv2 = opencv()
    if int(cv2.__version__.split(".", 1)[0]) >= 5:
        return cv2.LUT(index, table)
    return table[index]


@cache
def _decode() -> Single:
    value = np.arange(256) / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(
        np.float32
    )


@cache
def _curve() -> NDArray[np.uint16]:
    """65536 steps of linear light to sRGB in 1/256 of an 8-bit step."""
    value = np.arange(65536) / 65535.0
    srgb = np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)
    return np.rint(srgb * 255.0 * 256.0).astype(np.uint16)


@cache
def _noise(rows: int, columns: int) -> NDArray[np.uint16]:
    """Uniform noise of one 8-bit step, the same in the three colours, the same on every run."""
    tile = np.random.default_rng(7).integers(0, 256, (256, 256), dtype=np.uint16)
    full = np.tile(tile, (rows // 256 + 1, columns // 256 + 1))[:rows, :columns]
    return np.ascontiguousarray(np.repeat(full[..., None], 3, axis=2))


@cache
def noise_field() -> Single:
    """Slight unevenness of a painted board."""
    field = np.random.default_rng(11).normal(0.0, 1.0, (400, 400)).astype(np.float32)
    return 0.06 * blur(field, 0.8) + 0.25 * blur(field, 6.0)
