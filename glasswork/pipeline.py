"""The whole job, a line per stage, in the order the data flows.

    drawing → window → glass → films → frame → sheets → files → checked

Nothing here opens a file or reads a clock: bytes come in, a `Pack` of bytes goes out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from glasswork.colour.backlight import light_on_panel, plan_backlight
from glasswork.colour.by_hand import by_hand_delta_e00
from glasswork.colour.finish.panes import pane_pictures
from glasswork.colour.finish.pictures import Glazing, glaze, lit_picture
from glasswork.colour.glazing import choose_glass
from glasswork.colour.light import describe_light
from glasswork.colour.separate import glass_areas, separate
from glasswork.colour.table import Cache
from glasswork.drawing.make import make_window
from glasswork.drawing.member_roles import follow_members, with_member_roles
from glasswork.drawing.neighbours import colour_groups
from glasswork.drawing.opening import opening_region
from glasswork.drawing.pane_ids import follow_map
from glasswork.drawing.underlay import colour_from_picture
from glasswork.errors import PackError, ReadError, raise_all
from glasswork.framing.files import layer_drawings, sheet_drawings, trim_drawings
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
from glasswork.model.report import REPORT_FILE, CheckReport, Report
from glasswork.model.sheet import FilmPage, FilmPicture, Page, PageSize
from glasswork.model.window import LineArt, Role, Scan, Sizing, Window
from glasswork.readers.design import read_design
from glasswork.readers.project import sizing_of
from glasswork.readers.scan import read_scan
from glasswork.sheets.films import divide, film_pages, joint_findings
from glasswork.sheets.guide import GuideFacts, guide_pages
from glasswork.sheets.template import template_pages
from glasswork.sheets.tiles import Division
from glasswork.verify import RenderedFilms, render_films, verify_pack
from glasswork.writers.pack import (
    Cuts,
    cut_files,
    paper_files,
    preview_files,
    project_files,
)
from glasswork.writers.report import Composition, build_report, with_checks, write_report

PREVIEW_PX = 1600
FINEST_LOOK = 12.0
"""Pixels a millimetre at which glass that is not flat is shown at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """Everything a project names, read and ready.

    lights : others that could be used
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
    boards: Mapping[Level, Board] = field(default_factory=dict)
    opening: LineArt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """The folder of results: relative path → bytes, and the report that tells of them."""

    files: Mapping[str, bytes]
    report: Report
    findings: tuple[Finding, ...]


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """The panel decided: what is glazed, printed and cut, before anything is laid out."""

    window: Window
    films: Separation
    plan: FramePlan
    backlight: Backlight
    findings: tuple[Finding, ...]


def compose(
    drawing: bytes,
    project: Project,
    kit: Kit,
    *,
    name: str,
    watch: Watch,
    created: str,
    photo: bytes | None = None,
    cache: Cache | None = None,
) -> Pack:
    """A drawing becomes a pack.

    drawing : the bytes of an SVG, PNG or JPEG
    name : the drawing's file name, told in faults and files
    created : ISO 8601 date written into the files
    photo : the bytes of a picture laid under the drawing, to take the glass colours from
    cache : where computed tables are kept between runs
    Raises: GlassworkError, if a stage refuses; a pack is whole or not there
    """
    panel = decide(drawing, project, kit, name=name, watch=watch, photo=photo)
    with watch.stage("sheets"):
        division = divide(panel.plan, kit.page, printer=kit.printer)
    panel = replace(panel, findings=(*panel.findings, *joint_findings(division, kit.page)))
    files, made, shown = _drawn_up(
        panel, project, kit, name=name, watch=watch, created=created, cache=cache, division=division
    )
    with watch.stage("verify"):
        report = build_report(made, files=files, timings_s=watch.seconds)
        checks = verify_pack({**files, REPORT_FILE: write_report(report)}, films=shown)
        _must_hold(checks)
    report = with_checks(report, checks, timings_s=watch.seconds)
    return Pack(
        files={**files, REPORT_FILE: write_report(report)}, report=report, findings=panel.findings
    )


def _drawn_up(
    panel: Panel,
    project: Project,
    kit: Kit,
    *,
    name: str,
    watch: Watch,
    created: str,
    cache: Cache | None,
    division: Division | None,
) -> tuple[dict[str, bytes], Composition, Future[RenderedFilms]]:
    """The files but for the report, what the report tells, and the films as another program shows
    them; pixels and pages are let go."""
    label = name.rsplit(".", 1)[0]
    with watch.stage("surfaces"):
        glazing = glazing_of(panel, project, kit, cache)
        pictures = pane_pictures(glazing)
        scale = min(FINEST_LOOK, PREVIEW_PX / panel.window.size_mm[0])
        look = None if glazing.flat else lit_picture(glazing, px_per_mm=scale)
    with ThreadPoolExecutor(2) as aside:
        previews = aside.submit(
            preview_files,
            panel.window,
            panel.films,
            panel.plan,
            look,
            light=light_on_panel(panel.backlight, px_per_mm=1.0),
        )
        with watch.stage("sheets"):
            pages, places = _film_pages(
                panel, project, kit, pictures=pictures, label=label, division=division
            )
        with watch.stage("files"):
            files = paper_files({"films": pages}, name=label, created=created)
            del pages, pictures
            shown = aside.submit(render_films, files["films.pdf"])
            files |= cut_files(_cuts(panel, kit, division)) | project_files(project)
        with watch.stage("guide"):
            papers = _papers(panel, project, kit, label=label, division=division)
            files |= paper_files(papers, name=label, created=created)
        with watch.stage("previews"):
            files |= previews.result()
    made = _told(panel, kit, name=name, places=places, finishes=glazing.finishes)
    return files, made, shown


def decide(
    drawing: bytes,
    project: Project,
    kit: Kit,
    *,
    name: str,
    watch: Watch,
    photo: bytes | None = None,
) -> Panel:
    """Everything up to the sheets: window, glass, films, frame, light.

    Raises: GlassworkError, if a stage refuses
    """
    with watch.stage("drawing"):
        art = read_design(drawing, name=name)
    with watch.stage("window"):
        window, hole, drawn = sized_window(art, project, kit)
    with watch.stage("glass"):
        if photo is not None:
            window = _coloured(window, photo, project.photo)
        window, glazed = choose_glass(
            window,
            kit.palette,
            chosen=_followed(window, project.glass),
            groups=colour_groups(window),
        )
    with watch.stage("films"):
        films, reached = separate(
            window,
            kit.palette,
            kit.printer,
            kit.light,
            films=project.films,
            films_differ=project.films_differ,
            lights=kit.lights,
        )
    with watch.stage("frame"):
        plan, framed = framed_window(window, project, kit, films=films.count, opening=hole)
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
        findings=(*drawn, *glazed, *reached, *framed),
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
    )


def _coloured(window: Window, photo: bytes, name: str) -> Window:
    """Raises: ReadError, if the photo is no colour picture"""
    rgb = read_scan(photo, name=name).rgb
    if rgb is None:
        raise ReadError(name, "the picture has no colours", "give a colour photo or painting")
    return colour_from_picture(window, rgb)


def _followed(window: Window, chosen: Mapping[str, str]) -> Mapping[str, str]:
    """The pane map with today's ids; what no pane lies near keeps its key and is refused later."""
    names = [pane.id for pane in window.panes]
    places = [pane.seed_point for pane in window.panes]
    found, lost = follow_map(names, places, window.box, chosen)
    return found | {key: chosen[key] for key in lost}


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


