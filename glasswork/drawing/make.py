"""A drawing becomes a window: outline, panes, members, paint; or a clear refusal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from glasswork.drawing.areas import leaded_by_area
from glasswork.drawing.dashes import drawn_paths
from glasswork.drawing.gapped import leaded_by_gaps
from glasswork.drawing.gaps import no_pane
from glasswork.drawing.inks import Roles, dark_fill, paint_tone, pen_of
from glasswork.drawing.lines import leaded_by_lines
from glasswork.drawing.members import Leaded, members_of
from glasswork.drawing.pane_ids import place_ids, reading_order
from glasswork.drawing.sizing import at_size, drawing_to_panel
from glasswork.drawing.widths import idle_widths, with_widths
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Point, Region
from glasswork.model.window import LineArt, Mark, PaintStroke, Pane, Role, Scan, Sizing, Window
from glasswork.planar import Area, AreaSet, drawn, inner_points, last_holding

ROUNDS = 12
STEADY = 1e-9
"""How often lines are drawn anew until the drawing's factor changes by no more than this share."""


def make_window(
    art: LineArt | Scan,
    *,
    roles: Mapping[str, str],
    sizing: Sizing,
    widths: Mapping[Role, float] | None = None,
) -> tuple[Window, tuple[Finding, ...]]:
    """The window that a drawing shows, at the size wished for, its corner at (0, 0).

    roles : name, or a rule such as "stroke>=2.5", to border, mullion, bar, lead or paint
    widths : role -> width of its strokes in mm of the finished panel, whatever they are drawn
    Raises: DrawingError, if it encloses no pane, its outline is open, or no size is known
    """
    art, traced = as_line_art(art)
    check_sized(art, sizing)
    window, findings = (
        _widened(art, roles, (widths, sizing)) if widths else drawn_window(art, roles=roles)
    )
    sized, remarks = at_size(window, sizing)
    return sized, (*traced, *findings, *remarks)


def _widened(
    art: LineArt, roles: Mapping[str, str], wanted: tuple[Mapping[Role, float], Sizing]
) -> tuple[Window, tuple[Finding, ...]]:
    """The window of the drawing with lines that are as wide as wanted once it is at its size.

    The border's width changes the outline and with it the factor: settled in a few rounds.
    """
    widths, sizing = wanted
    known = Roles(roles, where=art.name)
    window, findings = drawn_window(art, roles=roles)
    factor = 0.0
    for _ in range(ROUNDS):
        place, _ = drawing_to_panel(window, sizing)
        if abs(place.a - factor) <= STEADY * place.a:
            break
        factor = place.a
        drawn = with_widths(art, known, {role: mm / factor for role, mm in widths.items()})
        window, findings = drawn_window(drawn, roles=roles)
    return window, (*idle_widths(art, known, widths), *findings)


def as_line_art(art: LineArt | Scan) -> tuple[LineArt, tuple[Finding, ...]]:
    """Any drawing as line art: a scan is traced.

    Raises: DrawingError, if a scan shows no line
    """
    if isinstance(art, LineArt):
        return art, ()
    from glasswork.drawing.trace import trace_scan

    found = trace_scan(art)
    return found.art, found.findings


def check_sized(art: LineArt, sizing: Sizing) -> None:
    """Raises: DrawingError, if neither the drawing nor the settings tell a size"""
    if not art.sized and not (sizing.width_mm or sizing.height_mm or sizing.opening_mm):
        raise DrawingError(
            art.name, "the drawing tells no size", "write its width in mm into it, or give a width"
        )


def drawn_window(art: LineArt, *, roles: Mapping[str, str]) -> tuple[Window, tuple[Finding, ...]]:
    """The window as it lies in the drawing, in the drawing's own millimetres.

    Raises: DrawingError, if it encloses no pane or its outline is open
    """
    if not art.marks:
        raise DrawingError(art.name, "the drawing holds no line", "draw the leads as strokes")
    known = Roles(roles, where=art.name)
    findings = [_warning(art.name, note) for note in art.notes]
    found = (
        leaded_by_lines(art, known, findings)
        or leaded_by_area(art, known, findings)
        or leaded_by_gaps(art, known, findings)
    )
    if found is None:
        raise no_pane(art)
    if not found.panes:
        raise DrawingError(
            art.name, "the leads leave no glass between them", "draw them thinner, or larger"
        )
    window = window_of(art.name, found, fills=_Fills(art, known))
    for name in known.unused():
        findings.append(
            _warning(f"{art.name}, roles", f'nothing in the drawing bears the name "{name}"')
        )
    return window, tuple(findings)


def window_of(name: str, found: Leaded, *, fills: _Fills | None = None) -> Window:
    """The window of an outline, its glass and its leads: named, ordered, coloured."""
    box = found.outline.box
    seeds = inner_points(found.panes)
    order = reading_order(seeds, box)
    seeds = tuple(seeds[i] for i in order)
    colours = fills.at(seeds) if fills is not None else [None] * len(seeds)
    names = place_ids("P", seeds, box)
    return Window(
        name=name,
        outline=found.outline,
        panes=tuple(
            Pane(id=id_, region=found.panes[i], seed_point=seed, fill=colour)
            for id_, i, seed, colour in zip(names, order, seeds, colours, strict=True)
        ),
        members=members_of(found.leads, found.outline),
        paint=found.paint + (fills.painted(found.outline) if fills is not None else ()),
    )


class _Fills:
    """What the drawing's glass colours and painted lines are."""

    def __init__(self, art: LineArt, roles: Roles) -> None:
        self._light = [
            (mark.fill, region)
            for mark in art.marks
            if mark.fill is not None and not dark_fill(mark) and roles.of(mark) is not Role.PAINT
            for region in mark.area
        ]
        self._paint = [mark for mark in art.marks if roles.of(mark) is Role.PAINT]

    def at(self, places: Sequence[Point]) -> list[str | None]:
        """The colour last painted at each place."""
        if not self._light:
            return [None] * len(places)
        held = last_holding(places, AreaSet.of_regions([region for _, region in self._light]))
        return [self._light[i][0] if i >= 0 else None for i in held]

    def painted(self, outline: Region) -> tuple[PaintStroke, ...]:
        """The marks with the role paint, inside the outline."""
        hull = Area.of((Region(outline.outer),))
        found = []
        for mark in self._paint:
            area = _mark_area(mark) & hull
            if not area.is_empty:
                box = area.bounds
                wide = mark.width_mm or max(1e-3, min(box.width, box.height))
                tone = paint_tone(mark.stroke or mark.fill)
                found.append(PaintStroke(area=area.regions(), width_mm=wide, tone=tone))
        return tuple(found)


def _mark_area(mark: Mark) -> Area:
    if mark.stroke is None:
        return Area.of(mark.area)
    paths = drawn_paths(mark)
    return drawn(paths, [pen_of(mark)] * len(paths)).joined()


def _warning(where: str, what: str) -> Finding:
    return Finding(severity=Severity.WARNING, where=where, what=what)
