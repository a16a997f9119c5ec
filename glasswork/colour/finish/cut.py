"""Every pane gets its own piece of its finish's sheet: place and direction by the seed.

Levels are one byte a pixel: offset -1 (lightest) at level 0, 0 at 127, +1 at 254.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from hashlib import blake2b
from itertools import chain
from math import ceil, cos, floor, hypot, radians, sin
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.colour.finish.fields import PX_PER_MM, sheet_of, sheet_px
from glasswork.model.geometry import Box, Region, Regions
from glasswork.model.window import PaintStroke

Levels = NDArray[np.uint8]
Corners = NDArray[np.float64]

FLAT: Final = 127
OFFSET_OF_LEVEL: Final = (np.arange(256) - FLAT) / FLAT

MATT_REACH_MM: Final = 2.2
"""How far matting fades from the lead into the pane."""

SHADE_EDGE_MM: Final = 0.15
"""Softness of a painted shade's edge."""

_GRAIN_MM: Final = 0.22
_TURNED: Final = {"streaky": 18.0, "wispy": 60.0, "rippled": 12.0, "antique": 14.0}
"""Directions differ from upright or level by about so many degrees; other finishes: any."""


class Cut(Struct, frozen=True, kw_only=True):
    """One pane's piece of its sheet.

    area : rings of what its ink fills, bleed included, (n, 2) each
    glass : rings of what shows between the leads
    turn_deg : direction of the sheet's draw, clockwise from x
    at_mm : the sheet's place under the middle of the area's box
    box : round the area
    """

    pane: str
    glass_id: str
    finish: str
    area: tuple[Corners, ...]
    glass: tuple[Corners, ...]
    sheet_px: int
    turn_deg: float
    at_mm: tuple[float, float]
    seed: int
    box: Box


def cut_pane(
    pane: str, glass_id: str, finish: str, *, area: Regions, glass: Region, seed: int
) -> Cut:
    """Choose the piece by the seed and the pane's id, and by nothing else."""
    turn, across, down, upright = _dice(seed, pane)
    rings = corners(area)
    box = Box.around(chain.from_iterable([region.outer for region in area]))
    px = sheet_px(hypot(box.width, box.height))
    side = px / PX_PER_MM
    level = 90.0 if finish in ("streaky", "antique") and upright < 0.5 else 0.0
    reach = _TURNED.get(finish, 180.0)
    return Cut(
        pane=pane,
        glass_id=glass_id,
        finish=finish,
        area=rings,
        glass=rings if area == (glass,) else corners((glass,)),
        sheet_px=px,
        turn_deg=level + (2.0 * turn - 1.0) * reach,
        at_mm=(across * side, down * side),
        seed=seed,
        box=box,
    )


def _dice(seed: int, pane: str) -> tuple[float, ...]:
    """Four numbers from 0 to 1, the same for the same seed and pane on every machine.

    A digest of a name takes a twentieth of the time of a generator of its own.
    """
    digest = blake2b(f"{seed} {pane}".encode(), digest_size=16).digest()
    return tuple([number / 2.0**32 for number in struct.unpack("<4I", digest)])


class Patch(Struct, frozen=True, kw_only=True):
    """Where a pane lies in a picture: first column and row, and its levels and masks.

    filled : 255 where its ink goes; levels outside it mean nothing
    """

    left: int
    top: int
    levels: Levels
    filled: Levels


def corners(regions: Regions) -> tuple[Corners, ...]:
    """The corners of every ring, mm, (n, 2) each."""
    return tuple([np.array(ring) for region in regions for ring in region.rings])


def patch_of(cut: Cut, corner: tuple[float, float], px_per_mm: float) -> Patch:
    """The pane's levels at a scale.

    corner : panel mm of the picture's top left
    """
    cv2 = opencv()
    box = cut.box
    left = floor((box.left - corner[0]) * px_per_mm)
    top = floor((box.top - corner[1]) * px_per_mm)
    right = ceil((box.right - corner[0]) * px_per_mm)
    bottom = ceil((box.bottom - corner[1]) * px_per_mm)
    size = (max(1, right - left), max(1, bottom - top))
    origin = (corner[0] + left / px_per_mm, corner[1] + top / px_per_mm)
    sheet = sheet_of(cut.finish, seed=cut.seed, size_px=cut.sheet_px)
    under = np.array(sheet_under(cut, origin, px_per_mm))
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    levels = cv2.warpAffine(sheet, under, size, flags=flags, borderMode=cv2.BORDER_WRAP)
    filled = _mask(cut.area, origin, px_per_mm, size)
    return Patch(left=left, top=top, levels=levels, filled=filled)


def sheet_under(
    cut: Cut, origin: tuple[float, float], px_per_mm: float
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The map from pixels of a picture to those of the sheet that lies under the pane.

    origin : panel mm of the picture's top left
    """
    step = PX_PER_MM / px_per_mm
    c, s = cos(radians(cut.turn_deg)) * step, sin(radians(cut.turn_deg)) * step
    x0, y0 = cut.box.centre
    u, v = (origin[0] - x0) * px_per_mm + 0.5, (origin[1] - y0) * px_per_mm + 0.5
    return (
        (c, s, c * u + s * v + cut.at_mm[0] * PX_PER_MM - 0.5),
        (-s, c, -s * u + c * v + cut.at_mm[1] * PX_PER_MM - 0.5),
    )


def ring_px(ring: Corners, origin: tuple[float, float], px_per_mm: float) -> NDArray[np.int32]:
    """Corners in sixteenths of a pixel, as OpenCV fills them."""
    return np.rint((ring - origin) * (px_per_mm * 16.0) - 8.0).astype(np.int32)


def _mask(
    rings: Sequence[Corners], origin: tuple[float, float], px_per_mm: float, size: tuple[int, int]
) -> Levels:
    mask = np.zeros((size[1], size[0]), np.uint8)
    placed = [ring_px(ring, origin, px_per_mm) for ring in rings]
    opencv().fillPoly(mask, placed, 255, lineType=8, shift=4)
    return mask


def matting_of(cut: Cut, patch: Patch, px_per_mm: float, *, stipple: float) -> Levels:
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


def shading_of(
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
    origin = (corner[0] + patch.left / px_per_mm, corner[1] + patch.top / px_per_mm)
    paint = np.zeros((rows, columns), np.float32)
    for stroke in near:
        mask = _mask(corners(stroke.area), origin, px_per_mm, (columns, rows))
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


def opencv() -> Any:
    """OpenCV, untyped: its stubs differ between versions. Loaded when first asked for."""
    import cv2

    return cv2
