"""One picture a film, every pane cut from its own sheet of glass; and the same as seen lit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from difflib import get_close_matches
from math import ceil
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.colour.finish.counts import level_counts
from glasswork.colour.finish.cut import (
    Cut,
    Patch,
    cut_pane,
    matting_of,
    opencv,
    patch_of,
    shading_of,
)
from glasswork.colour.finish.fields import sheet_of
from glasswork.colour.finish.tone import MATT_DARKEST, Tone, tones_of
from glasswork.colour.predict import make_stack
from glasswork.colour.table import Cache, device_cube
from glasswork.errors import GlassworkError, ProfileError, raise_all
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finish import BY_PALETTE, FinishSettings, check_finish
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Box
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.sheet import Picture
from glasswork.model.window import PaintStroke, Window
from glasswork.units import mm_to_px

Pixels = NDArray[np.uint8]

_WORKERS: Final = 2
_AT_ONCE: Final = 8
_SMALL_PX: Final = 30_000
"""Pixels of a pane from which two threads draw faster than one."""


class Glazing(Struct, frozen=True, kw_only=True):
    """Every pane's piece of glass and its tones, ready to be drawn at any scale.

    shades : painted over the glass, not opaque
    """

    cuts: tuple[Cut, ...]
    tones: tuple[Tone, ...]
    box: Box
    films: int
    identical: bool
    settings: FinishSettings
    shades: tuple[PaintStroke, ...] = ()

    @property
    def flat(self) -> bool:
        """No pane has a surface, and nothing is matted or shaded."""
        plain = all(cut.finish == "clear" for cut in self.cuts)
        return plain and self.settings.matting <= 0.0 and not self.shades

    @property
    def finishes(self) -> dict[str, str]:
        """Pane id to its finish, "clear" where it is printed flat; shading is named beside it."""
        shaded = self.settings.matting > 0.0 or bool(self.shades)
        return {cut.pane: f"{cut.finish}, shaded" if shaded else cut.finish for cut in self.cuts}


def glaze(
    window: Window,
    palette: Palette,
    separation: Separation,
    plan: FramePlan,
    *,
    profile: PrinterProfile,
    light: Light,
    settings: FinishSettings,
    surfaces: Mapping[str, str] | None = None,
    cache: Cache | None = None,
) -> Glazing:
    """Cut every pane from a sheet of its finish and find its tones.

    surfaces : pane id -> finish, for panes that have one of their own
    cache : where the cube of device values is kept between runs
    Raises: ProfileError, if the palette or a pane names a finish that there is not, or there is
        no such pane
    """
    names = finishes_of(palette, settings)
    own = checked_surfaces(window, surfaces or {})
    limits = dict(plan.glass_limit)
    cuts = tuple(
        cut_pane(
            pane.id,
            pane.glass,
            own.get(pane.id, names[pane.glass]),
            area=limits.get(pane.id) or (pane.region,),
            glass=pane.region,
            seed=settings.seed,
        )
        for pane in window.panes
        if pane.glass is not None
    )
    glazing = glaze_cuts(
        cuts, separation, profile=profile, light=light, settings=settings, cache=cache
    )
    shades = tuple(stroke for stroke in window.paint if stroke.tone < 1.0)
    return replace(glazing, shades=shades)


def glaze_cuts(
    cuts: Sequence[Cut],
    separation: Separation,
    *,
    profile: PrinterProfile,
    light: Light,
    settings: FinishSettings,
    cache: Cache | None = None,
) -> Glazing:
    """Find the tones of pieces already cut; at least one."""
    printed = {glass.glass: glass for glass in separation.glasses}
    sheets = dict.fromkeys((cut.finish, cut.seed, cut.sheet_px) for cut in cuts)
    with ThreadPoolExecutor(_WORKERS) as pool:
        list(pool.map(lambda sheet: sheet_of(sheet[0], seed=sheet[1], size_px=sheet[2]), sheets))
    tones = tones_of(
        [printed[cut.glass_id] for cut in cuts],
        [cut.finish for cut in cuts],
        level_counts(cuts),
        model=make_stack(profile, light, separation.count, unlike=not separation.identical),
        cube=device_cube(profile, light, separation.count, cache=cache),
        strength=settings.strength,
    )
    corners = [corner for cut in cuts for corner in (cut.box[:2], cut.box[2:])]
    return Glazing(
        cuts=tuple(cuts),
        tones=tones,
        box=Box.around(corners),
        films=separation.count,
        identical=separation.identical,
        settings=settings,
    )


def checked_surfaces(window: Window, surfaces: Mapping[str, str]) -> Mapping[str, str]:
    """The finishes of single panes, if each is one and has its pane.

    Raises: ProfileError, or Faults where several are wrong
    """
    known = {pane.id for pane in window.panes}
    faults: list[GlassworkError] = []
    for pane, finish in surfaces.items():
        if pane not in known:
            near = get_close_matches(pane, known, n=3)
            hint = f"near names: {', '.join(near)}" if near else "inspect shows the names"
            faults.append(ProfileError(f"surfaces, {pane}", "the window has no such pane", hint))
        try:
            check_finish(finish, where=f"surfaces, {pane}")
        except ProfileError as fault:
            faults.append(fault)
    raise_all(faults)
    return surfaces


def finishes_of(palette: Palette, settings: FinishSettings) -> Mapping[str, str]:
    """Glass id -> finish."""
    if settings.finish != BY_PALETTE:
        return {glass.id: settings.finish for glass in palette.glasses}
    return {
        glass.id: check_finish(glass.finish, where=f"{palette.name}, glass {glass.id}, finish")
        for glass in palette.glasses
    }


def film_pictures(glazing: Glazing) -> tuple[Picture, ...]:
    """One picture a film in panel mm seen from the front, 8-bit device RGB; () if all is flat.

    Identical films share one array of pixels. Outside the glass the pictures are white.
    """
    if glazing.flat:
        return ()
    px_per_mm = mm_to_px(1.0, dpi=glazing.settings.dpi)
    count = 1 if glazing.identical else glazing.films
    pictures = _pictures(glazing, px_per_mm, [_printed(film) for film in range(count)])
    return pictures * glazing.films if glazing.identical else pictures


def lit_picture(glazing: Glazing, *, px_per_mm: float) -> Picture:
    """The glass as it will look lit, sRGB, white outside the glass; the frame is not in it."""
    return _pictures(glazing, px_per_mm, [_seen])[0]


# -- drawing -------------------------------------------------------------------------------------

Colour = Callable[[Tone], tuple[Pixels, Pixels]]
"""A pane's (256, 3) colours by level, and what matting of 0-255 multiplies them by, of 255."""


