"""Previews of the panel: lit from behind in a dark room, unlit by day, and from the back.

They show the colours the separation foresees for the films, not the drawing's: what the maker
will see, glass by glass, through the frame that will be cut.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from glasswork.model.film import Separation
from glasswork.model.frame import FramePlan
from glasswork.model.sheet import Picture
from glasswork.model.window import Window
from glasswork.writers.lighting import hold_to_window, lay_in_daylight, light_up
from glasswork.writers.png import encode_png
from glasswork.writers.raster import Bytes
from glasswork.writers.scene import Scene, build_scene, camera_for, glass_colours

WIDTH_PX = 1600


def preview_lit(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    glass: Picture | None = None,
    turn_deg: float = 0.0,
) -> bytes:
    """The panel glowing in a dark room, seen from the front, as PNG.

    glass : the panes with their surfaces as they look lit, in panel mm
    turn_deg : how far the panel is turned about its upright axis, its right side away
    """
    view = View(width_px=width_px, turn_deg=turn_deg, lit=True, glass=glass)
    return _encoded(light_up, view.scene(window, separation, plan))


def preview_unlit(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    turn_deg: float = 0.0,
) -> bytes:
    """The panel by day with the light behind it off: film looks dark and dull. As PNG."""
    view = View(width_px=width_px, turn_deg=turn_deg)
    return _encoded(lay_in_daylight, view.scene(window, separation, plan))


def preview_back(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    *,
    width_px: int = WIDTH_PX,
    glass: Picture | None = None,
) -> bytes:
    """The panel from behind, mirrored, held against a window. As PNG."""
    view = View(width_px=width_px, lit=True, behind=True, glass=glass)
    return _encoded(hold_to_window, view.scene(window, separation, plan))


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """How the panel is looked at."""

    width_px: int = WIDTH_PX
    turn_deg: float = 0.0
    lit: bool = False
    behind: bool = False
    glass: Picture | None = None

    def scene(self, window: Window, separation: Separation, plan: FramePlan) -> Scene:
        camera, shape = camera_for(
            plan.outline, width_px=self.width_px, turn_deg=self.turn_deg, behind=self.behind
        )
        colours = glass_colours(separation, lit=self.lit)
        return build_scene(window, plan, colours, camera=camera, shape=shape, glass=self.glass)


def _encoded(light: Callable[[Scene], Bytes], scene: Scene) -> bytes:
    return encode_png(light(scene), px_per_mm=scene.px_per_mm)
