"""The panel decided, a stage after the other: window, glass, films, frame, light."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.colour.backlight import plan_backlight
from glasswork.colour.black import grey_leads
from glasswork.colour.finish.glaze import Glazing, glaze
from glasswork.colour.glazing import choose_glass
from glasswork.colour.separate import glass_areas, separate
from glasswork.colour.table import Cache
from glasswork.drawing.make import make_window
from glasswork.drawing.member_roles import follow_members, with_member_roles
from glasswork.drawing.neighbours import colour_groups
from glasswork.drawing.opening import opening_region
from glasswork.drawing.pane_ids import follow_map
from glasswork.drawing.underlay import colour_from_picture
from glasswork.errors import ReadError
from glasswork.framing.advice import Choices
from glasswork.framing.fit import panel_for
from glasswork.framing.plan import plan_frame
from glasswork.framing.seat import largest_width_mm, moved_onto
from glasswork.model.backlight import Backlight
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finding import Finding
from glasswork.model.finish import FinishSettings
from glasswork.model.frame import Board, Cutter, FramePlan, Level
from glasswork.model.geometry import Region
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.project import Project
from glasswork.model.sheet import PageSize
from glasswork.model.window import LineArt, Role, Scan, Sizing, Window
from glasswork.readers.design import read_design
from glasswork.readers.project import sizing_of
from glasswork.readers.scan import read_scan

_HELD_MM = 0.01
"""A border as near as this to the width that the project gives has taken it."""


class Kit(Struct, frozen=True, kw_only=True):
    """Everything a project names, read and ready.

    lights : others that could be used; other_boards : asked for them, where one is to be named
    boards : a board of its own for a level
    opening : drawing of what the panel drops into, where it is no rectangle
    """

    palette: Palette
    printer: PrinterProfile
    light: Light
    board: Board
    cutter: Cutter
    page: PageSize
    lights: tuple[Light, ...] = ()
    other_boards: Callable[[], tuple[Board, ...]] = tuple
    boards: Mapping[Level, Board] = field(default_factory=dict)
    opening: LineArt | None = None


@dataclass(slots=True)
class Watch:
    """Times the stages with the caller's clock and tells the caller which one begins.

    clock : seconds, rising
    begin : called with a stage's name; may raise to stop the work
    """

    clock: Callable[[], float]
    begin: Callable[[str], None] = lambda _stage: None
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        self.begin(name)
        started = self.clock()
        yield
        self.seconds[name] = self.seconds.get(name, 0.0) + self.clock() - started


class Panel(Struct, frozen=True, kw_only=True):
    """The panel decided: what is glazed, printed and cut, before anything is laid out."""

    window: Window
    films: Separation
    plan: FramePlan
    backlight: Backlight
    findings: tuple[Finding, ...]


def decide(
    drawing: bytes,
    project: Project,
    kit: Kit,
    *,
    name: str,
    watch: Watch,
    photo: bytes | None = None,
    cache: Cache | None = None,
) -> Panel:
    """Everything up to the sheets: window, glass, films, frame, light.

    cache : where computed tables are kept between runs
    Raises: GlassworkError, if a stage refuses
    """
    with watch.stage("drawing"):
        art = read_design(drawing, name=name, embedded=project.embedded)
    with watch.stage("window"):
        window, hole, drawn = sized_window(art, project, kit)
    with watch.stage("glass"):
        window, glazed = glazed_window(window, project, kit, photo=photo)
    with watch.stage("films"):
        films, reached = separate(
            window,
            kit.palette,
            kit.printer,
            kit.light,
            films=project.films,
            films_differ=project.films_differ,
            lights=kit.lights,
            cache=cache,
        )
    with watch.stage("frame"):
        plan, framed = framed_window(window, project, kit, films=films.count, opening=hole)
    leads = grey_leads(films, kit.printer) if plan.printed else ()
    with watch.stage("light"):
        backlight = plan_backlight(
            window.size_mm,
            films,
            glass_areas(window),
            depth_mm=project.light_depth,
            evenness=project.evenness,
            supply_v=project.supply,
        )
    return Panel(
        window=window,
        films=films,
        plan=plan,
        backlight=backlight,
        findings=(*drawn, *glazed, *reached, *leads, *framed),
    )


def sized_window(
    art: LineArt | Scan, project: Project, kit: Kit
) -> tuple[Window, Region | None, tuple[Finding, ...]]:
    """The window at its size, and the drawn opening it drops into, both in panel mm.

    Raises: DrawingError or FrameError, if there is no window or it has no place in its opening
    """

    def made(sizing: Sizing) -> tuple[Window, tuple[Finding, ...]]:
        widths = {Role(name): mm for name, mm in project.widths.items()}
        window, found = make_window(art, roles=project.roles, sizing=sizing, widths=widths)
        return with_member_roles(window, project.member_roles), found

    sizing = sizing_of(project, where="settings")
    if kit.opening is None:
        window, found = made(sizing)
        return window, None, found
    hole = opening_region(kit.opening)
    if project.width is None and project.height is None and sizing.scale == 1.0:
        first, _ = made(replace(sizing, width_mm=panel_for(hole, project.clearance).box.width))
        seated = largest_width_mm(first.outline, hole, project.clearance)
        sizing = replace(sizing, width_mm=seated)
    window, found = made(sizing)
    return window, moved_onto(window.outline, hole, project.clearance), found


def framed_window(
    window: Window, project: Project, kit: Kit, *, films: int, opening: Region | None
) -> tuple[FramePlan, tuple[Finding, ...]]:
    """The frame as the project wants it. opening : the drawn one, in panel mm

    Raises: FrameError or Faults, if it cannot be cut or does not fit
    """
    return plan_frame(
        window,
        kit.board,
        kit.cutter,
        printer=kit.printer,
        films=films,
        opening_mm=project.opening if opening is None else (opening.box.width, opening.box.height),
        clearance_mm=project.clearance,
        recess_mm=project.recess,
        members=follow_members(window, project.members),
        boards=kit.boards,
        step_mm=project.step,
        rebate_mm=project.rebate,
        opening=opening,
        jig=project.jig,
        uses={Role(name): use for name, use in project.layers.items()},
        choices=Choices(
            others=tuple if kit.boards else kit.other_boards,
            sized=project.opening is not None or opening is not None,
            grows=not _border_held(window, project),
        ),
    )


def _border_held(window: Window, project: Project) -> bool:
    """The project gives the border's width, and the drawing takes it."""
    held = project.widths.get("border")
    return held is not None and any(
        member.role is Role.BORDER and abs(member.width_mm - held) < _HELD_MM
        for member in window.members
    )