def _printed(film: int) -> Colour:
    dimmed = np.rint(255.0 * (1.0 - MATT_DARKEST * np.arange(256) / 255.0)).astype(np.uint8)
    return lambda tone: (tone.device[film], dimmed)


def _seen(tone: Tone) -> tuple[Pixels, Pixels]:
    return tone.lit, tone.matt_lit


def _pictures(glazing: Glazing, px_per_mm: float, colours: Sequence[Colour]) -> tuple[Picture, ...]:
    """A picture for each way of colouring; the panes' levels serve them all."""
    left, top, _, _ = box = glazing.box
    columns, rows = ceil(box.width * px_per_mm), ceil(box.height * px_per_mm)
    wholes = [np.full((rows, columns, 3), 255, np.uint8) for _ in colours]
    for patch, painted in _painted(glazing, px_per_mm, colours):
        for whole, pixels in zip(wholes, painted, strict=True):
            _lay(whole, patch, pixels)
    taken = Box(left, top, left + columns / px_per_mm, top + rows / px_per_mm)
    return tuple(Picture(box=taken, pixels=whole) for whole in wholes)


def _painted(
    glazing: Glazing, px_per_mm: float, colours: Sequence[Colour]
) -> Iterator[tuple[Patch, list[Pixels]]]:
    """Panes in their order, each coloured in all the ways."""
    corner = (glazing.box.left, glazing.box.top)

    def paint(pair: tuple[Cut, Tone]) -> tuple[Patch, list[Pixels]]:
        cut, tone = pair
        patch = patch_of(cut, corner, px_per_mm)
        work = _paint_work(glazing, cut, patch, corner, px_per_mm)
        painted = []
        for table, dimmed in (colour(tone) for colour in colours):
            pixels = _coloured(patch.levels, table)
            painted.append(pixels if work is None else _dimmed(pixels, work, dimmed))
        return patch, painted

    def paint_some(start: int) -> list[tuple[Patch, list[Pixels]]]:
        some = slice(start, start + _AT_ONCE)
        return [paint(pair) for pair in zip(glazing.cuts[some], glazing.tones[some], strict=True)]

    starts = range(0, len(glazing.cuts), _AT_ONCE)
    if small_panes(glazing, px_per_mm):
        for start in starts:
            yield from paint_some(start)
        return
    with ThreadPoolExecutor(_WORKERS) as pool:
        for painted in pool.map(paint_some, starts):
            yield from painted


def small_panes(glazing: Glazing, px_per_mm: float) -> bool:
    """Two threads that draw panes so small wait for each other longer than they draw."""
    whole = glazing.box.width * glazing.box.height * px_per_mm**2
    return whole < _SMALL_PX * len(glazing.cuts)


def _paint_work(
    glazing: Glazing, cut: Cut, patch: Patch, corner: tuple[float, float], px_per_mm: float
) -> Pixels | None:
    """Matting and painted shades over a pane, 0-255, the heavier of both; None if neither is."""
    settings = glazing.settings
    work = shading_of(cut, patch, glazing.shades, corner, px_per_mm, stipple=settings.stipple)
    if settings.matting <= 0.0:
        return work
    matting = matting_of(cut, patch, px_per_mm, stipple=settings.stipple)
    made: Pixels = np.rint(matting * np.float32(settings.matting)).astype(np.uint8)
    return made if work is None else np.asarray(np.maximum(made, work))


def _coloured(levels: Pixels, colours: Pixels) -> Pixels:
    """Levels through a (256, 3) table."""
    out: Pixels = opencv().applyColorMap(levels, np.ascontiguousarray(colours[:, None, :]))
    return out


def _dimmed(pixels: Pixels, paint: Pixels, dimmed: Pixels) -> Pixels:
    cv2 = opencv()
    factor = cv2.LUT(paint, dimmed)
    out: Pixels = cv2.multiply(pixels, cv2.merge([factor] * 3), scale=1.0 / 255.0)
    return out


def _lay(pixels: Pixels, patch: Patch, painted: Pixels) -> None:
    """Copy a pane into the picture, cut to what lies inside."""
    top, left = max(patch.top, 0), max(patch.left, 0)
    rows, columns = patch.levels.shape
    bottom = min(patch.top + rows, pixels.shape[0])
    right = min(patch.left + columns, pixels.shape[1])
    if top >= bottom or left >= right:
        return
    inner = (
        slice(top - patch.top, bottom - patch.top),
        slice(left - patch.left, right - patch.left),
    )
    place = pixels[top:bottom, left:right]
    mask = np.ascontiguousarray(patch.filled[inner])
    opencv().copyTo(np.ascontiguousarray(painted[inner]), mask, place)
