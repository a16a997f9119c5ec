"""Drawings: looked over, mended, drawn from measures."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import msgspec

from glasswork.drawing.inspect import Inspection, Limits, inspect_drawing
from glasswork.drawing.members import place_of
from glasswork.errors import DrawingError, GlassworkError, raise_all
from glasswork.model.finding import Finding, Severity
from glasswork.model.project import Project
from glasswork.model.window import LineArt, Role, Scan, Sizing, Window
from glasswork.web.jobs.common import Begin, art_of, kit_of
from glasswork.web.sketch import DrawnSketch, MemberSketch, PaneSketch, Sketch, regions_d, ring_d


def check_drawing(drawing: bytes, name: str, *, begin: Begin) -> None:
    """Refuse what is no drawing. Raises: ReadError"""
    begin("reading the drawing")
    art_of(drawing, name)


def look(drawing: bytes, project: Project, beside: str, *, begin: Begin) -> Sketch:
    """The drawing looked over, and its window glazed by the drawing or the even scheme."""
    from glasswork.cli.compose import photo_bytes
    from glasswork.framing.made import narrowest_cut_mm
    from glasswork.panel import glazed_window
    from glasswork.readers.project import sizing_of

    begin("reading the drawing")
    name = Path(project.design).name
    art = art_of(drawing, name, embedded=project.embedded)
    kit = kit_of(project, beside)
    begin("looking it over")
    found = _inspected(
        drawing,
        name,
        embedded=project.embedded,
        roles=tuple(project.roles.items()),
        sizing=sizing_of(project, where="settings"),
        cut_mm=narrowest_cut_mm(kit.board, kit.cutter),
    )
    window, remarks = found.window, found.findings
    told: dict[str, str] = {}
    if window is not None:
        told = {member.id: member.role.value for member in window.members}
        window, late = _as_wished(art, window, project, kit)
        remarks = (*late, *remarks)
        begin("choosing glass")
        unchosen = msgspec.structs.replace(project, glass={})
        photo = photo_bytes(project, Path(beside))
        window, glazed = glazed_window(window, unchosen, kit, photo=photo)
        remarks = (*remarks, *glazed)
    return _sketch(found.art, window, remarks, told=told, vector=isinstance(art, LineArt))


@lru_cache(maxsize=2)
def _inspected(
    drawing: bytes,
    name: str,
    *,
    embedded: bool,
    roles: tuple[tuple[str, str], ...],
    sizing: Sizing,
    cut_mm: float,
) -> Inspection:
    """A drawing looked over; the last two are kept, for most choices change nothing in it."""
    art = art_of(drawing, name, embedded=embedded)
    return inspect_drawing(art, roles=dict(roles), sizing=sizing, limits=Limits(cut_mm=cut_mm))


def check_photo(data: bytes, name: str, *, begin: Begin) -> None:
    """Refuse what is no colour picture. Raises: ReadError"""
    from glasswork.panel import colours_of

    begin("reading the picture")
    colours_of(data, name=name)


def _as_wished(
    art: LineArt | Scan, window: Window, project: Project, kit: Any
) -> tuple[Window, tuple[Finding, ...]]:
    """The window with widths, roles and opening as the project says; what cannot be is told."""
    from glasswork.drawing.member_roles import follow_members, with_member_roles
    from glasswork.panel import sized_window

    late: tuple[Finding, ...] = ()
    if project.widths or project.opening_drawing:
        try:
            return sized_window(art, project, kit)[0], ()
        except GlassworkError as fault:
            late = tuple(
                Finding(severity=Severity.DECISION, where=one.where, what=one.what, hint=one.hint)
                for one in fault.each()
            )
    ids = {member.id for member in window.members}
    given = follow_members(window, project.member_roles)
    return with_member_roles(window, {k: v for k, v in given.items() if k in ids}), late


def _sketch(
    art: LineArt, window: Window | None, findings: Any, *, told: Mapping[str, str], vector: bool
) -> Sketch:
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
                told=told.get(member.id, member.role.value),
                width_mm=member.width_mm,
                d=regions_d(member.area),
                middle=place_of(member),
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
            off = np.hypot(*(cloud - np.asarray(place_of(member))).T)
            near = int(off.argmin())
            keys[member.id] = names[near] if off[near] <= member.width_mm else by_width
        else:
            keys[member.id] = by_width
    return keys


def check_opening(drawing: bytes, name: str, *, begin: Begin) -> None:
    """Refuse what shows no opening. Raises: ReadError or DrawingError"""
    from glasswork.drawing.opening import opening_region
    from glasswork.readers.svg import read_svg

    begin("reading the opening")
    opening_region(read_svg(drawing, name=name))


def mend(
    drawing: bytes, project: Project, beside: str, *, begin: Begin
) -> tuple[bytes, Any, Sketch]:
    """The drawing repaired: its bytes, what was changed, and the sketch of it."""
    from glasswork.drawing.repair import repair
    from glasswork.writers.line_art import write_line_art_svg

    begin("repairing")
    art = art_of(drawing, Path(project.design).name, embedded=project.embedded)
    if not isinstance(art, LineArt):
        raise DrawingError(
            art.name, "only line art is repaired", "mend the scan in a paint program"
        )
    mended, changes = repair(art, roles=project.roles)
    data = write_line_art_svg(mended)
    return data, changes, look(data, project, beside, begin=begin)


DRAWN: Final = (Role.LEAD, Role.BAR, Role.MULLION, Role.BORDER)
"""Leads of a drawn window in the order they lie on each other."""


def draw_window(kind: str, given: Mapping[str, str], *, begin: Begin) -> DrawnSketch:
    """A window from measures. given : as entered in the form; what is empty is not given

    Raises: DrawingError, or Faults, for what does not fit
    """
    from glasswork.drawing.drawn import design
    from glasswork.drawing.drawn.curves import path_data

    begin("drawing")
    params = _measures(kind, given)
    made = design(kind, **params)
    said = ", ".join(
        f"{name.removesuffix('_mm').replace('_', ' ')} {value:g}"
        if isinstance(value, float)
        else f"{name.removesuffix('_mm').replace('_', ' ')} {value}"
        for name, value in params.items()
    )
    return DrawnSketch(
        title=made.title,
        size_mm=(made.width_mm, made.height_mm),
        glass=tuple((path_data(g.loop, closed=True), g.colour) for g in made.glass),
        leads=tuple(
            (path_data(lead.curves, closed=lead.closed), lead.width_mm, lead.role.value)
            for lead in sorted(made.leads, key=lambda lead: DRAWN.index(lead.role))
        ),
        solid="".join(path_data(loop, closed=True) for loop in made.solid),
        notes=tuple(made.notes),
        said=f"{kind}: {said}" if said else kind,
        svg=made.svg(),
    )


def _measures(kind: str, given: Mapping[str, str]) -> dict[str, Any]:
    """The entries as numbers and lengths; what is neither is left for the drawing to refuse."""
    from glasswork.drawing.drawn import KINDS
    from glasswork.units import parse_length_mm

    settings = {s.name: s for s in KINDS[kind].settings} if kind in KINDS else {}
    faults: list[GlassworkError] = []
    params: dict[str, Any] = {}
    for name, text in given.items():
        if not text.strip():
            continue
        setting = settings.get(name)
        params[name] = text.strip()
        if setting is not None and setting.unit == "mm":
            try:
                params[name] = parse_length_mm(text, where=f"draw {kind}, {name}")
            except GlassworkError as fault:
                faults.append(fault)
    raise_all(faults)
    return params
