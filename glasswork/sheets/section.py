"""A level section through the panel's left side, true to scale: border, film and first lead."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from glasswork.model.frame import Face, Fit, FrameLayer, Level
from glasswork.model.geometry import Box, Region
from glasswork.model.sheet import Colour, Fill, Item, Line, Lines, Text
from glasswork.planar import Area
from glasswork.sheets.dimensions import CAP_MM, SMALL_PT, level_dimension, upright_dimension
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.hatch import hatch_lines
from glasswork.sheets.marks import rectangle
from glasswork.sheets.tint import BOARD, BOARD_EDGE, BOARD_RAISED, DIMENSION, WALL, lit_colour

_HAIR_MM: Final = 0.02
_MOST_SCALE: Final = 6.0
_WALL_MM: Final = 4.0
_BEYOND_MM: Final = 5.0
_DEEPEST_MM: Final = 45.0
"""How far into the panel the section reaches at most."""

_BEFORE_MM, _BESIDE_MM, _ABOVE_MM, _BELOW_MM = 9.0, 58.0, 8.0, 15.0
"""Room for figures round the section, on the page."""
_FIRST_ROW_MM, _ROW_MM = 4.6, 4.4
"""From the front to the first measure below it, and to the next."""
_FIGURE_MM, _VIEWER_MM = 22.0, 26.0
"""Width of the longest measure, and of the words for the viewer, on the page."""
_MOST_HIGH_MM: Final = 70.0
_CANDIDATES: Final = 24

Spans = tuple[tuple[float, float], ...]


class _Course(Struct, frozen=True, kw_only=True):
    """One layer of the section: what it covers across, and where it lies in the thickness."""

    name: str
    spans: Spans
    front_mm: float
    thick_mm: float
    colour: Colour
    board: bool


def section_height_mm(facts: GuideFacts, at: float, width_mm: float) -> float:
    """How high the section at a height of the panel is drawn in a column of this width."""
    return _thick(facts) * _scale(facts, at, width_mm) + _ABOVE_MM + _BELOW_MM


def section(facts: GuideFacts, at: float, box: Box) -> tuple[Item, ...]:
    """The section at a height of the panel, front below, its layers named and measured."""
    courses = _courses(facts, at)
    left = _edge(facts, at)
    scale = _scale(facts, at, box.width)
    inset = (_WALL_MM + facts.plan.fit.clearance_mm - left) * scale
    draw = _Scaled(left=box.left + _BEFORE_MM + inset, base=box.bottom - _BELOW_MM, scale=scale)
    end = _reach(facts, at)
    items: list[Item] = [*_wall(draw, left, facts)]
    for course in courses:
        items += _course(draw, course, end)
    items += _glass(draw, courses, facts, at, end)
    items += _names(draw, courses, end, box)
    items += _measures(draw, facts, courses, (left, end))
    items += _viewer(draw, courses, end, facts.plan.fit.thickness_mm)
    return tuple(items)


def _thick(facts: GuideFacts) -> float:
    return max(facts.plan.fit.thickness_mm, facts.plan.fit.recess_mm or 0.0)


def _scale(facts: GuideFacts, at: float, width_mm: float) -> float:
    """Page mm for each mm of the panel."""
    depth = _reach(facts, at) - _edge(facts, at)
    room = width_mm - _BEFORE_MM - _BESIDE_MM
    across = depth + facts.plan.fit.clearance_mm + _WALL_MM
    return min(_MOST_SCALE, room / across, _MOST_HIGH_MM / _thick(facts))


class _Scaled(Struct, frozen=True, kw_only=True):
    """Panel mm across and thickness from the front, to page mm; the front lies below."""

    left: float
    base: float
    scale: float

    def x(self, panel_mm: float) -> float:
        return self.left + panel_mm * self.scale

    def y(self, from_front_mm: float) -> float:
        return self.base - from_front_mm * self.scale

    def box(self, span: tuple[float, float], front_mm: float, thick_mm: float) -> Box:
        return Box(self.x(span[0]), self.y(front_mm + thick_mm), self.x(span[1]), self.y(front_mm))


def cut_at(facts: GuideFacts) -> float:
    """The height of the cut: where a cut lead comes soonest after the border; where none does, at
    the narrowest border.
    """
    panes = sorted(facts.window.panes, key=lambda pane: pane.region.box.left)[:_CANDIDATES]
    shape = _inner(facts)

    def soonest(at: float) -> tuple[bool, float]:
        spans = [span for span in _spans(shape, at) if span[1] - span[0] > 0.5]
        edge = _edge(facts, at)
        if len(spans) > 1 and spans[1][1] + _BEYOND_MM < edge + _DEEPEST_MM:
            return (False, spans[1][1] - edge)
        return (True, spans[0][1] - spans[0][0] if spans else float("inf"))

    return min((pane.seed_point[1] for pane in panes), key=soonest)


def _edge(facts: GuideFacts, at: float) -> float:
    """The panel's left edge at this height."""
    return _spans(Area.of([facts.plan.outline]), at)[0][0]


