"""The long work, as the worker processes do it: bytes and settings in, sketches and files out."""

from __future__ import annotations

import io
import pickle
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from glasswork.cli import shelf
from glasswork.errors import DrawingError
from glasswork.model.project import Project
from glasswork.model.window import LineArt, Scan, Window
from glasswork.web.sketch import (
    Fitted,
    FrameSketch,
    GlassRow,
    LayerSketch,
    Look,
    MemberSketch,
    PaneSketch,
    SheetSketch,
    Shelf,
    Sketch,
    StripRead,
    Tally,
    regions_d,
    ring_d,
)

Begin = Callable[[str], None]


@lru_cache(maxsize=4)
def _art(drawing: bytes, name: str) -> LineArt | Scan:
    from glasswork.readers.design import read_design

    return read_design(drawing, name=name)


def look(drawing: bytes, project: Project, beside: str, *, begin: Begin) -> Sketch:
    """The drawing looked over, and its window glazed by the drawing or the even scheme."""
    from glasswork.colour.glazing import choose_glass
    from glasswork.drawing.inspect import Limits, inspect_drawing
    from glasswork.drawing.neighbours import colour_groups
    from glasswork.framing.made import narrowest_cut_mm
    from glasswork.readers.project import sizing_of

    begin("reading the drawing")
    art = _art(drawing, Path(project.design).name)
    kit = _kit(project, beside)
    begin("looking it over")
    found = inspect_drawing(
        art,
        roles=project.roles,
        sizing=sizing_of(project, where="settings"),
        limits=Limits(cut_mm=narrowest_cut_mm(kit.board, kit.cutter)),
    )
    window, remarks = found.window, found.findings
    if window is not None:
        begin("choosing glass")
        window, glazed = choose_glass(window, kit.palette, chosen={}, groups=colour_groups(window))
        remarks = (*remarks, *glazed)
    return _sketch(found.art, window, remarks, vector=isinstance(art, LineArt))


def _sketch(art: LineArt, window: Window | None, findings: Any, *, vector: bool) -> Sketch:
    drawn = tuple(
        (
            regions_d(mark.area) + "".join(ring_d(p, closed=c) for p, c in mark.paths if len(p) > 1)
            if mark.fill is None or not mark.area
            else regions_d(mark.area),
            mark.stroke,
            mark.width_mm,
            mark.fill,
        )
        for mark in art.marks
    )
    if window is None:
        return Sketch(
            size_mm=art.size_mm,
            panes=(),
            members=(),
            paint="",
            outline="",
            art=drawn,
            findings=tuple(findings),
            vector=vector,
        )
    keys = _role_keys(art, window)
    return Sketch(
        size_mm=window.size_mm,
        panes=tuple(
            PaneSketch(
                id=pane.id,
                d=regions_d((pane.region,)),
                area_mm2=pane.region.area_mm2,
                seed=pane.seed_point,
                glass=pane.glass or "",
            )
            for pane in window.panes
        ),
        members=tuple(
            MemberSketch(
                id=member.id,
                role=member.role.value,
                width_mm=member.width_mm,
                d=regions_d(member.area),
                middle=_middle(member),
                key=keys[member.id],
            )
            for member in window.members
        ),
        paint="".join(regions_d(stroke.area) for stroke in window.paint),
        outline=regions_d((window.outline,)),
        art=drawn,
        findings=tuple(findings),
        vector=vector,
    )


