"""A drawn scene under a light: behind it in a dark room, before it by day, and from behind.

All sums are done in linear light; one table at the end turns them into sRGB with a little noise
against banding. Source: [srgb]
"""

from __future__ import annotations

import numpy as np

from glasswork.writers.raster import (
    Bytes,
    Single,
    Tint,
    blur,
    linear,
    noise_field,
    opencv,
    shrunk,
    three,
    times,
    to_srgb,
    unit,
    wide_blur,
)
from glasswork.writers.scene import Scene

NIGHT_WALL: Tint = (0.0036, 0.0042, 0.0068)
NIGHT_BOARD: Tint = (0.0058, 0.0056, 0.0062)
DAY_WALL: Tint = (0.50, 0.475, 0.435)
GILT: Tint = (0.62, 0.37, 0.105)
PEWTER: Tint = (0.105, 0.108, 0.115)
BARE_BOARD: Tint = (0.30, 0.245, 0.185)
FALL_OFF = 0.34
"""Light lost from the middle of the panel to its corners, unless a light plan says better."""

_BLOOM = ((0.45, 4, 0.080), (1.8, 8, 0.050), (7.0, 8, 0.028), (24.0, 8, 0.022))
"""Glow spilling over the frame: spread in mm, picture made so many times smaller, share."""


def light_up(scene: Scene, *, fall_off: Single | None = None) -> Bytes:
    """The panel glowing in a dark room, (rows, columns, 3) sRGB.

    fall_off : (rows, columns) light behind the panel, 1 = full; or None for a gentle one
    """
    cv2 = opencv()
    cover, wall, height = (unit(scene.near[..., k]) for k in range(3))
    glass = linear(scene.film)
    behind = _backlight(scene) if fall_off is None else fall_off
    behind = behind * unit(scene.through) * _penumbra(scene.through, scene.px_per_mm)
    glass *= three(behind * (1.0 - cover))
    glow, near_glow = _glow(glass, cover, scene.px_per_mm)
    faces = _emboss(height, scene.px_per_mm, edge=9.0)
    face = times(cv2.merge([cover * (1.0 - wall) * faces] * 3), NIGHT_BOARD)
    lit_walls = near_glow * three(cover * wall * 0.85)
    room = times(three(_night_wall(scene)), NIGHT_WALL)
    return to_srgb(glass + glow + face + lit_walls + room)


def lay_in_daylight(scene: Scene) -> Bytes:
    """The panel with the light behind it off, in front light, (rows, columns, 3) sRGB."""
    film = linear(scene.film)
    film *= three(_sheen(scene.panel.shape))
    return to_srgb(_by_day(scene, film, boards=(PEWTER, GILT)))


def hold_to_window(scene: Scene) -> Bytes:
    """The panel from behind, daylight coming through it and on to its back."""
    behind = unit(scene.through) * _penumbra(scene.through, scene.px_per_mm)
    film = linear(scene.film) * three(0.78 * _backlight(scene) * behind)
    return to_srgb(_by_day(scene, film, boards=(PEWTER, BARE_BOARD)))


# -- light ---------------------------------------------------------------------------------------


def _backlight(scene: Scene) -> Single:
    """Full in the middle, falling off towards the corners like a diffuser lit from one place."""
    rows, columns = scene.panel.shape
    x0, y0 = scene.camera.origin_px
    half = max(float(np.count_nonzero(scene.panel.any(axis=0))), 1.0) / 2.0
    tall = max(float(np.count_nonzero(scene.panel.any(axis=1))), 1.0) / 2.0
    x = (np.arange(columns, dtype=np.float32) - np.float32(x0)) / np.float32(half)
    y = (np.arange(rows, dtype=np.float32) - np.float32(y0)) / np.float32(tall)
    reach = 0.5 * (x[None, :] ** 2 + y[:, None] ** 2)
    return (1.0 - FALL_OFF * np.minimum(reach, 1.0)).astype(np.float32)


def _penumbra(through: Bytes, px_per_mm: float) -> Single:
    """The far frame keeps part of the diffuser from the glass beside it."""
    cv2 = opencv()
    small = shrunk(through, 4)
    soft = blur(small, 2.6 * px_per_mm / 4.0) / 255.0
    rows, columns = through.shape
    full: Single = cv2.resize(0.25 + 0.75 * soft, (columns, rows), interpolation=cv2.INTER_LINEAR)
    return full