def _inner(facts: GuideFacts) -> Area:
    """The front inner layer without its ears."""
    pieces = next(
        layer.pieces
        for layer in facts.plan.layers
        if layer.level is Level.INNER and layer.face is Face.FRONT
    )
    return Area.of(pieces) & Area.of([facts.plan.outline])


def _spans(shape: Area, at: float) -> Spans:
    """What a level line at this height crosses."""
    if shape.is_empty:
        return ()
    bounds = shape.bounds
    strip = Area.box(Box(bounds.left - 1.0, at - _HAIR_MM, bounds.right + 1.0, at + _HAIR_MM))
    boxes = [part.box for part in (shape & strip).regions()]
    return tuple(sorted((box.left, box.right) for box in boxes))


def _courses(facts: GuideFacts, at: float) -> list[_Course]:
    """Front to back, each with its place in the thickness."""
    plan = facts.plan
    panel = Area.of([plan.outline])
    by_name = {
        f"{layer.face.value} {layer.level.value}": layer
        for layer in plan.layers
        if layer.level is not Level.RETAINER
    }
    film = _spans(Area.of([plan.film_trim]) & panel, at)
    courses, front = [], 0.0
    for name, thick in plan.fit.layers_mm:
        layer = by_name.get(name)
        if layer is not None:
            shape = Area.of(layer.pieces) & panel
            courses.append(_board(layer, name, _spans(shape, at), front))
        elif name.startswith("film"):
            courses.append(
                _Course(name=name, spans=film, front_mm=front, thick_mm=thick,
                        colour=DIMENSION, board=False)
            )  # fmt: skip
        front += thick
    return courses


def _board(layer: FrameLayer, name: str, spans: Spans, front: float) -> _Course:
    return _Course(
        name=name,
        spans=spans,
        front_mm=front,
        thick_mm=layer.thickness_mm,
        colour=BOARD_RAISED if layer.level is Level.OUTER else BOARD,
        board=True,
    )


def _reach(facts: GuideFacts, at: float) -> float:
    """To a little beyond the first lead inside the border, or as far as is drawn at most."""
    left = _edge(facts, at)
    spans = _spans(_inner(facts), at)
    if len(spans) > 1 and spans[1][1] + _BEYOND_MM < left + _DEEPEST_MM:
        return spans[1][1] + _BEYOND_MM
    first = spans[0][1] if spans else left
    return min(left + _DEEPEST_MM, first + 18.0, facts.plan.outline.box.right)


def _course(draw: _Scaled, course: _Course, end: float) -> list[Item]:
    boxes = [
        draw.box((left, min(right, end)), course.front_mm, course.thick_mm)
        for left, right in course.spans
        if left < end
    ]
    areas = tuple(map(rectangle, boxes))
    if not course.board:
        return [Fill(area=(area,), colour=course.colour) for area in areas]
    items: list[Item] = []
    for area in areas:
        hatch = hatch_lines((area.outer,), pitch_mm=1.6, angle_deg=-45.0)
        items += [
            Fill(area=(area,), colour=course.colour),
            Lines(paths=hatch, width_mm=0.08, colour=BOARD_EDGE),
        ]
    rings = tuple(area.outer for area in areas)
    items.append(Lines(paths=rings, width_mm=0.2, colour=BOARD_EDGE, closed=True))
    return items


def _glass(
    draw: _Scaled, courses: list[_Course], facts: GuideFacts, at: float, end: float
) -> list[Item]:
    """The inked parts of the films, in the colours of the glass that the cut meets."""
    colours = {glass.glass: lit_colour(glass) for glass in facts.separation.glasses}
    limits = dict(facts.plan.glass_limit)
    films = [course for course in courses if not course.board]
    items: list[Item] = []
    for pane in facts.window.panes:
        box = pane.region.box
        if not box.top - 2.0 <= at <= box.bottom + 2.0 or box.left > end:
            continue
        spans = _spans(Area.of(limits.get(pane.id) or (pane.region,)), at)
        for course in films:
            items += [
                Fill(
                    area=(
                        rectangle(
                            draw.box((left, min(right, end)), course.front_mm, course.thick_mm)
                        ),
                    ),
                    colour=colours[pane.glass or ""],
                )
                for left, right in spans
                if left < end
            ]
    return items