def _middle(member: Any) -> tuple[float, float]:
    if member.centreline:
        return member.centreline[len(member.centreline) // 2]  # type: ignore[no-any-return]
    return member.area[0].outer[0]  # type: ignore[no-any-return]


def _role_keys(art: LineArt, window: Window) -> dict[str, str]:
    """For each member the name that its role goes by: of the drawn line nearest to its middle."""
    import numpy as np

    places, names = [], []
    stroked = any(mark.stroke is not None for mark in art.marks)
    for mark in art.marks:
        if stroked and mark.stroke is None:
            continue
        for points, closed in mark.paths:
            ends = np.asarray((*points, points[0]) if closed else points, dtype=float)
            if mark.names and len(ends) > 1:
                steps = np.linspace(0.0, 1.0, 9)[None, :, None]
                fine = (ends[:-1, None] * (1.0 - steps) + ends[1:, None] * steps).reshape(-1, 2)
                places.append(fine)
                names += [mark.names[0]] * len(fine)
    keys = {}
    cloud = np.concatenate(places) if places else np.empty((0, 2))
    for member in window.members:
        by_width = f"stroke>={max(0.05, round(member.width_mm - 0.02, 2)):g}"
        if len(cloud):
            off = np.hypot(*(cloud - np.asarray(_middle(member))).T)
            near = int(off.argmin())
            keys[member.id] = names[near] if off[near] <= member.width_mm else by_width
        else:
            keys[member.id] = by_width
    return keys


def check_drawing(drawing: bytes, name: str, *, begin: Begin) -> None:
    """Refuse what is no drawing. Raises: ReadError"""
    begin("reading the drawing")
    _art(drawing, name)


def mend(
    drawing: bytes, project: Project, beside: str, *, begin: Begin
) -> tuple[bytes, Any, Sketch]:
    """The drawing repaired: its bytes, what was changed, and the sketch of it."""
    from glasswork.drawing.repair import repair
    from glasswork.writers.line_art import write_line_art_svg

    begin("repairing")
    art = _art(drawing, Path(project.design).name)
    if not isinstance(art, LineArt):
        raise DrawingError(
            art.name, "only line art is repaired", "mend the scan in a paint program"
        )
    mended, changes = repair(art, roles=project.roles)
    data = write_line_art_svg(mended)
    return data, changes, look(data, project, beside, begin=begin)


def _kit(project: Project, beside: str) -> Any:
    from glasswork.cli.kit import load_kit

    return load_kit(project, beside=Path(beside))


def through_films(project: Project, beside: str, *, begin: Begin) -> Shelf:
    """Every glass of the palette through one, two and three films before the light."""
    import numpy as np

    from glasswork.colour.describe import describe_glass
    from glasswork.colour.lab import linear_srgb_of_lab, srgb_of_lab
    from glasswork.colour.light import describe_light
    from glasswork.colour.separate import WITHIN, print_glasses
    from glasswork.colour.targets import display_codes

    kit = _kit(project, beside)
    looks: dict[int, dict[str, Look]] = {}
    wanted: dict[str, str] = {}
    for films in (1, 2, 3):
        begin(f"the palette through {films} film{'s' if films > 1 else ''}")
        printed = print_glasses(kit.palette.glasses, kit.printer, kit.light, films=films)
        rows = {}
        for i, glass in enumerate(kit.palette.glasses):
            told = describe_glass(printed.model, printed.codes[i] / 255.0)
            raw = np.asarray(display_codes(glass, printed.wanted[i]), dtype=float)
            hand = np.clip(linear_srgb_of_lab(printed.model.lab(raw[None])[0]), 0.0, 1.0)
            rows[glass.id] = Look(
                lit=_triple(told.lit_srgb),
                unlit=_triple(told.unlit_srgb),
                by_hand=_triple(hand),
                delta_e00=float(printed.off[i]),
                in_reach=bool(printed.off[i] <= WITHIN),
                sentence=told.sentence,
            )
            code = np.clip(np.round(255 * srgb_of_lab(printed.wanted[i])), 0, 255).astype(int)
            wanted[glass.id] = "#" + "".join(f"{v:02x}" for v in code)
        looks[films] = rows
    _, (x, y) = describe_light(kit.light)
    return Shelf(
        glasses=tuple(
            GlassRow(id=g.id, title=g.title, finish=g.finish, wanted=wanted[g.id], note=g.note)
            for g in kit.palette.glasses
        ),
        looks=looks,
        tint=_tint(x, y),
        light=kit.light.title,
        printer=kit.printer.title,
        palette=kit.palette.title,
    )


def _triple(values: Any) -> tuple[float, float, float]:
    r, g, b = (float(v) for v in values)
    return (r, g, b)


def _tint(x: float, y: float) -> tuple[float, float, float]:
    """The light's own colour as linear sRGB, its brightest part 1. Source: [iec61966-2-1]"""
    import numpy as np

    to_rgb = np.array(
        [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    )
    rgb = np.clip(to_rgb @ np.array([x / y, 1.0, (1.0 - x - y) / y]), 0.0, None)
    return _triple(rgb / rgb.max())


def _window(drawing: bytes, project: Project, kit: Any) -> Window:
    from glasswork.colour.glazing import choose_glass
    from glasswork.drawing.make import make_window
    from glasswork.drawing.neighbours import colour_groups
    from glasswork.readers.project import sizing_of

    art = _art(drawing, Path(project.design).name)
    window, _ = make_window(art, roles=project.roles, sizing=sizing_of(project, where="settings"))
    window, _ = choose_glass(
        window, kit.palette, chosen=project.glass, groups=colour_groups(window)
    )
    return window


def tally(drawing: bytes, project: Project, beside: str, *, begin: Begin) -> Tally:
    """How many films the chosen glasses need."""
    from glasswork.colour.palette_tools import suggest_instead
    from glasswork.colour.separate import separate

    begin("counting films")
    kit = _kit(project, beside)
    window = _window(drawing, project, kit)
    made, findings = separate(window, kit.palette, kit.printer, kit.light, films=project.films)
    used = [glass.glass for glass in made.glasses]
    instead = {}
    for glass in made.glasses:
        if not glass.in_reach:
            other = suggest_instead(
                glass.glass, used, kit.palette, kit.printer, kit.light, films=made.count
            )
            if other is not None:
                instead[glass.glass] = other
    return Tally(
        count=made.count,
        table=tuple((r.count, r.mean_delta_e00, r.area_within_3) for r in made.table),
        findings=findings,
        instead=instead,
    )


def frame(drawing: bytes, project: Project, beside: str, *, begin: Begin) -> FrameSketch:
    """The frame planned for the window and its films."""
    from glasswork.colour.separate import separate
    from glasswork.framing.plan import plan_frame

    begin("reading the window")
    kit = _kit(project, beside)
    window = _window(drawing, project, kit)
    begin("counting films")
    films = (
        separate(window, kit.palette, kit.printer, kit.light, films="auto")[0].count
        if project.films == "auto"
        else project.films
    )
    begin("planning the frame")
    plan, findings = plan_frame(
        window,
        kit.board,
        kit.cutter,
        printer=kit.printer,
        films=films,
        opening_mm=project.opening,
        clearance_mm=project.clearance,
        recess_mm=project.recess,
        members=project.members,
    )
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
                thickness_mm=layer.thickness_mm,
                pieces=len(layer.pieces),
                min_web_mm=layer.min_web_mm,
                d=regions_d(layer.pieces),
            )
            for layer in plan.layers
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
        findings=findings,
    )


