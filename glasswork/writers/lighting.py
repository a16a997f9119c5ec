"""A drawn scene under a light: behind it in a dark room, before it by day, and from behind.

All sums are done in linear light. What glows and what casts shadows is gathered into small soft
fields first; then each pixel is lit with them, a band of rows at a time.
"""

from __future__ import annotations

from math import ceil

import numpy as np

from glasswork.writers.raster import (
    SMALLER,
    Bytes,
    Field,
    Single,
    Tint,
    blur,
    grain,
    in_bands,
    linear,
    moved,
    opencv,
    repeated,
    shrunk,
    spread,
    tinted,
    to_srgb,
    unit,
)
from glasswork.writers.scene import Scene

NIGHT_WALL: Tint = (0.0040, 0.0042, 0.0060)
HALO: Tint = (0.024, 0.021, 0.019)
NIGHT_BOARD: Tint = (0.0058, 0.0056, 0.0062)
DAY_WALL: Tint = (0.50, 0.475, 0.435)
GILT: Tint = (0.62, 0.37, 0.105)
PEWTER: Tint = (0.105, 0.108, 0.115)
BARE_BOARD: Tint = (0.30, 0.245, 0.185)
FALL_OFF = 0.34
"""Light lost from the middle of the panel to its corners, unless a light plan says better."""

_BLOOM = ((0.0027, 0.080), (0.011, 0.050), (0.042, 0.028), (0.144, 0.022))
"""Glow spilling over the frame: spread over the panel's longer side, share of the light."""
_HALO_SPREAD = 0.066
_PENUMBRA_MM = 2.6
_BESIDE_MM = 1.1


def light_up(scene: Scene, *, behind: Single | None = None, noise: bool = True) -> Bytes:
    """The panel glowing in a dark room, (rows, columns, 3) sRGB.

    behind : light behind the panel, 1 = full, at a quarter of the picture's size; None for one
        that falls off gently
    noise : of one step against banding; without it pictures take less room
    """
    rows, columns = scene.panel.shape
    light = _behind(scene, behind)
    glow, beside = _glow(scene, light)
    halo = Field(blur(shrunk(scene.panel), _HALO_SPREAD * _longest(scene)) / 255.0, columns)
    room = _room(scene)
    rows_taken, shown = _taken(scene)
    picture = np.empty((rows, columns, 3), np.uint8)

    def light_band(first: int, last: int) -> None:
        outside = 1.0 - unit(scene.panel[first:last])
        around = room.band(first, last) * outside, halo.band(first, last) * outside
        out = tinted([(around[0], NIGHT_WALL), (around[1], HALO)])
        out += glow.band(first, last)
        if first < rows_taken.stop and last > rows_taken.start:
            inner = out[:, shown]
            cover, wall, height = _near(scene, first, last, shown)
            inner += _glass(scene, light, cover, first, last, shown)
            inner += beside.band(first, last, shown) * spread(cover * wall * np.float32(0.85))
            face = cover * (1.0 - wall) * _emboss(scene, height, first, last, shown, edge=9.0)
            inner += tinted([(face, NIGHT_BOARD)])
        picture[first:last] = to_srgb(out, first_row=first, noise=noise)

    in_bands(rows, light_band)
    return picture


def lay_in_daylight(scene: Scene) -> Bytes:
    """The panel with the light behind it off, in front light, (rows, columns, 3) sRGB."""
    return _by_day(scene, _sheen(scene), boards=(PEWTER, GILT))


def hold_to_window(scene: Scene) -> Bytes:
    """The panel from behind, daylight coming through it and on to its back."""
    light = _behind(scene, None)
    light.small[...] *= 0.78
    return _by_day(scene, light, boards=(PEWTER, BARE_BOARD))


