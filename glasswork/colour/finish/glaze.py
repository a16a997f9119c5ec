"""Every pane cut from its sheet of glass, with its tones: ready to be drawn at any scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from difflib import get_close_matches
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from glasswork.colour.finish.counts import level_counts
from glasswork.colour.finish.cut import Cut, cut_pane
from glasswork.colour.finish.fields import sheet_of
from glasswork.colour.finish.tone import Tone, tones_of
from glasswork.colour.predict import make_stack
from glasswork.colour.table import Cache, device_cube
from glasswork.errors import GlassworkError, ProfileError, raise_all
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finish import BY_PALETTE, FinishSettings, check_finish
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Box
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.window import PaintStroke, Window

_WORKERS: Final = 2


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