def pack(
    drawing: bytes, project: Project, beside: str, created: str, *, begin: Begin
) -> Mapping[str, bytes]:
    """Every file of the pack, the stages told as they begin."""
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.compose import settled
    from glasswork.pipeline import Watch, compose

    folder = Path(beside)
    path = folder / project.design
    composed = compose(
        drawing,
        settled(project, path=path, drawing=drawing, beside=folder, target=folder / "pack"),
        _kit(project, beside),
        name=path.name,
        watch=Watch(clock=time.perf_counter, begin=begin),
        created=created,
        cache=FolderCache(shelf.cache_folder()),
    )
    return dict(composed.files)


def page_pictures(pdf: bytes, width_px: int, *, begin: Begin) -> tuple[bytes, ...]:
    """Each page of our own PDF as a PNG; at most 60."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    pictures = []
    try:
        for number in range(min(60, len(document))):
            begin(f"picture of page {number + 1}")
            page = document[number]
            picture = page.render(scale=width_px / page.get_width()).to_pil()
            out = io.BytesIO()
            picture.convert("RGB").save(out, "PNG")
            pictures.append(out.getvalue())
    finally:
        document.close()
    return tuple(pictures)


def strip(page: str, films: int, label: str, created: str, *, begin: Begin) -> bytes:
    """The strip to print, as PDF."""
    from glasswork.calibrate.strip import strip_code, strip_layout
    from glasswork.calibrate.strip_page import strip_pages
    from glasswork.cli.kit import load_page
    from glasswork.model.sheet import Document
    from glasswork.writers.pdf import write_pdf

    begin("drawing the strip")
    code = strip_code()
    pages = strip_pages(strip_layout(code), load_page(page), films=films, label=label)
    return write_pdf(Document(title=code, pages=pages, created=created))


_PICTURES: Final = (b"\x89PNG", b"\xff\xd8\xff", b"II*\0", b"MM\0*")


def read_strip(data: bytes, name: str, films: int, *, begin: Begin) -> StripRead:
    """A photo, CSV or CGATS file of a strip as read, with what is doubtful in it."""
    from glasswork.calibrate.strip import layout_of_mark, strip_layout
    from glasswork.readers.cgats import read_cgats
    from glasswork.readers.photo import read_photo
    from glasswork.readers.readings_csv import read_readings_csv

    begin("finding the patches")
    marked = b""
    if data.startswith(_PICTURES):
        photo = read_photo(
            data,
            where=name,
            layout_of_code=strip_layout,
            layout_of_mark=layout_of_mark,
            films=films,
        )
        readings, marked = photo.readings, photo.marked
    elif name.lower().endswith(".csv"):
        readings = read_readings_csv(data, where=name, films=films, layout_of_code=strip_layout)
    else:
        readings = read_cgats(data, where=name, films=films)
    return StripRead(
        data=pickle.dumps(readings),
        marked=marked,
        films=readings.films,
        patches=len(readings.values),
        notes=readings.notes,
        doubtful=tuple((one.patch, one.what) for one in readings.remarks),
    )


def fit(
    reads: tuple[bytes, ...], name: str, title: str, light: str, created: str, *, begin: Begin
) -> Fitted:
    """A printer profile of the readings, with its plots. reads : `StripRead.data`"""
    from glasswork.calibrate.fit import Wishes, calibrate
    from glasswork.calibrate.report import calibration_report, error_rows
    from glasswork.cli.kit import load_light, load_page
    from glasswork.cli.physics import physics_for
    from glasswork.readers.printer import read_printer
    from glasswork.writers.calibration_report import page_png
    from glasswork.writers.pdf import write_pdf
    from glasswork.writers.profile import write_profile

    begin("fitting the profile")
    physics = physics_for(load_light(light))
    readings = [pickle.loads(data) for data in reads]
    made = calibrate(
        readings, name=name, created=created, physics=physics, wishes=Wishes(title=title)
    )
    made = replace(made, created=created)
    begin("plotting")
    plots = page_png(write_pdf(calibration_report(made, physics=physics, page=load_page("a4"))))
    data = write_profile(
        made.profile, comments=(f"Calibrated {created} on the bench page, before {light}.",)
    )
    read_printer(data, where=f"{name}.toml")
    return Fitted(
        profile=data,
        plots=plots,
        errors=tuple((what, spread.mean, spread.p95) for what, spread in error_rows(made)),
        findings=made.findings,
    )


def idle(seconds: float, *, begin: Begin) -> float:
    """Nothing, for so long: the tests' measure of limits and queues."""
    begin("idling")
    time.sleep(seconds)
    return seconds


JOBS: Final[Mapping[str, Callable[..., Any]]] = {
    "check_drawing": check_drawing,
    "look": look,
    "mend": mend,
    "through_films": through_films,
    "tally": tally,
    "frame": frame,
    "pack": pack,
    "page_pictures": page_pictures,
    "strip": strip,
    "read_strip": read_strip,
    "fit": fit,
    "idle": idle,
}
