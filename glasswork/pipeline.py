"""The whole job, a line per stage, in the order the data flows.

    drawing → window → glass → films → frame → sheets → files → checked

Nothing here opens a file or reads a clock: bytes come in, a `Pack` of bytes goes out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.colour.backlight import light_on_panel
from glasswork.colour.by_hand import by_hand_delta_e00
from glasswork.colour.finish.glaze import Glazing
from glasswork.colour.finish.panes import pane_pictures
from glasswork.colour.finish.pictures import lit_picture
from glasswork.colour.light import describe_light
from glasswork.colour.table import Cache
from glasswork.errors import PackError, raise_all
from glasswork.framing.files import layer_drawings, sheet_drawings, trim_drawings
from glasswork.model.finding import Finding
from glasswork.model.project import Project
from glasswork.model.report import REPORT_FILE, CheckReport, Report
from glasswork.model.sheet import FilmPage, FilmPicture, Page
from glasswork.panel import Kit, Panel, Watch, decide, glazing_of
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
from glasswork.writers.png import RowPacker
from glasswork.writers.report import Composition, build_report, with_checks, write_report

PREVIEW_PX = 1600
FINEST_LOOK = 12.0
"""Pixels a millimetre at which glass that is not flat is shown at most."""


class Pack(Struct, frozen=True, kw_only=True):
    """The folder of results: relative path → bytes, and the report that tells of them."""

    files: Mapping[str, bytes]
    report: Report
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
    panel = decide(drawing, project, kit, name=name, watch=watch, photo=photo, cache=cache)
    with watch.stage("sheets"):
        division = divide(panel.plan, kit.page, printer=kit.printer)
    panel = replace(panel, findings=(*panel.findings, *joint_findings(division, kit.page)))
    with ThreadPoolExecutor(2) as aside:
        files, made, shown = _drawn_up(
            panel,
            project,
            kit,
            name=name,
            watch=watch,
            created=created,
            cache=cache,
            division=division,
            aside=aside,
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
    aside: Executor,
) -> tuple[dict[str, bytes], Composition, Future[RenderedFilms]]:
    """The files but for the report, what the report tells, and the films as another program shows
    them; pixels and pages are let go.

    Only what computes for long without Python runs beside it: threads that call it pane by pane
    wait for each other longer than they work.
    """
    label = name.rsplit(".", 1)[0]
    with watch.stage("surfaces"):
        glazing = glazing_of(panel, project, kit, cache)
        pictures = pane_pictures(glazing, RowPacker)
    with watch.stage("sheets"):
        pages, places = _film_pages(
            panel, project, kit, pictures=pictures, label=label, division=division
        )
    with watch.stage("files"):
        files = paper_files({"films": pages}, name=label, created=created)
        del pages, pictures
        shown = aside.submit(render_films, files["films.pdf"])
        light = aside.submit(light_on_panel, panel.backlight, px_per_mm=1.0)
        files |= cut_files(_cuts(panel, kit, division)) | project_files(project)
    with watch.stage("guide"):
        papers = _papers(panel, project, kit, label=label, division=division)
        files |= paper_files(papers, name=label, created=created)
        del papers
    with watch.stage("previews"):
        files |= _previews(panel, glazing, light.result())
    made = _told(panel, kit, name=name, places=places, finishes=glazing.finishes)
    return files, made, shown


def _previews(panel: Panel, glazing: Glazing, light: NDArray[np.float32]) -> dict[str, bytes]:
    scale = min(FINEST_LOOK, PREVIEW_PX / panel.window.size_mm[0])
    look = None if glazing.flat else lit_picture(glazing, px_per_mm=scale)
    return preview_files(panel.window, panel.films, panel.plan, look, light=light)


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