def _by_day(scene: Scene, light: Field, *, boards: tuple[Tint, Tint]) -> Bytes:
    """Film, frame and wall under a window to the upper left."""
    rows, columns = scene.panel.shape
    drop = scene.rise_mm * scene.px_per_mm / SMALLER
    on_film, on_inner, on_wall = _shadows(scene, drop)
    day = _daylight(scene)
    rows_taken, shown = _taken(scene)
    picture = np.empty((rows, columns, 3), np.uint8)

    def light_band(first: int, last: int) -> None:
        ground = 1.0 - unit(scene.panel[first:last])
        ground *= (1.0 - np.float32(0.72) * on_wall.band(first, last)) * day.band(first, last)
        out = tinted([(ground, DAY_WALL)])
        if first < rows_taken.stop and last > rows_taken.start:
            inner = out[:, shown]
            cover, wall, height = _near(scene, first, last, shown)
            film = linear(scene.film[first:last, shown])
            kept = 1.0 - np.float32(0.62) * on_film.band(first, last, shown)
            kept *= light.band(first, last, shown) * unit(scene.through[first:last, shown])
            film *= spread(kept * (1.0 - cover))
            inner += film
            raised = np.clip((height - 0.55) * 8.0, 0.0, 1.0)
            lit = cover * _emboss(scene, height, first, last, shown, edge=3.2) * (1.0 - 0.55 * wall)
            lit *= 1.0 - 0.55 * on_inner.band(first, last, shown) * (1.0 - raised)
            inner += tinted([(lit * (1.0 - raised), boards[0]), (lit * raised, boards[1])])
        picture[first:last] = to_srgb(out, first_row=first)

    in_bands(rows, light_band)
    return picture


# -- bands ---------------------------------------------------------------------------------------


