"""The frame, planned and sketched."""

from __future__ import annotations

from glasswork.model.project import Project
from glasswork.web.jobs.common import Begin, kit_of, window_of
from glasswork.web.sketch import FrameSketch, LayerSketch, SheetSketch, regions_d


def frame(drawing: bytes, project: Project, beside: str, *, begin: Begin) -> FrameSketch:
    """The frame planned for the window and its films."""
    from glasswork.cli import shelf
    from glasswork.cli.cache import FolderCache
    from glasswork.colour.separate import separate
    from glasswork.panel import framed_window

    begin("reading the window")
    kit = kit_of(project, beside)
    window, hole = window_of(drawing, project, kit, beside)
    begin("counting films")
    cache = FolderCache(shelf.cache_folder())
    films = (
        separate(window, kit.palette, kit.printer, kit.light, films="auto", cache=cache)[0].count
        if project.films == "auto"
        else project.films
    )
    begin("planning the frame")
    plan, findings = framed_window(window, project, kit, films=films, opening=hole)
    by_file = {layer.file: layer for layer in (*plan.layers, *plan.jig)}
    sheets = tuple(
        SheetSketch(
            number=sheet.number,
            bed_mm=sheet.bed_mm,
            board=sheet.board,
            used=sheet.used,
            parts=tuple(
                regions_d(
                    (
                        by_file[file]
                        .pieces[number - 1]
                        .mapped(by_file[file].panel_to_file)
                        .mapped(place),
                    )
                )
                for file, number, place in sheet.parts
            ),
        )
        for sheet in plan.sheets
    )
    fit, registration = plan.fit, plan.registration
    return FrameSketch(
        films=films,
        layers=tuple(
            LayerSketch(
                file=layer.file,
                face=layer.face.value,
                level=layer.level.value,
                board=layer.board,
                thickness_mm=layer.thickness_mm,
                pieces=len(layer.pieces),
                min_web_mm=layer.min_web_mm,
                d=regions_d(layer.pieces),
            )
            for layer in (*plan.layers, *plan.jig)
        ),
        made={one.member: (one.made.value, one.why) for one in plan.made},
        printed=regions_d(plan.printed),
        weak=tuple(
            (one.place, f"{one.kind} {one.value:.2f} mm, asked {one.limit:.2f} mm")
            for one in plan.weak[:200]
        ),
        exposed=tuple(
            (one.place, f"cover {one.cover_mm:.2f} mm, needed {one.needed_mm:.2f} mm")
            for one in registration.exposed[:200]
        ),
        stack=fit.layers_mm,
        panel_mm=fit.panel_mm,
        thickness_mm=fit.thickness_mm,
        recess_mm=fit.recess_mm,
        spare_mm=fit.spare_mm,
        rss_mm=registration.rss_mm,
        worst_mm=registration.worst_case_mm,
        cover_mm=registration.min_cover_mm,
        sheets=sheets,
        opening=regions_d((plan.opening,)) if plan.opening is not None else "",
        findings=findings,
    )
