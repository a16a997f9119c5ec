"""A drawing looked over: what stands in the way of a window, what will be hard to make.

Each remark tells the place, the value against its limit, and what to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from glasswork.drawing.inks import Roles, Stroke
from glasswork.drawing.lines import lead_strokes
from glasswork.drawing.looks import (
    acute_corners,
    double_strokes,
    floating_leads,
    half_held_leads,
    loose_ends,
    overlapping_strokes,
    small_panes,
    thin_leads,
    unparted_colours,
)
from glasswork.drawing.make import as_line_art, check_sized, drawn_window
from glasswork.drawing.net import build_net
from glasswork.drawing.sizing import drawing_to_panel
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Affine
from glasswork.model.window import LineArt, Scan, Sizing, Window


class Limits(Struct, frozen=True, kw_only=True):
    """What counts as too small, in mm of the finished panel.

    cut_mm : narrowest lead that can be cut (cutter and board say)
    pane_mm : narrowest pane that is seen and printed well; pane_mm2 : smallest area of one
    corner_deg : sharpest corner of glass that a blade cuts out cleanly
    miss_mm : a line that ends this near to another was meant to reach it

    Source: common practice, except cut_mm, which the caller takes from cutter and board
    """

    cut_mm: float = 1.0
    pane_mm: float = 0.8
    pane_mm2: float = 1.5
    corner_deg: float = 20.0
    miss_mm: float = 1.5


class Inspection(Struct, frozen=True, kw_only=True):
    """What was found, worst first, and the window if the drawing makes one.

    art : the drawing in panel millimetres, to draw the marks over
    """

    art: LineArt
    window: Window | None
    findings: tuple[Finding, ...]

    @property
    def usable(self) -> bool:
        return self.window is not None


def inspect_drawing(
    art: LineArt | Scan,
    *,
    roles: Mapping[str, str],
    sizing: Sizing,
    limits: Limits | None = None,
) -> Inspection:
    """Everything worth knowing of a drawing before it is composed.

    Raises: DrawingError, if the drawing holds nothing at all, or tells no size and none is given
    """
    limits = limits or Limits()
    art, found = as_line_art(art)
    check_sized(art, sizing)
    findings: list[Finding] = list(found)
    known = Roles(roles, where=art.name)
    window: Window | None = None
    place = Affine()
    try:
        drawn, remarks = drawn_window(art, roles=roles)
        place, spare = drawing_to_panel(drawn, sizing)
        window = drawn.mapped(place, width_factor=place.a)
        findings += [_moved(remark, place) for remark in remarks]
        findings += spare
    except DrawingError as fault:
        findings += [
            Finding(severity=Severity.DECISION, where=one.where, what=one.what, hint=one.hint)
            for one in fault.each()
        ]
    strokes = lead_strokes(art, known)
    findings += [_moved(f, place) for f in _of_lines(art.name, strokes, limits, place.a)]
    if window is not None:
        findings += small_panes(window, limits.pane_mm, limits.pane_mm2)
        findings += thin_leads(window, limits.cut_mm)
        findings += acute_corners(window, limits.corner_deg)
        findings += floating_leads(window)
        findings += half_held_leads(window, findings)
        findings += [_moved(f, place) for f in unparted_colours(art, drawn)]
    return Inspection(art=_placed(art, place), window=window, findings=_ordered(findings))


def _of_lines(name: str, strokes: list[Stroke], limits: Limits, factor: float) -> Iterable[Finding]:
    """Remarks on lead lines, before anything is made of them."""
    if not strokes:
        return
    yield from double_strokes(name, strokes)
    net = build_net(strokes)
    yield from overlapping_strokes(name, strokes, net)
    yield from loose_ends(name, strokes, net, miss_mm=limits.miss_mm / factor)


def _placed(art: LineArt, place: Affine) -> LineArt:
    """The drawing in panel millimetres."""
    if place == Affine():
        return art
    return replace(
        art,
        marks=tuple(
            replace(
                mark,
                paths=tuple((place.ring(points), closed) for points, closed in mark.paths),
                area=tuple(region.mapped(place) for region in mark.area),
                width_mm=mark.width_mm * place.a,
            )
            for mark in art.marks
        ),
    )


def _moved(finding: Finding, place: Affine) -> Finding:
    if finding.place is None:
        return finding
    return replace(finding, place=place.apply(finding.place))


def _ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    rank = {Severity.DECISION: 0, Severity.WARNING: 1, Severity.NOTE: 2}
    return tuple(sorted(findings, key=lambda finding: rank[finding.severity]))