def _taken(scene: Scene) -> tuple[slice, slice]:
    """The rows of bands and the columns that panel and frame take, with room for soft edges."""
    cv2 = opencv()
    taken = cv2.max(scene.panel, cv2.extractChannel(scene.near, 0))
    room = SMALLER * ceil(1.0 + 0.3 * scene.px_per_mm)
    spans = []
    for axis, size in ((1, taken.shape[0]), (0, taken.shape[1])):
        places = np.flatnonzero(taken.any(axis=axis))
        first, last = (int(places[0]), int(places[-1]) + 1) if len(places) else (0, 0)
        first = max(0, first // SMALLER * SMALLER - room)
        spans.append(slice(first, min(size, last + room)))
    return spans[0], spans[1]


def _glass(
    scene: Scene, light: Field, cover: Single, first: int, last: int, shown: slice
) -> Single:
    """Light that leaves the film towards the eye, past the near frame."""
    share = light.band(first, last, shown) * unit(scene.through[first:last, shown]) * (1.0 - cover)
    out = linear(scene.film[first:last, shown])
    out *= spread(share)
    return out


def _near(scene: Scene, first: int, last: int, shown: slice) -> tuple[Single, Single, Single]:
    planes = opencv().split(scene.near[first:last, shown])
    cover, wall, height = (unit(plane) for plane in planes)
    return cover, wall, height


def _emboss(
    scene: Scene, height: Single, first: int, last: int, shown: slice, *, edge: float
) -> Single:
    """Faces lit from the upper left: edges that look there shine, the others darken."""
    cv2 = opencv()
    reach = max(1, round(0.16 * scene.px_per_mm))
    pad = 4 * reach
    rows = np.clip(np.arange(first - pad, last + pad), 0, len(scene.near) - 1)
    near = np.ascontiguousarray(scene.near[rows[0] : rows[-1] + 1, shown, 2])
    below, above = int((rows == rows[0]).sum()) - 1, int((rows == rows[-1]).sum()) - 1
    near = cv2.copyMakeBorder(near, below, above, 0, 0, cv2.BORDER_REPLICATE)
    soft = blur(near, 0.16 * scene.px_per_mm)
    soft = cv2.copyMakeBorder(soft, 0, 0, reach, reach, cv2.BORDER_REPLICATE)
    low = soft[pad + reach : pad + reach + last - first, 2 * reach :]
    high = soft[pad - reach : pad - reach + last - first, : -2 * reach]
    shade: Single = cv2.subtract(low, high, dtype=cv2.CV_32F)
    shade *= np.float32(edge / 255.0)
    rough = repeated(grain(scene.panel.shape[1]), first, last - first)[:, shown]
    shade += cv2.addWeighted(height, 0.45, rough, 1.0, 0.8)
    np.clip(shade, 0.05, 9.0, out=shade)
    return shade


# -- soft fields ---------------------------------------------------------------------------------


def _behind(scene: Scene, given: Single | None) -> Field:
    """Light that reaches the film: the diffuser's, less what the far frame keeps from it."""
    soft = blur(shrunk(scene.through), _PENUMBRA_MM * scene.px_per_mm / SMALLER) / 255.0
    light = _gentle(scene) if given is None else given
    return Field((light * (0.25 + 0.75 * soft)).astype(np.float32), scene.panel.shape[1])


def _gentle(scene: Scene) -> Single:
    """Full in the middle, falling off towards the corners."""
    x, y = _axes(scene)
    x0, y0 = scene.camera.origin_px
    wide, high = _extent(scene)
    reach = 2.0 * (((x - x0) / wide) ** 2 + ((y - y0) / high) ** 2)
    return (1.0 - FALL_OFF * np.minimum(reach, 1.0)).astype(np.float32)


def _extent(scene: Scene) -> tuple[float, float]:
    """Columns and rows of the picture that the panel takes, at least one."""
    seen = scene.panel > 0
    return float(max(seen.any(axis=0).sum(), 1)), float(max(seen.any(axis=1).sum(), 1))


def _longest(scene: Scene) -> float:
    """The panel's longer side in pixels of a soft field."""
    return max(_extent(scene)) / SMALLER


def _glow(scene: Scene, light: Field) -> tuple[Field, Field]:
    """Light spread by air and eye over everything, and the light that reaches the near walls."""
    columns = scene.panel.shape[1]
    mm = scene.px_per_mm / SMALLER
    seen = 1.0 - shrunk(scene.near[..., 0]) / np.float32(255.0)
    shown = linear(np.rint(shrunk(scene.film)).astype(np.uint8))
    shown *= spread(light.small * shrunk(scene.through) / np.float32(255.0) * seen)
    total = np.zeros_like(shown)
    cv2 = opencv()
    half = cv2.resize(shown, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    wide = np.zeros_like(half)
    longest = _longest(scene)
    for reach, share in _BLOOM:
        sigma = reach * longest
        if sigma > 3.0:
            wide += np.float32(share) * blur(half, sigma / 2.0)
        else:
            total += np.float32(share) * blur(shown, sigma)
    total += cv2.resize(wide, shown.shape[1::-1], interpolation=cv2.INTER_CUBIC)
    around = blur(seen, _BESIDE_MM * mm)[..., None] + np.float32(0.08)
    return Field(total, columns), Field(blur(shown, _BESIDE_MM * mm) / around, columns)


def _shadows(scene: Scene, drop: float) -> tuple[Field, Field, Field]:
    """Cast by the near frame on the film, by its raised layer on the inner, by all on the wall.

    drop : height of the near frame in pixels of a small field
    """
    columns = scene.panel.shape[1]
    cover = shrunk(scene.near[..., 0]) / np.float32(255.0)
    raised = np.clip((shrunk(scene.near[..., 2]) / np.float32(255.0) - 0.55) * 8.0, 0.0, 1.0)
    panel = shrunk(scene.panel) / np.float32(255.0)
    cast = ((cover, 0.55, 0.35), (raised, 0.30, 0.16), (panel, 1.5, 1.1))
    on_film, on_inner, on_wall = (
        Field(blur(moved(mask, 0.72 * far * drop, far * drop), soft * drop), columns)
        for mask, far, soft in cast
    )
    return on_film, on_inner, on_wall


def _sheen(scene: Scene) -> Field:
    """A window's soft reflection across glossy film."""
    x, y = _shares(scene)
    wide = np.exp(-(((x * 0.8 + y - 0.62) / 0.16) ** 2))
    narrow = np.exp(-(((x * 0.8 + y - 1.02) / 0.05) ** 2))
    return Field((1.0 + 0.8 * wide + 0.4 * narrow).astype(np.float32), scene.panel.shape[1])


def _daylight(scene: Scene) -> Field:
    x, y = _shares(scene)
    return Field((1.06 - 0.30 * (0.45 * x + 0.55 * y)).astype(np.float32), scene.panel.shape[1])


def _room(scene: Scene) -> Field:
    x, y = _shares(scene)
    dim = 1.15 - 0.9 * ((x - 0.5) ** 2 + (y - 0.5) ** 2)
    return Field(dim.astype(np.float32), scene.panel.shape[1])


def _axes(scene: Scene) -> tuple[Single, Single]:
    """Middles of the small field's pixels, in pixels of the picture."""
    rows, columns = (-(-size // SMALLER) for size in scene.panel.shape)
    x: Single = (np.arange(columns, dtype=np.float32) + np.float32(0.5)) * np.float32(SMALLER)
    y: Single = (np.arange(rows, dtype=np.float32) + np.float32(0.5)) * np.float32(SMALLER)
    return x[None, :], y[:, None]


def _shares(scene: Scene) -> tuple[Single, Single]:
    x, y = _axes(scene)
    rows, columns = scene.panel.shape
    return x / np.float32(columns), y / np.float32(rows)
