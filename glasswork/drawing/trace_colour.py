"""The colours that panes were given in a scanned drawing, the paper's own colour taken out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

COLOURED = 24
"""Channels that lie nearer together than this are grey: paper, shade or pencil."""
_PER_PANE = 400


def pane_colours(
    rgb: NDArray[np.uint8] | None,
    outline: NDArray[Any],
    panes: Sequence[NDArray[Any]],
    *,
    pitch: int = 1,
) -> list[str | None]:
    """Colour of each pane as #rrggbb, the middle one; None where it is the paper's.

    outline, panes : (n, 1, 2), whole pixels, each as wide as `pitch` of the picture's
    """
    if rgb is None or not _is_coloured(rgb):
        return [None] * len(panes)
    if pitch > 1:
        outline, panes = outline * pitch, [ring * pitch for ring in panes]
    white = _paper(rgb, outline)
    return [_colour(rgb, ring[:, 0], white) for ring in panes]


def _is_coloured(rgb: NDArray[np.uint8]) -> bool:
    """Some part of the picture, more than noise, has a colour."""
    import cv2

    step = max(1, max(rgb.shape[:2]) // 600)
    size = (max(1, rgb.shape[1] // step), max(1, rgb.shape[0] // step))
    small = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA)).astype(np.int16)
    return bool((np.ptp(small, axis=2) >= COLOURED // 2).mean() > 2e-4)


def _paper(rgb: NDArray[np.uint8], outline: NDArray[Any]) -> NDArray[np.float64]:
    """What to multiply by so that the paper beside the drawing is grey."""
    import cv2

    step = max(1, max(rgb.shape[:2]) // 600)
    small = rgb[::step, ::step]
    mask = np.full(small.shape[:2], 255, np.uint8)
    cv2.fillPoly(mask, [(outline // step).astype(np.int32)], 0)
    mask = np.asarray(cv2.erode(mask, np.ones((3, 3), np.uint8)))
    beside = small[mask > 0]
    if len(beside) < 0.02 * mask.size:
        return np.ones(3)
    bright = beside[beside.max(axis=1) >= np.percentile(beside.max(axis=1), 40.0)]
    paper = np.median(bright, axis=0).astype(np.float64)
    return np.asarray(paper.max() / np.maximum(paper, 40.0))


def _colour(rgb: NDArray[np.uint8], ring: NDArray[Any], white: NDArray[np.float64]) -> str | None:
    import cv2

    left, top = np.maximum(ring.min(axis=0), 0)
    right, bottom = ring.max(axis=0) + 1
    step = max(1, int(np.sqrt((right - left) * (bottom - top) / _PER_PANE)))
    patch = rgb[top:bottom:step, left:right:step]
    mask = np.zeros(patch.shape[:2], np.uint8)
    cv2.fillPoly(mask, [((ring - (left, top)) // step).astype(np.int32)], 1)
    padded = cv2.copyMakeBorder(mask, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=(0,))
    inner = np.asarray(cv2.erode(padded, np.ones((3, 3), np.uint8)))[1:-1, 1:-1]
    pixels = patch[(inner if inner.any() else mask) > 0]
    lit = np.minimum(np.median(pixels, axis=0) * white, 255.0)
    red, green, blue = (round(float(value)) for value in lit)
    if max(red, green, blue) - min(red, green, blue) < COLOURED:
        return None
    return f"#{red:02x}{green:02x}{blue:02x}"
