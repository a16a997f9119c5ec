"""Faces of a net moved inwards by half the width of their leads: where glass ends and lead begins.

Each half-edge gets the two points of its face's glass edge that belong to its ends. Between the
lines and these points lies that half of the lead. A face whose corners or edges do not come out
(a curve tighter than the lead, a line's square end in the open) is rough and left to the polygon
engine.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, ceil, cos, pi, sin

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.inks import Stroke
from glasswork.drawing.net import Floats, Ints, Net

GENTLE_RAD = 0.2
"""A corner that turns outwards less than this is drawn sharp whatever the pen's join."""
ARC_STEP_RAD = pi / 24.0
SHORTEST_MM = 1e-7

Bools = NDArray[np.bool_]


class Inset(Struct, frozen=True, kw_only=True):
    """Where the glass edge runs along each half-edge.

    near : (2n, 2) its point at the half-edge's start
    tails : half-edge → further points at its stop, before the next half-edge's near
    rough : (faces,) those that the polygon engine must do
    """

    near: Floats
    tails: dict[int, Floats]
    rough: Bools

    def along(self, halves: Sequence[int]) -> list[Floats]:
        """The glass edge along consecutive half-edges, without the last one's end."""
        found = []
        for half in halves:
            found.append(self.near[half : half + 1])
            tail = self.tails.get(half)
            if tail is not None:
                found.append(tail)
        return found


def inset(net: Net, strokes: Sequence[Stroke]) -> Inset:
    """The glass edges of all faces, the outer one's running round the panel outside."""
    half_width = np.array([s.pen.width_mm / 2.0 for s in strokes])[net.source]
    radius = np.concatenate([half_width, half_width])
    way = net.stops - net.starts
    length = np.hypot(way[:, 0], way[:, 1])
    way = way / length[:, None]
    normal = np.stack([-way[:, 1], way[:, 0]], axis=1)
    after = net.following
    turn = way[:, 0] * way[after, 1] - way[:, 1] * way[after, 0]
    same = (way * way[after]).sum(axis=1)
    r1, r2 = radius, radius[after]
    corner = net.stops

    with np.errstate(divide="ignore", invalid="ignore"):
        # corner + x along way + r1 along normal, the same as seen from the next half-edge
        x = (r1 * same - r2) / turn
        meet = corner + normal * r1[:, None] + way * x[:, None]
    first = corner + normal * r1[:, None]
    second = corner + normal[after] * r2[:, None]
    angle = np.arctan2(turn, same)
    straight = np.abs(angle) < 1e-6
    even = np.abs(r1 - r2) < 1e-9
    rough_corner = np.abs(angle) > pi - 1e-4
    single = ~straight & ((angle > 0.0) | ((angle > -GENTLE_RAD) & even))
    end = np.where(single[:, None], meet, first)
    begin = np.where(single[:, None], meet, second)
    two = (straight & ~even) | (~single & ~straight)

    tails: dict[int, Floats] = {}
    stepped = np.flatnonzero(straight & ~even)
    for half in stepped.tolist():
        tails[half] = end[half : half + 1]
    for half in np.flatnonzero(two & ~straight & ~rough_corner).tolist():
        tail = _outer_corner(net, strokes, half, (float(angle[half]), float(radius[half])))
        if tail is None or not even[half]:
            rough_corner[half] = True
        elif tail.shape[0] == 0:
            point = meet[half]
            end[half] = begin[half] = point
        else:
            end[half], tails[half] = first[half], np.concatenate([first[half : half + 1], tail])
    near = np.empty_like(begin)
    near[after] = begin
    run = ((end - near) * way).sum(axis=1)
    bad = rough_corner | (run < SHORTEST_MM) | ~np.isfinite(run)
    rough = np.bincount(net.face, weights=bad, minlength=len(net.rings)) > 0
    _blunt_ends(net, strokes, rough)
    return Inset(near=near, tails=tails, rough=rough)


def _outer_corner(
    net: Net, strokes: Sequence[Stroke], half: int, shape: tuple[float, float]
) -> Floats | None:
    """Points of a corner that turns outwards, between the ends of its two sides.

    shape : the turn in radians (negative) and half the width
    Returns: none for a sharp corner, the arc's inner points for a round one (the bevel needs
        none, so one point in the middle of it); None if no one pen draws the corner
    """
    angle, radius = shape
    count = net.count
    after = int(net.following[half])
    one, two = strokes[net.source[half % count]], strokes[net.source[after % count]]
    if one is not two and not (one.closed and two.closed):
        return None
    if one is two and not one.closed:
        corner = net.stops[half]
        tips = np.array([one.points[0], one.points[-1]])
        if (np.abs(tips - corner).max(axis=1) < 1e-5).any():
            return None
    join = one.pen.join
    if join == "mitre" and 1.0 / max(1e-9, cos(angle / 2.0)) <= one.pen.mitre_limit:
        return np.empty((0, 2))
    corner = net.stops[half]
    way = corner - net.starts[half]
    begin = atan2(way[0], -way[1])
    steps = ceil(-angle / ARC_STEP_RAD) if join == "round" else 2
    turns = [begin + angle * k / steps for k in range(1, steps)]
    if join != "round":
        ends = [np.array([cos(t), sin(t)]) for t in (begin, begin + angle)]
        return np.asarray(corner + radius * (ends[0] + ends[1]) / 2.0)[None]
    return np.array([corner + radius * np.array([cos(t), sin(t)]) for t in turns])


def _blunt_ends(net: Net, strokes: Sequence[Stroke], rough: Bools) -> None:
    """Faces at a line's round or square end that is wider than the other lines there are rough."""
    ends = [
        (point, s.pen.width_mm)
        for s in strokes
        if not s.closed and s.pen.cap != "flat"
        for point in (s.points[0], s.points[-1])
    ]
    if not ends:
        return
    thin = min(s.pen.width_mm for s in strokes)
    wide = {(round(x, 5), round(y, 5)): w for (x, y), w in ends if w > thin + 1e-9}
    if not wide:
        return
    half_width = np.array([s.pen.width_mm for s in strokes])[net.source]
    width = np.concatenate([half_width, half_width])
    starts = np.round(net.starts, 5).tolist()
    for half, (x, y) in enumerate(starts):
        end = wide.get((x, y))
        if end is not None and width[half] < end - 1e-9:
            rough[net.face[half]] = True
            rough[net.face[half - net.count if half >= net.count else half + net.count]] = True


def rings_of(net: Net, edges: Inset, faces: Ints) -> tuple[Floats, Ints]:
    """Corners of the glass of these faces, and which face (by position) each belongs to."""
    chosen = [net.rings[face] for face in faces.tolist()]
    halves = np.concatenate(chosen)
    owner = np.repeat(np.arange(len(chosen)), [len(ring) for ring in chosen])
    if not edges.tails:
        return edges.near[halves], owner
    points: list[Floats] = []
    owners: list[Ints] = []
    plain_from = 0
    bent = np.flatnonzero(np.isin(halves, np.fromiter(edges.tails, dtype=np.intp)))
    for at in bent.tolist():
        points.append(edges.near[halves[plain_from : at + 1]])
        owners.append(owner[plain_from : at + 1])
        tail = edges.tails[int(halves[at])]
        points.append(tail)
        owners.append(np.full(len(tail), owner[at]))
        plain_from = at + 1
    points.append(edges.near[halves[plain_from:]])
    owners.append(owner[plain_from:])
    return np.concatenate(points), np.concatenate(owners)