def glazing_of(panel: Panel, project: Project, kit: Kit, cache: Cache | None) -> Glazing:
    """Every pane cut from its sheet of glass."""
    settings = FinishSettings(
        finish=project.finish,
        dpi=project.dpi,
        seed=project.seed,
        matting=project.matting,
        stipple=project.stipple,
    )
    return glaze(
        panel.window,
        kit.palette,
        panel.films,
        panel.plan,
        profile=kit.printer,
        light=kit.light,
        settings=settings,
        surfaces=_followed(panel.window, project.surfaces),
        cache=cache,
    )


def glazed_window(
    window: Window, project: Project, kit: Kit, *, photo: bytes | None
) -> tuple[Window, tuple[Finding, ...]]:
    """The window with a glass in every pane: chosen, or nearest to the photo or the drawing.

    Raises: ReadError, if the photo is no colour picture; ProfileError, if a glass is unknown
    """
    if photo is not None:
        window = colour_from_picture(window, colours_of(photo, name=project.photo))
    return choose_glass(
        window,
        kit.palette,
        chosen=_followed(window, project.glass),
        groups=colour_groups(window),
    )


def colours_of(photo: bytes, *, name: str) -> NDArray[np.uint8]:
    """The pixels of a picture laid under a drawing, (rows, columns, 3) sRGB.

    Raises: ReadError, if it is no colour picture
    """
    rgb = read_scan(photo, name=name).rgb
    if rgb is None:
        raise ReadError(name, "the picture has no colours", "give a colour photo or painting")
    return rgb


def _followed(window: Window, chosen: Mapping[str, str]) -> Mapping[str, str]:
    """The pane map with today's ids; what no pane lies near keeps its key and is refused later."""
    names = [pane.id for pane in window.panes]
    places = [pane.seed_point for pane in window.panes]
    found, lost = follow_map(names, places, window.box, chosen)
    return found | {key: chosen[key] for key in lost}
