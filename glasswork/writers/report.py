"""report.json: the models of a composition, told with stable keys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import Any

import msgspec
from msgspec import Struct

from glasswork.errors import PackError
from glasswork.model.backlight import Backlight
from glasswork.model.cautions import CAUTIONS
from glasswork.model.film import FilmBlack, GlassOnFilm, Separation
from glasswork.model.finding import Finding
from glasswork.model.frame import Cutter, FramePlan, Made
from glasswork.model.geometry import point_along
from glasswork.model.light import Light
from glasswork.model.report import (
    AssembledReport,
    CheckReport,
    ExposedReport,
    FilmPageReport,
    FilmsReport,
    FilmsTableReport,
    FindingReport,
    FitReport,
    FrameReport,
    LightReport,
    MemberReport,
    PaneReport,
    PrintedLeadsReport,
    RegistrationReport,
    Report,
    StayReport,
    Triple,
    WeakReport,
)
from glasswork.model.sheet import FilmPage, PageSize
from glasswork.model.window import Pane, Window
from glasswork.planar import AreaSet
from glasswork.writers.places import InkPlace, ink_places

REPORT_VERSION = 1

MEASURABLE_MM = 0.5
"""Printed leads at least so wide show their full colour to whoever measures the film."""

MOST_PLACES = 40


class Composition(Struct, frozen=True, kw_only=True):
    """What the stages made, before it is written."""

    design: str
    window: Window
    separation: Separation
    plan: FramePlan
    film_pages: tuple[FilmPage, ...]
    page: PageSize
    cutter: Cutter
    light: Light
    backlight: Backlight
    light_cct_k: float | None
    light_xy: tuple[float, float] | None
    by_hand: Mapping[int, float]
    finishes: Mapping[str, str]
    findings: tuple[Finding, ...]


def with_checks(
    report: Report, verified: Sequence[CheckReport], *, timings_s: Mapping[str, float]
) -> Report:
    """The report with what was measured, and the time that took."""
    return msgspec.structs.replace(report, verified=tuple(verified), timings_s=_timings(timings_s))


def _timings(seconds: Mapping[str, float]) -> dict[str, float]:
    return {stage: round(value, 4) for stage, value in seconds.items()}


def build_report(
    made: Composition, *, files: Mapping[str, bytes], timings_s: Mapping[str, float]
) -> Report:
    """The report of a composition, not yet verified."""
    places = ink_places(made.window, made.separation, made.plan)
    glasses = {glass.glass: _glass(glass) for glass in made.separation.glasses}
    return Report(
        version=REPORT_VERSION,
        design=made.design,
        size_mm=_rounded(made.window.size_mm),
        thickness_mm=round(made.plan.fit.thickness_mm, 4),
        films=_films(made),
        panes=tuple(
            _pane(pane, glasses[pane.glass or ""], made.finishes.get(pane.id, "clear"), places)
            for pane in made.window.panes
        ),
        films_table=tuple(
            FilmsTableReport(
                count=row.count,
                mean_delta_e00=round(row.mean_delta_e00, 3),
                area_within_3=round(row.area_within_3, 4),
            )
            for row in made.separation.table
        ),
        by_hand={str(count): round(value, 2) for count, value in made.by_hand.items()},
        members=_members(made.window, made.plan),
        frames=_frames(made.plan, made.cutter),
        fit=_fit(made.plan),
        registration=_registration(made.plan),
        weak=_weak(made.plan),
        stays=_stays(made.plan),
        light=LightReport(
            name=made.light.name,
            title=made.light.title,
            cct_k=None if made.light_cct_k is None else round(made.light_cct_k),
            xy=None if made.light_xy is None else _rounded(made.light_xy),
            throughput=round(made.separation.throughput, 4),
            panel_throughput=round(made.backlight.throughput, 4),
            depth_mm=made.backlight.depth_mm,
            leds=made.backlight.count,
            pitch_mm=_rounded(made.backlight.pitch_mm),
            evenness=round(made.backlight.evenness, 3),
            resistor_ohm=made.backlight.resistor.ohm,
            current_ma=round(made.backlight.current_ma, 1),
        ),
        findings=tuple(_finding(finding) for finding in made.findings),
        cautions=CAUTIONS,
        timings_s=_timings(timings_s),
        files_sha256={name: sha256(data).hexdigest() for name, data in sorted(files.items())},
        verified=(),
    )


def write_report(report: Report) -> bytes:
    """The report as JSON text."""
    return msgspec.json.format(msgspec.json.encode(report), indent=1) + b"\n"


def parse_report(data: bytes, *, where: str) -> Report:
    """The report of a pack.

    Raises: PackError, if it is no report of this version
    """
    try:
        report = msgspec.json.decode(data, type=Report)
    except msgspec.DecodeError as exc:
        raise PackError(where, f"not a report: {exc}", "compose the pack again") from exc
    if report.version != REPORT_VERSION:
        raise PackError(
            where,
            f"report version {report.version}, this Glasswork reads {REPORT_VERSION}",
            "compose the pack again",
        )
    return report


def _rounded(pair: tuple[float, float]) -> tuple[float, float]:
    return (round(pair[0], 4), round(pair[1], 4))


def _triple(values: Triple, digits: int) -> Triple:
    x, y, z = values
    return (round(x, digits), round(y, digits), round(z, digits))


def _films(made: Composition) -> FilmsReport:
    return FilmsReport(
        count=made.separation.count,
        identical=made.separation.identical,
        pages=tuple(
            FilmPageReport(
                page=page.page,
                film=page.film,
                mirrored=page.mirrored,
                panel_to_page_mm=(*page.panel_to_page,),
                marks_mm=tuple(_rounded(mark) for mark in page.marks),
                rules_mm=tuple((_rounded(a), _rounded(b)) for a, b in page.rules),
                copy=page.copy,
                part=page.part,
                parts=page.parts,
                panes=page.panes,
                trim_mm=tuple(_rounded(point) for point in page.trim),
            )
            for page in made.film_pages
        ),
        page_mm=(made.page.width_mm, made.page.height_mm),
        leads=_printed_leads(made.separation.black, made.window, made.plan),
    )


def _printed_leads(black: FilmBlack, window: Window, plan: FramePlan) -> PrintedLeadsReport | None:
    if not plan.printed:
        return None
    printed = {item.member for item in plan.made if item.made is Made.PRINTED}
    lines = [
        member
        for member in window.members
        if member.id in printed and len(member.centreline) > 1 and member.width_mm >= MEASURABLE_MM
    ]
    lines = sorted(lines, key=lambda member: -member.width_mm)[: 2 * MOST_PLACES]
    middles = [point_along(member.centreline, 0.5) for member in lines]
    rooms = AreaSet.of_groups([member.area for member in lines]).edge_distances_mm(middles)
    black_there = AreaSet.of_regions(plan.printed).holding(middles)
    clear = (rooms >= MEASURABLE_MM / 5.0) & black_there
    places = [place for place, ok in zip(middles, clear.tolist(), strict=True) if ok][:MOST_PLACES]
    return PrintedLeadsReport(
        device=black.device,
        visual_density=round(black.visual, 3),
        ink=round(black.ink_load, 3),
        places_mm=tuple(_rounded(place) for place in places),
    )


def _glass(glass: GlassOnFilm) -> dict[str, Any]:
    """What the report tells of every pane of a glass."""
    return {
        "glass": glass.glass,
        "target_lab": _triple(glass.target_lab, 3),
        "predicted_lab": _triple(glass.predicted_lab, 3),
        "delta_e00": round(glass.delta_e00, 3),
        "device": glass.device,
        "status_a_density": _triple(glass.status_a, 3),
        "in_reach": glass.in_reach,
    }


def _pane(
    pane: Pane, glass: Mapping[str, Any], finish: str, places: Mapping[str, InkPlace]
) -> PaneReport:
    ink = places[pane.id]
    return PaneReport(
        id=pane.id,
        area_mm2=round(pane.region.area_mm2, 4),
        seed_point_mm=_rounded(ink.seed),
        seed_room_mm=round(ink.room_mm, 4),
        ink_outline_mm=tuple([tuple(map(_rounded, ring)) for ring in ink.outline]),
        finish=finish,
        **glass,
    )


def _members(window: Window, plan: FramePlan) -> tuple[MemberReport, ...]:
    made = {item.member: item.made.value for item in plan.made}
    return tuple(
        MemberReport(
            id=member.id,
            role=member.role.value,
            width_mm=round(member.width_mm, 4),
            made=made[member.id],
        )
        for member in window.members
    )


def _frames(plan: FramePlan, cutter: Cutter) -> tuple[FrameReport, ...]:
    twins = _twins(plan)
    return tuple(
        FrameReport(
            file=f"frames/{layer.file}.svg",
            face=layer.face.value,
            level=layer.level.value,
            thickness_mm=layer.thickness_mm,
            pieces=len(layer.pieces),
            min_web_mm=round(layer.min_web_mm, 3),
            panel_to_file_mm=(*layer.panel_to_file,),
            area_mm2=round(sum(piece.area_mm2 for piece in layer.pieces), 4),
            kerf_mm=cutter.kerf_for(layer.thickness_mm),
            twin=twins.get(layer.file, ""),
            board=layer.board,
        )
        for layer in (*plan.layers, *plan.jig)
    )


def _twins(plan: FramePlan) -> dict[str, str]:
    """Layer -> file of the other face's layer of the same shape."""
    return {
        one.file: f"frames/{other.file}.svg"
        for one in plan.layers
        for other in plan.layers
        if one.level is other.level and one.face is not other.face and one.pieces == other.pieces
    }


