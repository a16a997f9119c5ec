"""A picture of the panel by itself, without the pack: from a drawing to the bytes of a PNG."""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

from glasswork.colour.backlight import light_on_panel
from glasswork.colour.compare import compare_films
from glasswork.colour.finish.pictures import lit_picture
from glasswork.colour.table import Cache
from glasswork.errors import ProfileError
from glasswork.model.project import Project
from glasswork.model.sheet import Picture
from glasswork.panel import Kit, Panel, Watch, decide, glazing_of
from glasswork.pipeline import FINEST_LOOK, PREVIEW_PX
from glasswork.writers.preview import (
    preview_back,
    preview_films,
    preview_lit,
    preview_misaligned,
    preview_turn,
    preview_unlit,
)

ViewName = Literal["lit", "unlit", "back", "films", "misplaced", "turn"]

LEAST_PX: Final = 160
MOST_PX: Final = {"turn": 1200}
MOST_STILL_PX: Final = 6400
TURN_PX: Final = 480
STEEPEST_DEG: Final = 60.0
SWEEP_DEG: Final = 26.0


class Look(Struct, frozen=True, kw_only=True):
    """Which picture is asked for.

    view : lit in the dark; unlit in front light; from the back; films: one, two and three films
        beside the same picture doubled by hand; misplaced: the films moved as far as the
        tolerances allow; turn: an animation
    angle_deg : how far the panel is turned, its right side away; for "turn" the furthest turn
    width_px : None for 1600, and 480 for "turn"
    """

    view: ViewName = "lit"
    angle_deg: float | None = None
    width_px: int | None = None

    def __post_init__(self) -> None:
        if self.angle_deg is not None:
            if self.view == "films":
                raise ProfileError(
                    "angle", "films side by side are seen straight on", "leave --angle out"
                )
            if not abs(self.angle_deg) <= STEEPEST_DEG:
                raise ProfileError(
                    "angle",
                    f"{self.angle_deg:g}° is not between -{STEEPEST_DEG:g} and {STEEPEST_DEG:g}",
                    "0 looks straight at the panel",
                )
        most = MOST_PX.get(self.view, MOST_STILL_PX)
        if self.width_px is not None and not LEAST_PX <= self.width_px <= most:
            raise ProfileError(
                "width-px",
                f"{self.width_px} px is not between {LEAST_PX} and {most}",
                "keep within them",
            )

    @property
    def width(self) -> int:
        return self.width_px or (TURN_PX if self.view == "turn" else PREVIEW_PX)

    @property
    def angle(self) -> float:
        if self.angle_deg is None:
            return SWEEP_DEG if self.view == "turn" else 0.0
        return self.angle_deg


def show(
    drawing: bytes,
    project: Project,
    kit: Kit,
    look: Look,
    *,
    name: str,
    watch: Watch,
    photo: bytes | None = None,
    cache: Cache | None = None,
) -> tuple[bytes, Panel]:
    """One picture of the panel that a drawing becomes, and the panel.

    Arguments as for `pipeline.compose`.
    Raises: GlassworkError, if a stage refuses
    """
    panel = decide(drawing, project, kit, name=name, watch=watch, photo=photo, cache=cache)
    with watch.stage("surfaces"):
        glass = _surfaced(panel, project, kit, look, cache)
    with watch.stage("preview"):
        return _drawn(panel, kit, look, glass), panel


def _surfaced(
    panel: Panel, project: Project, kit: Kit, look: Look, cache: Cache | None
) -> Picture | None:
    """The glass with its surfaces, for the views that show them; None where it is flat."""
    if look.view not in ("lit", "back", "turn"):
        return None
    glazing = glazing_of(panel, project, kit, cache)
    if glazing.flat:
        return None
    return lit_picture(glazing, px_per_mm=min(FINEST_LOOK, look.width / panel.window.size_mm[0]))


def _drawn(panel: Panel, kit: Kit, look: Look, glass: Picture | None) -> bytes:
    window, films, plan = panel.window, panel.films, panel.plan
    width, angle = look.width, look.angle
    light = light_on_panel(panel.backlight, px_per_mm=1.0)
    match look.view:
        case "lit":
            return preview_lit(
                window, films, plan, width_px=width, glass=glass, turn_deg=angle, light=light
            )
        case "unlit":
            return preview_unlit(window, films, plan, width_px=width, turn_deg=angle)
        case "back":
            return preview_back(window, films, plan, width_px=width, glass=glass, turn_deg=angle)
        case "films":
            trials = compare_films(window, kit.palette, kit.printer, kit.light)
            return preview_films(window, trials, plan, width_px=width)
        case "misplaced":
            return preview_misaligned(
                window, films, plan, width_px=width, turn_deg=angle, light=light
            )
        case "turn":
            return preview_turn(
                window, films, plan, width_px=width, glass=glass, sweep_deg=angle, light=light
            )
