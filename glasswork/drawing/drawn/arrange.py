"""Leads laid into an opening: cut off at its edge, divided where they meet, and the panes between.

Exact: lines and arcs meet where they meet, and panes are closed by the same lines and arcs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from math import atan2, hypot

from msgspec import Struct

from glasswork.drawing.drawn.curves import (
    NEAR_MM,
    Arc,
    Curve,
    Line,
    Loop,
    area_mm2,
    inside,
    meetings,
)
from glasswork.model.geometry import Box, Point

_SAME_MM = 1e-6
_LOOK_MM = 0.02
_RIM, _HOLE = -1, -2


class Field(Struct, frozen=True, kw_only=True):
    """An opening divided. panes : loops of curves, clockwise · leads : runs of curves"""

    panes: tuple[Loop, ...]
    leads: tuple[tuple[Curve, ...], ...]


@dataclass(slots=True)
class _Edge:
    """A piece between two corners; `source` is the lead it came from, or _RIM or _HOLE."""

    curve: Curve
    a: int
    b: int
    source: int


@dataclass(slots=True)
class _Corners:
    """Places numbered, near ones the same."""

    places: list[Point] = field(default_factory=list)
    cells: dict[tuple[int, int], list[int]] = field(default_factory=dict)

    def number(self, point: Point) -> int:
        x, y = (round(v / _SAME_MM / 4.0) for v in point)
        for cell in ((x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)):
            for known in self.cells.get(cell, ()):
                other = self.places[known]
                if hypot(point[0] - other[0], point[1] - other[1]) < _SAME_MM:
                    return known
        self.places.append(point)
        self.cells.setdefault((x, y), []).append(len(self.places) - 1)
        return len(self.places) - 1


class Least(Struct, frozen=True, kw_only=True):
    """What a pane must show: glass in mm², and how wide (twice its area over its edge) in mm,
    once half the widths of its leads and of the rim are taken off.
    """

    area_mm2: float = 0.0
    wide_mm: float = 0.0
    half_lead_mm: float = 0.0
    half_rim_mm: float = 0.0

    def fits(self, area: float, sides: Sequence[tuple[float, bool]]) -> bool:
        """sides : lengths, each with whether it is the rim's"""
        half = (self.half_lead_mm, self.half_rim_mm)
        glass = area - sum(size * half[rim] for size, rim in sides)
        around = sum(size for size, _ in sides)
        return glass >= self.area_mm2 and 2.0 * glass / around >= self.wide_mm


def divide(
    opening: Loop,
    leads: Sequence[Curve],
    *,
    holes: Sequence[Loop] = (),
    least: Least | None = None,
) -> Field:
    """The opening divided by leads; what of them lies outside it, or in a hole, is cut off.

    A pane that shows less than the least is joined to the neighbour across its longest lead.
    """
    edges, corners = _pieces(opening, leads, holes)
    edges = _without_loose(edges)
    while True:
        faces = _faces(edges, corners)
        gone = _too_small(edges, faces, least) if least is not None else set()
        if not gone:
            break
        edges = _without_loose([edge for i, edge in enumerate(edges) if i not in gone])
    panes = tuple(
        tuple(edges[i].curve if ahead else edges[i].curve.back() for i, ahead in face)
        for face in faces
        if any(edges[i].source != _HOLE for i, _ in face)
    )
    return Field(panes=panes, leads=_runs(edges))


def _pieces(
    opening: Loop, leads: Sequence[Curve], holes: Sequence[Loop]
) -> tuple[list[_Edge], _Corners]:
    """Every curve cut where it meets another; leads outside the opening left out."""
    rim = [(curve, _RIM) for curve in opening]
    rim += [(curve, _HOLE) for hole in holes for curve in hole]
    every = [*rim, *((curve, i) for i, curve in enumerate(leads))]
    cuts: list[list[float]] = [[0.0, 1.0] for _ in every]
    boxes = [_box(curve) for curve, _ in every]
    for i, j in combinations(range(len(every)), 2):
        one, other = boxes[i], boxes[j]
        apart = one.left > other.right or other.left > one.right
        if apart or one.top > other.bottom or other.top > one.bottom:
            continue
        for place in meetings(every[i][0], every[j][0]):
            cuts[i].append(every[i][0].where(place))
            cuts[j].append(every[j][0].where(place))
    corners = _Corners()
    edges: list[_Edge] = []
    drawn: set[tuple[int, int, int]] = set()
    for (curve, source), at in zip(every, cuts, strict=True):
        for t0, t1 in pairwise(sorted(min(1.0, max(0.0, t)) for t in at)):
            piece = curve.part(t0, t1)
            if piece.length_mm < _SAME_MM:
                continue
            if source >= 0 and not _kept(piece, opening, holes):
                continue
            a, b = corners.number(piece.start), corners.number(piece.end)
            once = (min(a, b), max(a, b), corners.number(piece.at(0.5)))
            if once not in drawn:
                drawn.add(once)
                edges.append(_Edge(piece, a, b, source))
    return edges, corners


