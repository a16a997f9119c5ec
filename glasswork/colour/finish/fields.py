"""Sheets of glass: for each finish a field of density offsets, in true millimetres.

A field is periodic (its right edge meets its left, its bottom its top), deterministic by its
seed, runs along x, and lies within -1 (lightest) to +1 (darkest) about a mean of 0. What the
words mean follows the trade's use [common practice]: cathedral is rolled and gently uneven; seedy
holds small bubbles; streaky is two colours pulled along the sheet; wispy has thin pale wisps;
hammered has round dents side by side; rippled has waves across the draw; opal is milky and
cloudy; antique is mouth-blown: fine lines (reams), a few drawn-out seeds, slow waves.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Field = NDArray[np.float32]

PX_PER_MM: Final = 10.0
SIZES_PX: Final = (512, 1024, 2048, 3072)
"""Fields are grown at this scale, in the smallest of these sizes that holds a pane."""


class Finish(Struct, frozen=True, kw_only=True):
    """A surface.

    contrast : how far a pane's own density swings, as a share of it, at offset 1
    depth : the same in density that even clear glass gets, at offset 1
    scale_mm : size of its typical feature across the draw
    """

    name: str
    contrast: float
    depth: float
    scale_mm: float
    grow: Callable[[np.random.Generator, int], Field]


def sheet_px(longest_mm: float) -> int:
    """Size of the field for panes up to this long, pixels."""
    wanted = longest_mm * PX_PER_MM
    return next((size for size in SIZES_PX if size >= wanted), SIZES_PX[-1])


@lru_cache(maxsize=40)
def sheet_of(name: str, *, seed: int, size_px: int) -> NDArray[np.uint8]:
    """A finish's field, offsets -1..1 as 0..254, (size, size); 127 is 0.

    Raises: KeyError, if there is no such finish
    """
    finish = FINISH[name]
    rng = np.random.default_rng([seed, sum(map(ord, name)), size_px])
    field = finish.grow(rng, size_px)
    out: NDArray[np.uint8] = np.rint(127.0 + 127.0 * np.clip(field, -1.0, 1.0)).astype(np.uint8)
    out.setflags(write=False)
    return out


# -- surfaces ------------------------------------------------------------------------------------


def _clear(rng: np.random.Generator, size: int) -> Field:
    del rng
    return np.zeros((size, size), np.float32)


def _cathedral(rng: np.random.Generator, size: int) -> Field:
    bumps = noise(rng, size, 2.2, 1.6) + 0.5 * noise(rng, size, 0.7, 0.6)
    return centred(bent(rng, bumps, 5.0, 1.2), 2.6)


def _seedy(rng: np.random.Generator, size: int) -> Field:
    ground = 0.16 * noise(rng, size, 6.0, 3.0)
    seeds = bubbles(rng, size, per_cm2=16.0, radius_mm=(0.22, 0.62), drawn_out=1.5)
    return centred(ground + seeds, 1.0, spread=False)


def _streaky(rng: np.random.Generator, size: int) -> Field:
    broad = noise(rng, size, 40.0, 2.6) + 0.7 * noise(rng, size, 26.0, 1.0)
    fine = 0.22 * noise(rng, size, 18.0, 0.35)
    pulled = bent(rng, broad + fine, 17.0, 3.4)
    return centred(np.tanh(0.9 * pulled), 1.7)


def _wispy(rng: np.random.Generator, size: int) -> Field:
    strands = noise(rng, size, 20.0, 1.5) + 0.6 * noise(rng, size, 11.0, 0.7)
    raised: Field = np.power(np.maximum(strands - 0.1, 0.0), 1.3, dtype=np.float32)
    plumes = bent(rng, raised, 9.0, 3.6)
    where = 1.0 / (1.0 + np.exp(-2.6 * (bent(rng, noise(rng, size, 13.0, 5.0), 12.0, 5.0) + 0.5)))
    return centred(-plumes * where, 1.6, spread=False)


def _hammered(rng: np.random.Generator, size: int) -> Field:
    dents = dimples(rng, size, pitch_mm=2.1, jitter=0.24)
    return centred(dents + 0.12 * noise(rng, size, 0.5, 0.5), 1.9)


def _rippled(rng: np.random.Generator, size: int) -> Field:
    mm = np.arange(size, dtype=np.float32) / np.float32(PX_PER_MM)
    side = size / PX_PER_MM
    waves = max(1, round(side / 2.7))
    phase = 2.3 * noise(rng, size, 5.5, 5.5) + 1.1 * noise(rng, size, 2.0, 6.0)
    x = (2.0 * np.pi * waves / side) * mm[None, :] + phase
    crests = np.sin(x) + 0.35 * np.cos(2.0 * x)
    return centred(crests * (0.8 + 0.25 * noise(rng, size, 7.0, 7.0)), 1.7)


def _opal(rng: np.random.Generator, size: int) -> Field:
    clouds = noise(rng, size, 9.0, 7.0) + 0.55 * noise(rng, size, 3.6, 3.0)
    milk = bent(rng, clouds + 0.28 * noise(rng, size, 1.2, 1.0), 11.0, 4.5)
    return centred(milk, 2.3)


def _antique(rng: np.random.Generator, size: int) -> Field:
    reams = noise(rng, size, 34.0, 0.42) + 0.8 * noise(rng, size, 50.0, 1.1)
    lines = bent(rng, reams, 22.0, 2.2)
    waves = 0.55 * noise(rng, size, 14.0, 9.0)
    seeds = bubbles(rng, size, per_cm2=1.6, radius_mm=(0.14, 0.34), drawn_out=3.2)
    return centred(centred(lines + waves, 2.6) + 0.8 * seeds, 1.0, spread=False)


# -- tools ---------------------------------------------------------------------------------------


def noise(rng: np.random.Generator, size: int, along_mm: float, across_mm: float) -> Field:
    """Smooth periodic noise, mean 0, deviation 1; correlation lengths along x and y.

    Grown coarse, about three cells to a length, and drawn out to the field's size.
    """
    cv2 = _opencv()
    wide, high = (_cells(size, mm) for mm in (along_mm, across_mm))
    pad = 8
    coarse = rng.standard_normal((high, wide), dtype=np.float32)
    coarse = _wrapped(coarse, pad)
    sigma = (
        max(0.5, wide * along_mm * PX_PER_MM / size),
        max(0.5, high * across_mm * PX_PER_MM / size),
    )
    soft = cv2.GaussianBlur(coarse, (0, 0), min(sigma[0], 2.4), sigmaY=min(sigma[1], 2.4))
    soft = _drawn_out(soft, pad, size)
    soft -= soft.mean()
    out: Field = soft / np.float32(max(float(soft.std()), 1e-6))
    return out


def bent(rng: np.random.Generator, field: Field, scale_mm: float, reach_mm: float) -> Field:
    """The field with its lines led astray by smooth noise."""
    cv2 = _opencv()
    size = len(field)
    ramp = np.arange(size, dtype=np.float32)
    reach = np.float32(reach_mm * PX_PER_MM)
    x = ramp[None, :] + reach * noise(rng, size, scale_mm, scale_mm)
    y = ramp[:, None] + reach * noise(rng, size, scale_mm * 1.6, scale_mm)
    out: Field = cv2.remap(field, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
    return out


def bubbles(
    rng: np.random.Generator,
    size: int,
    *,
    per_cm2: float,
    radius_mm: tuple[float, float],
    drawn_out: float,
) -> Field:
    """Seeds: pale inside, with a dark rim, longer along the draw."""
    cv2 = _opencv()
    side = size / PX_PER_MM
    count = max(1, round(per_cm2 * side * side / 100.0))
    places = rng.uniform(0.0, size, (count, 2))
    radii = rng.uniform(*radius_mm, count) * PX_PER_MM
    longer = rng.uniform(1.0, drawn_out, count)
    tilt = rng.normal(0.0, 7.0, count)
    field = np.zeros((size, size), np.float32)
    for (x, y), r, long, turn in zip(places, radii, longer, tilt, strict=True):
        for dx in _images(x, r * long, size):
            for dy in _images(y, r * long, size):
                centre = (round((x + dx) * 16), round((y + dy) * 16))
                for grow, value in ((1.0, 1.0), (0.70, -0.75), (0.34, -1.0)):
                    axes = (round(r * long * grow * 16), round(r * grow * 16))
                    _ellipse(field, centre, axes, float(turn), value)
    out: Field = cv2.GaussianBlur(_wrapped(field, 8), (0, 0), 0.09 * PX_PER_MM)[8:-8, 8:-8]
    return out


def dimples(rng: np.random.Generator, size: int, *, pitch_mm: float, jitter: float) -> Field:
    """Round dents side by side: pale middles, dark seams where they meet."""
    cv2 = _opencv()
    side = size / PX_PER_MM
    columns, rows = max(2, round(side / pitch_mm)), max(2, 2 * round(side / pitch_mm / 1.732))
    x = (np.arange(columns)[None, :] + 0.5 * (np.arange(rows)[:, None] % 2)) / columns
    y = np.repeat((np.arange(rows)[:, None] + 0.5) / rows, columns, axis=1)
    x = x + rng.normal(0.0, jitter / 2.0, x.shape) / columns
    y = y + rng.normal(0.0, jitter / 2.0, y.shape) / rows
    seeds = np.full((size + 2 * 64, size + 2 * 64), 255, np.uint8)
    for dx in (-1.0, 0.0, 1.0):
        for dy in (-1.0, 0.0, 1.0):
            px = np.rint((x + dx) * size + 64).astype(int).ravel()
            py = np.rint((y + dy) * size + 64).astype(int).ravel()
            inside = (px >= 0) & (py >= 0) & (px < len(seeds)) & (py < len(seeds))
            seeds[py[inside], px[inside]] = 0
    away = cv2.distanceTransform(seeds, cv2.DIST_L2, 5)[64:-64, 64:-64] / PX_PER_MM
    dent: Field = (np.minimum(away / (0.56 * pitch_mm), 1.25) ** 2).astype(np.float32)
    return dent


def centred(field: Field, scale: float, *, spread: bool = True) -> Field:
    """Mean 0; its deviation 1 / scale, or (spread False) its values divided by the scale."""
    out: Field = field - np.float32(field.mean())
    width = float(out.std()) if spread else 1.0
    out *= np.float32(1.0 / (scale * max(width, 1e-6)))
    np.clip(out, -1.0, 1.0, out=out)
    return out


def _cells(size: int, mm: float) -> int:
    return int(max(4, min(size, round(size / (mm * PX_PER_MM) * 2.4))))


def _wrapped(field: Field, pad: int) -> Field:
    out: Field = _opencv().copyMakeBorder(field, pad, pad, pad, pad, _opencv().BORDER_WRAP)
    return out


def _drawn_out(coarse: Field, pad: int, size: int) -> Field:
    """The middle of a padded coarse field at full size."""
    cv2 = _opencv()
    rows, columns = coarse.shape[0] - 2 * pad, coarse.shape[1] - 2 * pad
    step_x, step_y = columns / size, rows / size
    matrix = np.array(
        [[step_x, 0.0, pad - 0.5 + 0.5 * step_x], [0.0, step_y, pad - 0.5 + 0.5 * step_y]]
    )
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    out: Field = cv2.warpAffine(coarse, matrix, (size, size), flags=flags)
    return out


def _images(place: float, reach: float, size: int) -> tuple[float, ...]:
    """Shifts at which a thing shows in the field, its copies across the edges included."""
    near = [0.0]
    if place < reach + 4:
        near.append(float(size))
    if place > size - reach - 4:
        near.append(-float(size))
    return tuple(near)


def _ellipse(
    field: Field, centre: tuple[int, int], axes: tuple[int, int], turn: float, value: float
) -> None:
    cv2 = _opencv()
    cv2.ellipse(field, centre, axes, turn, 0.0, 360.0, value, -1, cv2.LINE_8, 4)


def _opencv() -> Any:
    import cv2

    return cv2


FINISH: Final[dict[str, Finish]] = {
    finish.name: finish
    for finish in (
        Finish(name="clear", contrast=0.0, depth=0.0, scale_mm=0.0, grow=_clear),
        Finish(name="cathedral", contrast=0.20, depth=0.018, scale_mm=2.0, grow=_cathedral),
        Finish(name="seedy", contrast=0.30, depth=0.060, scale_mm=0.6, grow=_seedy),
        Finish(name="streaky", contrast=0.42, depth=0.050, scale_mm=4.0, grow=_streaky),
        Finish(name="wispy", contrast=0.45, depth=0.070, scale_mm=3.0, grow=_wispy),
        Finish(name="hammered", contrast=0.24, depth=0.040, scale_mm=2.1, grow=_hammered),
        Finish(name="rippled", contrast=0.30, depth=0.040, scale_mm=2.7, grow=_rippled),
        Finish(name="opal", contrast=0.22, depth=0.050, scale_mm=7.0, grow=_opal),
        Finish(name="antique", contrast=0.26, depth=0.028, scale_mm=1.0, grow=_antique),
    )
}
