"""A picture of what was read where, with doubtful patches marked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from glasswork.model.reading import Remark
from glasswork.readers.photo_find import Found, to_pixels
from glasswork.readers.photo_patches import CORE

WIDE_PX: Final = 1600
_SURE = (40, 200, 60)
_DOUBT = (255, 150, 0)
_MARK = (60, 120, 255)


def mark_photo(found: Found, remarks: Sequence[Remark]) -> bytes:
    """The photo, reduced, with the fields that were averaged outlined; PNG."""
    import cv2

    high, wide = found.pixels.shape[:2]
    scale = min(1.0, WIDE_PX / max(wide, high))
    small = cv2.resize(found.pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    if small.dtype == np.uint16:
        small = (small // 256).astype(np.uint8)
    doubtful = {remark.patch for remark in remarks}
    for patch in found.layout.patches:
        x, y = patch.box.centre
        half = 0.5 * CORE * patch.box.width
        colour = _DOUBT if patch.name in doubtful else _SURE
        corners = [
            (x - half, y - half),
            (x + half, y - half),
            (x + half, y + half),
            (x - half, y + half),
        ]
        _outline(small, found, corners, scale, colour, 2 if patch.name in doubtful else 1)
    for mark in found.layout.fiducials:
        b = mark.box
        corners = [(b.left, b.top), (b.right, b.top), (b.right, b.bottom), (b.left, b.bottom)]
        colour = _MARK if mark.number in found.seen else _DOUBT
        _outline(small, found, corners, scale, colour, 2)
    ok, png = cv2.imencode(".png", small[:, :, ::-1], [cv2.IMWRITE_PNG_COMPRESSION, 1])
    return bytes(png) if ok else b""


def _outline(
    picture: np.ndarray,
    found: Found,
    corners: list[tuple[float, float]],
    scale: float,
    colour: tuple[int, int, int],
    thick: int,
) -> None:
    import cv2

    spots = to_pixels(found.to_photo, np.array(corners)) * scale * 16.0
    cv2.polylines(
        picture, [np.round(spots).astype(np.int32)], True, colour, thick, cv2.LINE_AA, shift=4
    )