def _wall(draw: _Scaled, edge: float, facts: GuideFacts) -> list[Item]:
    """The side of the opening, a clearance away from the panel."""
    right = edge - facts.plan.fit.clearance_mm
    thick = facts.plan.fit.recess_mm or facts.plan.fit.thickness_mm
    box = draw.box((right - _WALL_MM, right), 0.0, max(thick, 0.5))
    hatch = hatch_lines((rectangle(box).outer,), pitch_mm=2.2, angle_deg=45.0)
    side = ((box.right, box.top), (box.right, box.bottom))
    return [
        Fill(area=(rectangle(box),), colour=WALL),
        Lines(paths=hatch, width_mm=0.08, colour=(170, 170, 170)),
        Line(points=side, width_mm=0.25, colour=DIMENSION),
    ]


def _names(draw: _Scaled, courses: list[_Course], end: float, box: Box) -> list[Item]:
    """Each layer's name and thickness at the right, led to its middle, evenly apart."""
    step = 4.4
    middle = draw.y(sum(c.front_mm + c.thick_mm / 2.0 for c in courses) / len(courses))
    first = middle - step * (len(courses) - 1) / 2.0
    x = box.right - 46.0
    items: list[Item] = []
    for row, course in enumerate(reversed(courses)):
        y = first + step * row
        inside = [span for span in course.spans if span[0] < end]
        named = f"{course.name}  {course.thick_mm:g} mm" + ("" if inside else " (elsewhere)")
        items.append(Text(at=(x, y + CAP_MM / 2.0), text=named, size_pt=7.5, colour=DIMENSION))
        if inside:
            tip = draw.x(min(inside[-1][1], end)) - 0.6
            target = draw.y(course.front_mm + course.thick_mm / 2.0)
            bent = ((tip, target), (draw.x(end) + 1.5, target), (x - 2.5, y), (x - 1, y))
            items.append(Line(points=bent, width_mm=0.1, colour=DIMENSION))
    return items


def _measures(
    draw: _Scaled, facts: GuideFacts, courses: list[_Course], shown: tuple[float, float]
) -> list[Item]:
    """Thickness at the left, border and clearance below.

    shown : from the panel's edge as far as the section reaches; a border that runs on beyond it is
        measured and drawn no further
    """
    fit: Fit = facts.plan.fit
    edge, end = shown
    wall = edge - fit.clearance_mm - _WALL_MM
    top = draw.y(fit.thickness_mm)
    items = upright_dimension((top, draw.y(0.0)), draw.x(wall) - 3.0, f"{fit.thickness_mm:.2f} mm")
    for row, (name, (left, right)) in enumerate(_borders(courses, end)):
        y = draw.y(0.0) + _FIRST_ROW_MM + _ROW_MM * row
        items += level_dimension(
            (draw.x(left), draw.x(min(right, end))), y, f"{name} {right - left:.1f} mm"
        )
    gap = f"clearance {fit.clearance_mm:g} mm"
    items.append(
        Text(
            at=(draw.x(wall), draw.y(_thick(facts)) - 1.4),
            text=gap,
            size_pt=SMALL_PT,
            colour=DIMENSION,
        )
    )
    return items


def _borders(courses: list[_Course], end: float) -> list[tuple[str, tuple[float, float]]]:
    """The border's layers on the front that the section shows, and what they span."""
    return [
        (level.value, course.spans[0])
        for level in (Level.INNER, Level.OUTER)
        for course in courses
        if course.name == f"front {level.value}" and course.spans and course.spans[0][0] < end
    ]


def _viewer(draw: _Scaled, courses: list[_Course], end: float, total: float) -> list[Item]:
    """Light comes from behind; the viewer stands before the front, told beside the measures, or
    below them where they leave no room.
    """
    top, x = draw.y(total), draw.x(end)
    measured = [
        (draw.x(left), draw.x(min(right, end))) for _, (left, right) in _borders(courses, end)
    ]
    room = x - max(
        [max(right, (left + right + _FIGURE_MM) / 2.0) for left, right in measured], default=0.0
    )
    rows = len(measured) if room < _VIEWER_MM else 0
    arrows = []
    for k in range(3):
        at = x - 4.0 - 6.0 * k
        arrows.append(
            Region(
                (
                    (at, top - 1.2), (at - 0.9, top - 3.2), (at - 0.25, top - 3.2),
                    (at - 0.25, top - 6.0), (at + 0.25, top - 6.0), (at + 0.25, top - 3.2),
                    (at + 0.9, top - 3.2),
                )
            )
        )  # fmt: skip
    words = Text(
        at=(x - 20.0, top - 3.0), text="light", size_pt=7.5, anchor="end", colour=DIMENSION
    )
    front = Text(
        at=(x, draw.y(0.0) + _FIRST_ROW_MM + _ROW_MM * rows), text="front: the viewer",
        size_pt=7.5, anchor="end", colour=DIMENSION,
    )  # fmt: skip
    return [Fill(area=tuple(arrows), colour=(232, 178, 46)), words, front]
