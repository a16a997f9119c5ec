"""Patches of a strip in a photo: robust means, even light, blur."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import decode_srgb
from glasswork.model.reading import Patch, StripLayout
from glasswork.readers.photo_find import Found, flattened, to_pixels

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

CORE: Final = 0.56
"""Middle part of a patch's side that is averaged."""
FULL: Final = 0.98
"""From this share of its range on the sensor is full [common practice]."""
_MOST_PX_PER_MM: Final = 12.0


class Sampled(Struct, frozen=True, eq=False):
    """Patches as the camera saw them.

    linear : (patches, 3) linear light, 0-1 of the range
    rough : (patches,) unevenness inside the patch, relative
    full, empty : (patches, 3) share of pixels at the top, at the bottom of the range
    grain : (patches,) scatter of single pixels, relative
    """

    linear: Floats
    rough: Floats
    full: Floats
    empty: Floats
    grain: Floats


def light_of_code(codes: NDArray[Any]) -> Floats:
    """Linear light 0-1 of sRGB code values in 8 or 16 bits. Source: [iec61966-2-1]"""
    top = 65535.0 if codes.dtype == np.uint16 else 255.0
    return decode_srgb(codes / top)


def sample(found: Found, *, linear: bool = False) -> Sampled:
    """Means of all patches. linear : the samples are linear light already, not sRGB"""
    layout = found.layout
    scale = min(_MOST_PX_PER_MM, px_per_mm(found))
    flat = flattened(found.pixels, found.to_photo, layout.block, scale)
    top = 65535 if flat.dtype == np.uint16 else 255
    light = _table(top, linear=linear)
    rows = [_patch(flat, light, patch, scale, top) for patch in layout.patches]
    means, rough, full, empty, grain = (np.array(column) for column in zip(*rows, strict=True))
    return Sampled(means, rough, full, empty, grain)


def _table(top: int, *, linear: bool) -> Floats:
    codes = np.arange(top + 1)
    if linear:
        return np.asarray(codes / float(top))
    return light_of_code(codes.astype(np.uint16 if top > 255 else np.uint8))


def px_per_mm(found: Found) -> float:
    """Resolution in the middle of the strip."""
    x, y = found.layout.block.centre
    spots = to_pixels(found.to_photo, np.array([[x, y], [x + 1.0, y], [x, y + 1.0]]))
    return float(np.linalg.norm(spots[1:] - spots[0], axis=1).max())


def _patch(
    flat: NDArray[Any], light: Floats, patch: Patch, scale: float, top: int
) -> tuple[Floats, float, Floats, Floats, float]:
    x, y = patch.box.centre
    half = 0.5 * CORE * patch.box.width
    part = flat[
        round((y - half) * scale) : round((y + half) * scale),
        round((x - half) * scale) : round((x + half) * scale),
    ]
    pixels = light[part.reshape(-1, 3)]
    middle = np.median(pixels, axis=0)
    away = np.abs(pixels - middle)
    spread = 1.4826 * np.median(away, axis=0) + 1e-6
    keep = away <= 3.0 * spread
    mean = (pixels * keep).sum(axis=0) / keep.sum(axis=0)
    full = (part >= FULL * top).reshape(-1, 3).mean(axis=0)
    empty = (part <= top * 0.004).reshape(-1, 3).mean(axis=0)
    grain = float((spread / (mean + 0.01)).max())
    return mean, _roughness(light[part], mean), full, empty, grain


def _roughness(part: Floats, mean: Floats) -> float:
    """Spread of the means of 4 x 4 fields of a patch against its mean: dust, bands, shadows."""
    high, wide = (part.shape[0] // 4) * 4, (part.shape[1] // 4) * 4
    if high < 8 or wide < 8:
        return 0.0
    fields = part[:high, :wide].reshape(4, high // 4, 4, wide // 4, 3).mean(axis=(1, 3))
    return float((fields.std(axis=(0, 1)) / (mean + 0.01)).max())


def even_light(layout: StripLayout, linear: Floats, usable: Bools) -> tuple[Floats, float]:
    """What bare film would have read at every patch, from the clear patches.

    linear : (patches, 3); usable : (patches,)
    Returns: (patches, 3), and the relative error where one clear patch is predicted by the others

    A smooth surface through the logarithms; its degree, 2 to 4, is the one that predicts left-out
    patches best.
    """
    clear = np.array([patch.use == "clear" for patch in layout.patches]) & usable
    spots = np.array([patch.box.centre for patch in layout.patches])
    middle = np.array(layout.block.centre)
    spots = (spots - middle) / (layout.block.width / 2.0)
    logs = np.log(np.maximum(linear[clear], 1e-6))
    best: tuple[float, Floats] | None = None
    for degree in (2, 3, 4):
        terms = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
        if len(terms) > 0.7 * clear.sum():
            continue
        design = np.stack([spots[:, 0] ** i * spots[:, 1] ** j for i, j in terms], axis=1)
        inside = design[clear]
        hat = inside @ np.linalg.pinv(inside)
        left = (logs - hat @ logs) / (1.0 - np.diag(hat))[:, None]
        error = float(np.sqrt(np.mean(left**2)))
        if best is None or error < 0.9 * best[0]:
            best = (error, np.exp(design @ (np.linalg.pinv(inside) @ logs)))
    if best is None:
        return np.broadcast_to(np.exp(logs.mean(axis=0)), linear.shape).copy(), float(logs.std())
    return best[1], best[0]


def blur_mm(found: Found) -> float:
    """Width of an edge from 10 % to 90 %, median over the sides of the fiducials found."""
    import cv2

    scale, reach = 2.0 * min(_MOST_PX_PER_MM, px_per_mm(found)), 1.5
    widths = []
    for mark in found.layout.fiducials:
        if mark.number not in found.seen:
            continue
        part = flattened(found.pixels, found.to_photo, mark.box.grown(reach), scale)
        grey = light_of_code(cv2.cvtColor(part, cv2.COLOR_RGB2GRAY))
        # Lit by a panel, a mark's own border is one cell of six wide.
        depth = round((2.0 * reach) * scale)
        middle = slice(grey.shape[0] // 3, 2 * grey.shape[0] // 3)
        for side in (grey, grey[::-1], grey.T, grey.T[::-1]):
            width = _edge(side[:depth, middle].mean(axis=1))
            if width is not None:
                widths.append(width / scale)
    return float(np.median(widths)) if widths else float("inf")


def _edge(profile: Floats) -> float | None:
    """Width in samples of the fall from light to dark."""
    high, low = float(profile[: len(profile) // 6 + 1].mean()), float(profile.min())
    if high - low < 0.02:
        return None
    share = (profile - low) / (high - low)
    above = np.flatnonzero(share > 0.9)
    below = np.flatnonzero(share < 0.1)
    if not len(above) or not len(below):
        return None
    end = int(below[0])
    start = int(above[above < end][-1]) if (above < end).any() else 0
    return float(end - start)