def _glow(glass: Single, cover: Single, px_per_mm: float) -> tuple[Single, Single]:
    """Light spread by air and eye over everything, and the light that reaches walls."""
    cv2 = opencv()
    rows, columns = cover.shape
    quarter = shrunk(glass, 4)
    eighth = shrunk(quarter, 2)
    total = np.zeros_like(quarter)
    for spread_mm, factor, share in _BLOOM:
        source = quarter if factor == 4 else eighth
        spread = wide_blur(source, spread_mm * px_per_mm / factor)
        if factor != 4:
            spread = cv2.resize(spread, quarter.shape[1::-1], interpolation=cv2.INTER_CUBIC)
        total += np.float32(share) * spread
    reach = 1.1 * px_per_mm / 4.0
    open_share = blur(shrunk(1.0 - cover, 4), reach)
    beside = blur(quarter, reach) / (open_share + np.float32(0.08))[..., None]
    size = (columns, rows)
    return (
        cv2.resize(total, size, interpolation=cv2.INTER_LINEAR),
        cv2.resize(beside, size, interpolation=cv2.INTER_LINEAR),
    )


def _emboss(height: Single, px_per_mm: float, *, edge: float = 3.2) -> Single:
    """Faces lit faintly from the upper left: edges that look there shine, the others darken."""
    cv2 = opencv()
    soft = blur(height, 0.16 * px_per_mm)
    reach = max(1, round(0.16 * px_per_mm))
    tilt = np.zeros_like(soft)
    tilt[reach:-reach, reach:-reach] = (
        soft[2 * reach :, 2 * reach :] - soft[: -2 * reach, : -2 * reach]
    )
    grain: Single = cv2.resize(noise_field(), height.shape[::-1], interpolation=cv2.INTER_CUBIC)
    shade: Single = np.clip(0.8 + 0.45 * height + edge * tilt + grain, 0.05, 9.0)
    return shade


# -- by day --------------------------------------------------------------------------------------


def _by_day(scene: Scene, film: Single, *, boards: tuple[Tint, Tint]) -> Single:
    """Film, frame and wall under a window to the upper left."""
    cover, wall, height = (unit(scene.near[..., k]) for k in range(3))
    panel = unit(scene.panel)
    drop = scene.rise_mm * scene.px_per_mm
    shadow = _cast(cover, 0.55 * drop, 0.35 * drop)
    film *= three((1.0 - 0.62 * shadow) * (1.0 - cover))
    shine = _emboss(height, scene.px_per_mm)
    raised = np.clip((height - 0.55) * 8.0, 0.0, 1.0)
    onto_inner = 1.0 - 0.55 * _cast(raised, 0.30 * drop, 0.16 * drop) * (1.0 - raised)
    lit = cover * shine * (1.0 - 0.55 * wall) * onto_inner
    face = times(three(lit * (1.0 - raised)), boards[0]) + times(three(lit * raised), boards[1])
    ground = (1.0 - panel) * (1.0 - 0.72 * _cast(panel, 1.5 * drop, 1.1 * drop))
    room = times(three(_daylight(panel.shape) * ground), DAY_WALL)
    return film + face + room


def _cast(mask: Single, shift_px: float, blur_px: float) -> Single:
    """The shadow of a mask: moved down and to the right, and softened."""
    cv2 = opencv()
    rows, columns = mask.shape
    half = cv2.resize(mask, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    move = np.array([[1, 0, 0.72 * shift_px / 2], [0, 1, shift_px / 2]], np.float32)
    moved = cv2.warpAffine(half, move, half.shape[::-1])
    soft: Single = cv2.resize(
        blur(moved, blur_px / 2), (columns, rows), interpolation=cv2.INTER_LINEAR
    )
    return soft


def _sheen(shape: tuple[int, ...]) -> Single:
    """A window's soft reflection across glossy film."""
    x, y = _axes(shape)
    band = np.exp(-(((x * 0.8 + y - 0.62) / 0.16) ** 2)) + 0.5 * np.exp(
        -(((x * 0.8 + y - 1.02) / 0.05) ** 2)
    )
    sheen: Single = (1.0 + 0.8 * band).astype(np.float32)
    return sheen


def _daylight(shape: tuple[int, ...]) -> Single:
    x, y = _axes(shape)
    return (1.06 - 0.30 * (0.45 * x + 0.55 * y)).astype(np.float32)


def _night_wall(scene: Scene) -> Single:
    """The wall round the panel, caught by light that leaves sideways behind the frame."""
    x, y = _axes(scene.panel.shape)
    rows, columns = scene.panel.shape
    cv2 = opencv()
    small = shrunk(scene.panel, 8) / 255.0
    halo = wide_blur(small, 11.0 * scene.px_per_mm / 8.0)
    halo = cv2.resize(halo, (columns, rows), interpolation=cv2.INTER_CUBIC)
    room = 1.15 - 0.9 * ((x - 0.5) ** 2 + (y - 0.5) ** 2)
    wall: Single = (room + 5.0 * halo) * (1.0 - unit(scene.panel))
    return wall


def _axes(shape: tuple[int, ...]) -> tuple[Single, Single]:
    rows, columns = shape[:2]
    return (
        np.linspace(0, 1, columns, dtype=np.float32)[None, :],
        np.linspace(0, 1, rows, dtype=np.float32)[:, None],
    )
