"""Previews of the panel: lit from behind in a dark room, unlit by day, and from the back.

They show the colours the separation foresees for the films, not the drawing's: what the maker
will see, glass by glass, through the frame that will be cut.
"""

from __future__ import annotations

from glasswork.model.film import Separation
from glasswork.model.frame import FramePlan
from glasswork.model.window import Window
from glasswork.writers.lighting import hold_to_window, lay_in_daylight, light_up
from glasswork.writers.png import encode_png
from glasswork.writers.scene import Scene, build_scene, camera_for, glass_colours

WIDTH_PX = 1600


def preview_lit(
    window: Window, separation: Separation, plan: FramePlan, *, width_px: int = WIDTH_PX
) -> bytes:
    """The panel glowing in a dark room, seen from the front, as PNG."""
    scene = _scene(window, separation, plan, width_px=width_px, lit=True)
    return encode_png(light_up(scene), px_per_mm=scene.px_per_mm)


def preview_unlit(
    window: Window, separation: Separation, plan: FramePlan, *, width_px: int = WIDTH_PX
) -> bytes:
    """The panel by day with the light behind it off: film looks dark and dull. As PNG."""
    scene = _scene(window, separation, plan, width_px=width_px, lit=False)
    return encode_png(lay_in_daylight(scene), px_per_mm=scene.px_per_mm)


def preview_back(
    window: Window, separation: Separation, plan: FramePlan, *, width_px: int = WIDTH_PX
) -> bytes:
    """The panel from behind, mirrored, held against a window. As PNG."""
    scene = _scene(window, separation, plan, width_px=width_px, lit=True, behind=True)
    return encode_png(hold_to_window(scene), px_per_mm=scene.px_per_mm)


def _scene(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int,
    lit: bool,
    behind: bool = False,
) -> Scene:
    camera, shape = camera_for(plan.outline, width_px=width_px, behind=behind)
    colours = glass_colours(separation, lit=lit)
    return build_scene(window, plan, colours, camera=camera, shape=shape)