def _fit(plan: FramePlan) -> FitReport:
    fit = plan.fit
    return FitReport(
        opening_mm=fit.opening_mm,
        clearance_mm=fit.clearance_mm,
        recess_mm=fit.recess_mm,
        spare_mm=None if fit.spare_mm is None else round(fit.spare_mm, 3),
        thickness_worst_mm=round(fit.thickness_worst_mm, 3),
        thickness_rss_mm=round(fit.thickness_rss_mm, 3),
        layers_mm=fit.layers_mm,
        rebate_mm=fit.rebate_mm,
        step_mm=round(plan.step_mm, 4),
        drawn_opening=plan.opening_drawn,
    )


def _registration(plan: FramePlan) -> RegistrationReport:
    budget, lot = plan.registration, plan.assembled
    return RegistrationReport(
        worst_case_mm=round(budget.worst_case_mm, 4),
        rss_mm=round(budget.rss_mm, 4),
        min_cover_mm=round(budget.min_cover_mm, 4),
        bleed_mm=round(budget.bleed_mm, 4),
        contributions_mm={name: round(mm, 4) for name, mm in budget.contributions},
        exposed=tuple(
            ExposedReport(
                pane=edge.pane,
                place_mm=_rounded(edge.place),
                cover_mm=round(edge.cover_mm, 4),
                needed_mm=round(edge.needed_mm, 4),
            )
            for edge in budget.exposed
        ),
        assembled=None
        if lot is None
        else AssembledReport(
            runs=lot.runs,
            seed=lot.seed,
            white_share=round(lot.white_share, 4),
            white_mean_mm=round(lot.white_mean_mm, 4),
            colour_share=round(lot.colour_share, 4),
            colour_mean_mm=round(lot.colour_mean_mm, 4),
        ),
    )


def _weak(plan: FramePlan) -> tuple[WeakReport, ...]:
    return tuple(
        WeakReport(
            kind=weak.kind,
            level=weak.level.value,
            place_mm=_rounded(weak.place),
            value=round(weak.value, 3),
            limit=round(weak.limit, 3),
            member=weak.member,
        )
        for weak in plan.weak
    )


def _stays(plan: FramePlan) -> tuple[StayReport, ...]:
    return tuple(
        StayReport(holds=stay.holds, along=stay.along, width_mm=round(stay.width_mm, 4))
        for stay in plan.stays
    )


def _finding(finding: Finding) -> FindingReport:
    return FindingReport(
        severity=finding.severity.value,
        where=finding.where,
        what=finding.what,
        hint=finding.hint,
        place_mm=None if finding.place is None else _rounded(finding.place),
    )