def _kept(piece: Curve, opening: Loop, holes: Sequence[Loop]) -> bool:
    """The piece lies inside the opening, not along its edge, and in no hole."""
    middle = piece.at(0.5)
    if any(curve.distance_mm(middle) < 10.0 * NEAR_MM for curve in opening):
        return False
    return inside(middle, opening) and not any(inside(middle, hole) for hole in holes)


def _box(curve: Curve) -> Box:
    if isinstance(curve, Line):
        return Box.around((curve.a, curve.b)).grown(_SAME_MM)
    (x, y), r = curve.centre, curve.radius + _SAME_MM
    return Box(x - r, y - r, x + r, y + r)


def _without_loose(edges: list[_Edge]) -> list[_Edge]:
    """Without leads that end in the middle of a pane."""
    while True:
        degree: dict[int, int] = {}
        for edge in edges:
            for corner in (edge.a, edge.b):
                degree[corner] = degree.get(corner, 0) + 1
        kept = [e for e in edges if e.source < 0 or min(degree[e.a], degree[e.b]) > 1]
        if len(kept) == len(edges):
            return edges
        edges = kept


_Face = list[tuple[int, bool]]


def _faces(edges: list[_Edge], corners: _Corners) -> list[_Face]:
    """Every bounded face as its edges in turn, each with whether it is passed from a to b."""
    leaving: dict[int, list[tuple[float, int, bool]]] = {}
    for index, edge in enumerate(edges):
        for corner, ahead in ((edge.a, True), (edge.b, False)):
            angle = _heading(edge.curve if ahead else edge.curve.back(), corners.places[corner])
            leaving.setdefault(corner, []).append((angle, index, ahead))
    after: dict[tuple[int, bool], tuple[int, bool]] = {}
    for around in leaving.values():
        around.sort()
        for k, (_, index, ahead) in enumerate(around):
            _, following, onward = around[k - 1]
            after[index, not ahead] = (following, onward)
    found: list[_Face] = []
    seen: set[tuple[int, bool]] = set()
    for start in sorted(after):
        if start in seen:
            continue
        face = [start]
        while (step := after[face[-1]]) != start:
            face.append(step)
        seen.update(face)
        if area_mm2(edges[i].curve if f else edges[i].curve.back() for i, f in face) > 0.0:
            found.append(face)
    return found


def _heading(curve: Curve, corner: Point) -> float:
    """The direction a little way along: arcs that touch part by their bend."""
    look = curve.at(min(0.5, _LOOK_MM / curve.length_mm))
    return atan2(look[1] - corner[1], look[0] - corner[0])


def _too_small(edges: list[_Edge], faces: list[_Face], least: Least) -> set[int]:
    """Leads to leave out so that panes under the limits join a neighbour; no two at one pane."""
    owner: dict[int, list[int]] = {}
    for number, face in enumerate(faces):
        for index, _ in face:
            owner.setdefault(index, []).append(number)
    gone: set[int] = set()
    touched: set[int] = set()
    for face in faces:
        area = area_mm2(edges[i].curve if f else edges[i].curve.back() for i, f in face)
        if least.fits(area, [(edges[i].curve.length_mm, edges[i].source < 0) for i, _ in face]):
            continue
        own = [i for i, _ in face if edges[i].source >= 0 and len(set(owner[i])) == 2]
        own = [i for i in own if not touched & set(owner[i])]
        if own:
            longest = max(own, key=lambda i: edges[i].curve.length_mm)
            gone.add(longest)
            touched |= set(owner[longest])
    return gone


def _runs(edges: list[_Edge]) -> tuple[tuple[Curve, ...], ...]:
    """The leads that are left, pieces of one lead that follow each other joined again."""
    found: list[tuple[Curve, ...]] = []
    last: _Edge | None = None
    for edge in edges:
        if edge.source < 0:
            continue
        if last is not None and last.source == edge.source and last.b == edge.a:
            found[-1] = (_joined(found[-1][0], edge.curve),)
        else:
            found.append((edge.curve,))
        last = edge
    return tuple(found)


def _joined(one: Curve, other: Curve) -> Curve:
    """Two pieces of the same line or circle, end to end."""
    if isinstance(one, Line) and isinstance(other, Line):
        return Line(one.a, other.b)
    assert isinstance(one, Arc)
    assert isinstance(other, Arc)
    return Arc(one.centre, one.radius, one.start_rad, one.sweep_rad + other.sweep_rad)
