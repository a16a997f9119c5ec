"""Previews of the panel: lit from behind in a dark room, unlit by day, and from the back.

They show the colours the separation foresees for the films, not the drawing's: what the maker
will see, glass by glass, through the frame that will be cut. All return the bytes of a PNG.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, pi, sin
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.model.film import Separation
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Point
from glasswork.model.sheet import Picture
from glasswork.model.window import Window
from glasswork.writers.lighting import hold_to_window, lay_in_daylight, light_up
from glasswork.writers.png import encode_apng, encode_png
from glasswork.writers.raster import Bytes
from glasswork.writers.scene import Film, Scene, build_scene, camera_for
from glasswork.writers.seen import awry_film, flat_film, surfaced_film

WIDTH_PX = 1600


class View(Struct, frozen=True, kw_only=True):
    """How the panel is looked at.

    turn_deg : how far it is turned about its upright axis, its right side away
    """

    width_px: int = WIDTH_PX
    turn_deg: float = 0.0
    behind: bool = False

    def scene(self, plan: FramePlan, film: Film) -> Scene:
        camera, shape = camera_for(
            plan.outline, width_px=self.width_px, turn_deg=self.turn_deg, behind=self.behind
        )
        return build_scene(plan, film, camera=camera, shape=shape)


def preview_lit(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    glass: Picture | None = None,
    turn_deg: float = 0.0,
    light: NDArray[np.float32] | None = None,
) -> bytes:
    """The panel glowing in a dark room, seen from the front.

    glass : the panes with their surfaces as they look lit, in panel mm
    turn_deg : how far the panel is turned about its upright axis, its right side away
    light : on the diffuser, (rows, columns) over the panel's box, 1 = most; None for light that
        falls off gently
    """
    film = _film(window, separation, plan, glass)
    scene = View(width_px=width_px, turn_deg=turn_deg).scene(plan, film)
    return _encoded(light_up(scene, behind=_diffuser(light, scene, plan)), scene)


def preview_unlit(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    turn_deg: float = 0.0,
) -> bytes:
    """The panel by day with the light behind it off: film looks dark and dull."""
    film = flat_film(window, separation, plan, lit=False)
    scene = View(width_px=width_px, turn_deg=turn_deg).scene(plan, film)
    return _encoded(lay_in_daylight(scene), scene)


def preview_front(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    glass: Picture | None = None,
    light: NDArray[np.float32] | None = None,
) -> tuple[bytes, bytes]:
    """What `preview_lit` and `preview_unlit` give, the frame drawn once for both."""
    scene = View(width_px=width_px).scene(plan, _film(window, separation, plan, glass))
    lit = _encoded(light_up(scene, behind=_diffuser(light, scene, plan)), scene)
    film = flat_film(window, separation, plan, lit=False)
    rows, columns = scene.panel.shape
    scene = replace(scene, film=film(scene.camera, (rows, columns)))
    return lit, _encoded(lay_in_daylight(scene), scene)


def preview_back(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    glass: Picture | None = None,
    turn_deg: float = 0.0,
) -> bytes:
    """The panel from behind, mirrored, held against a window."""
    film = _film(window, separation, plan, glass)
    scene = View(width_px=width_px, turn_deg=turn_deg, behind=True).scene(plan, film)
    return _encoded(hold_to_window(scene), scene)


def preview_misaligned(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    off_mm: float | None = None,
    turn_deg: float = 0.0,
    light: NDArray[np.float32] | None = None,
) -> bytes:
    """The panel with its films moved as far as the tolerances allow, each another way.

    off_mm : how far; None for the worst case of the plan's tolerance budget
    """
    reach = plan.registration.worst_case_mm if off_mm is None else off_mm
    film = awry_film(window, separation, plan, shifts_mm=spread_shifts(separation.count, reach))
    scene = View(width_px=width_px, turn_deg=turn_deg).scene(plan, film)
    return _encoded(light_up(scene, behind=_diffuser(light, scene, plan)), scene)


def preview_films(
    window: Window,
    trials: Sequence[tuple[str, Separation]],
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
) -> bytes:
    """The window lit as each separation would have it, side by side, three in a row.

    trials : caption and separation; at least one
    """
    columns = min(3, len(trials))
    view = View(width_px=width_px // columns)
    tiles = [
        (caption, light_up(view.scene(plan, flat_film(window, separation, plan, lit=True))))
        for caption, separation in trials
    ]
    return encode_png(_side_by_side(tiles, columns))


def preview_tiles(tiles: Sequence[tuple[str, Bytes]], *, columns: int = 3) -> bytes:
    """Pictures of one size with their captions, such as a contact sheet of finishes.

    tiles : caption and (rows, columns, 3) sRGB; at least one
    """
    return encode_png(_side_by_side(tiles, min(columns, len(tiles))))


def preview_turn(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = 480,
    glass: Picture | None = None,
    sweep_deg: float = 26.0,
    frames: int = 20,
    frame_ms: int = 80,
    light: NDArray[np.float32] | None = None,
) -> bytes:
    """The lit panel turning to and fro without end, as an animated PNG.

    sweep_deg : furthest turn to either side
    """
    film = _film(window, separation, plan, glass)
    turns = [sweep_deg * sin(2.0 * pi * k / frames) for k in range(frames)]
    scenes = (View(width_px=width_px, turn_deg=turn).scene(plan, film) for turn in turns)
    pictures = [
        light_up(scene, behind=_diffuser(light, scene, plan), noise=False) for scene in scenes
    ]
    return encode_apng(pictures, frame_ms=frame_ms)


def spread_shifts(films: int, reach_mm: float) -> tuple[Point, ...]:
    """Moves of so many films, each by the reach, in directions as unlike as can be."""
    angles = [pi / 4.0 + 2.0 * pi * k / max(films, 2) for k in range(films)]
    return tuple((reach_mm * cos(angle), reach_mm * sin(angle)) for angle in angles)


def _film(window: Window, separation: Separation, plan: FramePlan, glass: Picture | None) -> Film:
    if glass is not None:
        return surfaced_film(glass, separation, plan)
    return flat_film(window, separation, plan, lit=True)


def _diffuser(light: NDArray[np.float32] | None, scene: Scene, plan: FramePlan) -> Any:
    """The light as the camera sees it, in the size of the soft fields."""
    from glasswork.writers.raster import SMALLER
    from glasswork.writers.scene import place

    if light is None:
        return None
    shape = (scene.panel.shape[0], scene.panel.shape[1])
    return place(light, plan.outline.box, scene.camera, shape, smaller=SMALLER)


def _encoded(picture: Bytes, scene: Scene) -> bytes:
    return encode_png(picture, px_per_mm=scene.px_per_mm)


def _side_by_side(tiles: Sequence[tuple[str, Bytes]], columns: int) -> Bytes:
    """Pictures of one size in rows, each with its caption below."""
    rows, wide = tiles[0][1].shape[:2]
    band = max(24, wide // 12)
    count = -(-len(tiles) // columns)
    whole = np.full((count * (rows + band), columns * wide, 3), 12, np.uint8)
    for number, (caption, picture) in enumerate(tiles):
        row, column = divmod(number, columns)
        top, left = row * (rows + band), column * wide
        whole[top : top + rows, left : left + wide] = picture
        _write(whole[top + rows : top + rows + band, left : left + wide], caption)
    return whole


def _write(strip: Bytes, caption: str) -> None:
    """Light letters in the middle of a dark strip."""
    from PIL import Image, ImageDraw, ImageFont

    rows, columns = strip.shape[:2]
    font: Any = ImageFont.load_default(size=max(11, round(rows * 0.46)))
    image = Image.fromarray(np.ascontiguousarray(strip))
    pen: Callable[..., Any] = ImageDraw.Draw(image).text
    pen((columns / 2, rows / 2), caption, fill=(222, 214, 198), font=font, anchor="mm")
    strip[...] = np.asarray(image)
