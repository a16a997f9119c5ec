"""Paint on a pane of glass: matting along its leads, and shades where the drawing has them."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from glasswork.colour.finish.cut import Cut, Levels, opencv
from glasswork.colour.finish.laid import Patch, fill, outlines_px
from glasswork.model.finish import FinishSettings
from glasswork.model.geometry import Box
from glasswork.model.window import PaintStroke

MATT_REACH_MM: Final = 2.2
"""How far matting fades from the lead into the pane."""

SHADE_EDGE_MM: Final = 0.15
"""Softness of a painted shade's edge."""

_GRAIN_MM: Final = 0.22


def paint_on(
    cut: Cut,
    patch: Patch,
    shades: Sequence[PaintStroke],
    settings: FinishSettings,
    corner: tuple[float, float],
    px_per_mm: float,
) -> NDArray[np.uint8] | None:
    """Matting and painted shades over a pane, 0-255, the heavier of both; None if neither is.

    corner : panel mm of the picture's top left
    """
    work = _shading(cut, patch, shades, corner, px_per_mm, stipple=settings.stipple)
    if settings.matting <= 0.0:
        return work
    matting = _matting(cut, patch, px_per_mm, stipple=settings.stipple)
    made: Levels = np.rint(matting * np.float32(settings.matting)).astype(np.uint8)
    return made if work is None else np.asarray(np.maximum(made, work))


def _matting(cut: Cut, patch: Patch, px_per_mm: float, *, stipple: float) -> Levels:
    """Paint matted along the leads and stippled open by a brush, 0 none to 255 most.

    stipple : 0-1
    """
    cv2 = opencv()
    edge = cv2.copyMakeBorder(patch.filled, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    depth = cv2.distanceTransform(edge, cv2.DIST_L2, 3)[1:-1, 1:-1]
    paint = np.exp(depth * np.float32(-1.0 / (MATT_REACH_MM * px_per_mm)))
    if stipple > 0.0:
        paint *= 1.0 + np.float32(stipple) * _brush(cut, px_per_mm, paint.shape)
    out: Levels = np.rint(np.clip(paint, 0.0, 1.0) * 255.0).astype(np.uint8)
    return out


def _shading(
    cut: Cut,
    patch: Patch,
    strokes: Sequence[PaintStroke],
    corner: tuple[float, float],
    px_per_mm: float,
    *,
    stipple: float,
) -> Levels | None:
    """Shades painted over the pane, 0 none to 255 most; None if there is none.

    corner : panel mm of the picture's top left
    """
    box = cut.box
    near = [stroke for stroke in strokes if any(_meet(part.box, box) for part in stroke.area)]
    if not near:
        return None
    cv2 = opencv()
    rows, columns = patch.levels.shape
    paint = np.zeros((rows, columns), np.float32)
    for outline, stroke in zip(
        outlines_px([one.area for one in near], corner, px_per_mm), near, strict=True
    ):
        mask = np.zeros((rows, columns), np.uint8)
        fill(mask, outline, 255, (patch.left, patch.top))
        soft = cv2.GaussianBlur(mask, (0, 0), SHADE_EDGE_MM * px_per_mm)
        np.maximum(paint, soft * np.float32(stroke.tone), out=paint)
    if stipple > 0.0:
        paint *= 1.0 + np.float32(stipple) * _brush(cut, px_per_mm, paint.shape)
    out: Levels = np.rint(np.clip(paint, 0.0, 255.0)).astype(np.uint8)
    return out


def _meet(one: Box, other: Box) -> bool:
    across = one.left < other.right and other.left < one.right
    return across and one.top < other.bottom and other.top < one.bottom


def _brush(cut: Cut, px_per_mm: float, shape: tuple[int, ...]) -> Any:
    """Grain of a stippling brush: -1 where a bristle lifted the paint, up to 0.4 between."""
    cv2 = opencv()
    rng = np.random.default_rng([cut.seed, zlib.crc32(cut.pane.encode()), 2])
    rows, columns = (max(2, round(size / (px_per_mm * _GRAIN_MM))) for size in shape)
    grain = rng.standard_normal((rows, columns), dtype=np.float32)
    fine = cv2.resize(grain, shape[::-1], interpolation=cv2.INTER_CUBIC)
    return np.clip(fine, -1.0, 0.4)
