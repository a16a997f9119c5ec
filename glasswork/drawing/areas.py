"""Any drawing as dark areas: panes are what the leading encloses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from glasswork.drawing.dashes import Path, drawn_paths
from glasswork.drawing.inks import Ink, Roles, dark_fill, is_dark, pen_of
from glasswork.drawing.members import Lead, Leaded, Told, leads_between
from glasswork.drawing.shares import Kind, Line, on_pens, shared_out
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Point, Region, Regions, ring_area_mm2, sound_region
from glasswork.model.window import LineArt, Mark, PaintStroke, Role
from glasswork.model.words import counted
from glasswork.planar import Area, AreaSet, drawn, last_holding, seen

LEAST_PANE_MM2 = 0.01
"""A hole in the leading smaller than this is a flaw of drawing, not a pane."""


@dataclass(slots=True)
class Layers:
    """What the marks paint, in order: areas, whether lead, their roles, drawn widths and lines."""

    areas: list[Area] = field(default_factory=list)
    inks: list[Ink] = field(default_factory=list)
    roles: list[Role | None] = field(default_factory=list)
    widths: list[float | None] = field(default_factory=list)
    fills: list[str | None] = field(default_factory=list)
    lines: list[tuple[Path, ...]] = field(default_factory=list)

    def add(self, area: Area, ink: Ink, role: Role | None, *, width: float | None) -> None:
        self.areas.append(area)
        self.inks.append(ink)
        self.roles.append(role)
        self.widths.append(width)
        self.fills.append(None)
        self.lines.append(())


def layers_of(art: LineArt, roles: Roles, *, any_stroke: bool = False) -> Layers:
    """Every fill and stroke of the drawing as an area.

    any_stroke : strokes of any colour are leads, for drawings without a dark line
    """
    layers = Layers()
    strokes = iter(_stroke_areas(art.marks))
    fills = AreaSet.mended([mark.area if mark.fill is not None else () for mark in art.marks])
    for index, mark in enumerate(art.marks):
        role = roles.of(mark)
        if mark.fill is not None and mark.area:
            alone = mark.stroke is None
            ink = _ink(role if alone else None, dark=dark_fill(mark))
            layers.add(fills[index], ink, role if alone else None, width=None)
            layers.fills[-1] = mark.fill
        if mark.stroke is not None:
            area = next(strokes)
            ink = _ink(role, dark=_dark(mark, any_stroke))
            layers.add(area, ink, role, width=mark.width_mm)
            layers.lines[-1] = drawn_paths(mark)
    return layers


def _dark(mark: Mark, /, any_stroke: bool) -> bool:
    return mark.stroke is not None and (any_stroke or is_dark(mark.stroke))


def _ink(role: Role | None, *, dark: bool) -> Ink:
    if role is Role.PAINT:
        return Ink.PAINT
    return Ink.LEAD if dark or role is not None else Ink.LIGHT


def _stroke_areas(marks: Sequence[Mark]) -> list[Area]:
    lines, pens, owner = [], [], []
    stroked = [mark for mark in marks if mark.stroke is not None]
    for index, mark in enumerate(stroked):
        for path in drawn_paths(mark):
            lines.append(path)
            pens.append(pen_of(mark))
            owner.append(index)
    areas = drawn(lines, pens)
    groups: list[list[Area]] = [[] for _ in stroked]
    for number, index in enumerate(owner):
        groups[index].append(areas[number])
    return [group[0] if len(group) == 1 else Area.union(group) for group in groups]


def lead_area(layers: Layers) -> Area:
    """The leading in sight: dark paint that no later light paint hides."""
    opaque = [i for i, ink in enumerate(layers.inks) if ink is not Ink.PAINT]
    painted = _set(layers, opaque)
    return seen(painted, [layers.inks[i] is Ink.LEAD for i in opaque])


def _set(layers: Layers, indices: Sequence[int]) -> AreaSet:
    return AreaSet.of_areas([layers.areas[i] for i in indices])


def leaded_by_area(art: LineArt, roles: Roles, findings: list[Finding]) -> Leaded | None:
    """Outline, panes and leads of a drawing, by what its leading covers; None if it encloses
    nothing.
    """
    layers, lead = _leading(art, roles, any_stroke=False)
    parts = lead.regions() if lead.hole_count else ()
    if not _encloses(parts):
        layers, lead = _leading(art, roles, any_stroke=True)
        parts = lead.regions()
        if not _encloses(parts):
            return None
        findings.append(_said(art.name, "no dark line encloses glass: every stroke is a lead"))
    outline, panes, blots = divide(parts, art.name, findings)
    whole = lead if len(parts) == 1 and lead.hole_count == len(panes) else None
    leads = leads_between(outline, panes, told=lambda places: _told(layers, places), area=whole)
    return Leaded(
        outline=outline,
        panes=panes,
        leads=_shared(leads, layers),
        paint=tuple(PaintStroke(area=area, width_mm=w) for area, w in blots),
    )


def _shared(leads: Sequence[Lead], layers: Layers) -> tuple[Lead, ...]:
    """The leads with their middles where the pens went and their joints shared out by the pens."""
    pens: dict[Kind, list[Area]] = {}
    lines: dict[Kind, list[Line]] = {}
    for i, (ink, role, width) in enumerate(
        zip(layers.inks, layers.roles, layers.widths, strict=True)
    ):
        if ink is Ink.LEAD and width is not None:
            pens.setdefault((width, role), []).append(layers.areas[i])
            paths = [
                (*points, points[0]) if closed else points for points, closed in layers.lines[i]
            ]
            lines.setdefault((width, role), []).extend(path for path in paths if len(path) > 1)
    areas = AreaSet.of_groups([lead.area for lead in leads])
    return shared_out(
        on_pens(leads, lines), areas, list(pens), lambda kind: AreaSet.of_areas(pens[kind])
    )


def _leading(art: LineArt, roles: Roles, *, any_stroke: bool) -> tuple[Layers, Area]:
    """What is painted, and the leading in sight; neither where no mark is a lead."""
    inks = (
        _ink(roles.of(mark), dark=dark)
        for mark in art.marks
        for dark in (dark_fill(mark), _dark(mark, any_stroke))
    )
    if Ink.LEAD not in inks:
        return Layers(), Area.empty()
    layers = layers_of(art, roles, any_stroke=any_stroke)
    return layers, lead_area(layers) if Ink.LEAD in layers.inks else Area.empty()


def _encloses(parts: Regions) -> bool:
    """The largest part of the leading, which is the window, goes round a pane."""
    return bool(parts) and _goes_round(_largest(parts))


def _largest(parts: Regions) -> Region:
    return max(parts, key=lambda region: abs(ring_area_mm2(region.outer)))


def _goes_round(part: Region) -> bool:
    return any(abs(ring_area_mm2(hole)) > LEAST_PANE_MM2 for hole in part.holes)


def _said(where: str, what: str, hint: str = "") -> Finding:
    return Finding(severity=Severity.NOTE, where=where, what=what, hint=hint)


def divide(
    parts: Regions, name: str, findings: list[Finding]
) -> tuple[Region, Regions, list[tuple[Regions, float]]]:
    """Outline, panes, and dark blots inside panes that hold nothing themselves (with widths).

    parts : of the leading
    """
    whole = _largest(parts)
    outline = Region(whole.outer)
    hull = Area.of((outline,))
    rings = [whole]
    blots: list[tuple[Regions, float]] = []
    outside = 0
    for part in parts:
        if part is whole:
            continue
        if not hull.holds(part.outer[0]):
            outside += 1
        elif _goes_round(part):
            rings.append(part)
        else:
            box = part.box
            blots.append(((part,), max(1e-3, min(box.width, box.height))))
    if outside:
        findings.append(
            Finding(
                severity=Severity.WARNING,
                where=name,
                what=f"{counted(outside, 'dark part')} outside the window's outline left out",
                hint="join them to the window, or remove them",
            )
        )
    if blots:
        findings.append(
            _said(
                name,
                f"{counted(len(blots), 'dark mark')} touching no lead: painted on the glass",
                "give them the role lead and join them to a lead if they are leads",
            )
        )
    found = (
        [sound_region(hole) for hole in whole.holes]
        if len(rings) == 1
        else (hull - Area.of(rings)).regions()
    )
    panes = tuple(region for region in found if region.area_mm2 > LEAST_PANE_MM2)
    if len(panes) < len(found):
        findings.append(
            _said(
                name, f"{counted(len(found) - len(panes), 'speck')} between leads filled with lead"
            )
        )
    if not panes:
        raise DrawingError(
            name, "the leads leave no glass between them", "draw them thinner, or larger"
        )
    return outline, panes, blots


def _told(layers: Layers, places: Sequence[Point]) -> list[Told]:
    leads = [i for i, ink in enumerate(layers.inks) if ink is Ink.LEAD]
    held = last_holding(places, _set(layers, leads))
    told = [Told(role=layers.roles[i], width_mm=layers.widths[i]) for i in leads]
    return [told[i] if i >= 0 else Told() for i in held]