def _film_pages(
    panel: Panel,
    project: Project,
    kit: Kit,
    *,
    pictures: Sequence[FilmPicture],
    label: str,
    division: Division | None,
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    return film_pages(
        panel.window,
        panel.films,
        panel.plan,
        kit.page,
        printer=kit.printer,
        design_label=label,
        ink_faces=project.ink_faces,
        pictures=pictures,
        copies=project.copies,
        together=project.copies > 1,
        division=division,
    )


def _papers(
    panel: Panel, project: Project, kit: Kit, *, label: str, division: Division | None
) -> dict[str, tuple[Page, ...]]:
    """The pages of the template and of the guide."""
    facts = GuideFacts(
        window=panel.window,
        palette=kit.palette,
        separation=panel.films,
        plan=panel.plan,
        light=kit.light,
        board=kit.board,
        other_boards=tuple(kit.boards.values()),
        cutter=kit.cutter,
        printer=kit.printer,
        findings=panel.findings,
        ink_faces=project.ink_faces,
        backlight=panel.backlight,
        division=division,
    )
    return {
        "template": template_pages(panel.plan, kit.page, design_label=label),
        "guide": guide_pages(facts, kit.page),
    }


def _cuts(panel: Panel, kit: Kit, division: Division | None) -> Cuts:
    return Cuts(
        layers=layer_drawings(panel.plan, kit.cutter),
        sheets=sheet_drawings(panel.plan, kit.cutter),
        trims=trim_drawings(panel.plan, [tile.trim for tile in division.tiles] if division else ()),
    )


def _told(
    panel: Panel,
    kit: Kit,
    *,
    name: str,
    places: tuple[FilmPage, ...],
    finishes: Mapping[str, str],
) -> Composition:
    cct_k, xy = describe_light(kit.light)
    return Composition(
        design=name,
        window=panel.window,
        separation=panel.films,
        plan=panel.plan,
        film_pages=places,
        page=kit.page,
        cutter=kit.cutter,
        light=kit.light,
        backlight=panel.backlight,
        light_cct_k=cct_k,
        light_xy=xy,
        by_hand=by_hand_delta_e00(panel.window, kit.palette, kit.printer, kit.light),
        finishes=finishes,
        findings=panel.findings,
    )


def _must_hold(checks: Sequence[CheckReport]) -> None:
    """Raises: Faults, if the pack is not what its report promises"""
    raise_all(
        PackError(
            check.check,
            f"measured {check.measured}, promised {check.promised}, limit {check.limit}",
            "this is a fault of Glasswork: please report it with the drawing",
        )
        for check in checks
        if not check.ok
    )
