"""Edges of traced shapes to a fraction of a pixel, as few smooth pieces between sharp corners.

A ring of pixels is parted where it turns; every part takes the quadratic curve that lies midway in
its pixels' edges [least-squares], so that areas are kept; parts meet in a corner, or run on.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_ink import Ink
from glasswork.drawing.trace_limit import edge_places, outwards
from glasswork.drawing.trace_rings import Floats, Index, Rings, rings_of

SAMPLES, FEW_SAMPLES, LONG_PX = 16, 8, 64
"""Places at which the edge of a part is measured, and of one that is no longer than so."""
CORNER_DEG = 22.0
"""A turn sharper than this between two parts is a corner."""
STRAIGHT_PX = 0.30
"""A part that bends by less than this is straight."""
FLAT_PX = 0.12
"""How far the polygon of a bent part may leave its curve."""
_TRIM_PX = 2.5
_CHAMFER_PX = 6.0
_SHORT_PX = 9.0
_REACH_PX = 6.0


def fitted(dense: Rings, ink: Ink, *, tolerance_px: float) -> Rings:
    """Traced rings of ink pixels as polygons along the ink's true edge, px; a ring each.

    dense : whole pixels as OpenCV follows them; at least one ring
    """
    knots = _knots(dense, ink, tolerance_px)
    pieces = _Pieces.measured(dense, knots, ink)
    return pieces.polygons()


def _knots(dense: Rings, ink: Ink, tolerance_px: float) -> Rings:
    """Where each ring is parted: numbers of its pixels, in `points[:, 0]`. Source: [douglas1973]"""
    knots = _without_chamfers(dense, _parted(dense, tolerance_px))
    # on the true edge, where neither pixels nor pencil make a step
    at = knots.points[:, 0].astype(np.intp)
    places = edge_places(dense, at, outwards(dense, at, knots.ring_of), ink)
    knots = Rings(points=np.concatenate([knots.points, places.T], axis=1), start=knots.start)
    for _ in range(3):
        knots = _without_needless(knots, 0.75 * tolerance_px)
    return knots


def _parted(dense: Rings, tolerance_px: float) -> Rings:
    """The rings parted so that no pixel lies further than a tolerance from the straight lines
    between: numbers of the pixels, three or more to every ring.
    """
    import cv2

    turns = _turns(dense)
    corners = np.stack([dense.points[:, 0][turns], dense.points[:, 1][turns]], axis=1)
    stop = np.searchsorted(turns, dense.stop).tolist()
    found, more = [], []
    for ring, (first, last) in enumerate(pairwise([0, *stop])):
        parted = np.asarray(cv2.approxPolyDP(corners[first:last], tolerance_px, True))[:, 0]
        if len(parted) < 3:
            begin, end = int(dense.start[ring]), int(dense.stop[ring])
            more.append(np.arange(begin, end, max(1, (end - begin) // 4)))
            parted = dense.points[more[-1]]
        found.append(parted)
    turns = np.union1d(turns, np.concatenate(more)) if more else turns
    return _numbered(rings_of(found), dense, turns)


def _turns(dense: Rings) -> Index:
    """Numbers of the pixels at which rings change direction, first and last ones among them."""
    x, y = dense.points[:, 0], dense.points[:, 1]
    way = (3 * np.diff(x) + np.diff(y)).astype(np.int8)
    turned = np.ones(len(x), dtype=bool)
    np.not_equal(way[1:], way[:-1], out=turned[1:-1])
    turned[dense.start] = True
    turned[dense.stop - 1] = True
    return np.flatnonzero(turned)


def _numbered(few: Rings, dense: Rings, among: Index) -> Rings:
    """For corners that are pixels of traced rings, their numbers; they are some of given ones."""
    x = dense.points[:, 0][among]
    wide = int(x.max()) + 1
    place = dense.points[:, 1][among] * wide + x
    wanted = few.points[:, 1] * wide + few.points[:, 0]
    marked = np.zeros(int(place.max()) + 1, dtype=bool)
    marked[wanted] = True
    some = np.flatnonzero(marked[place])
    chosen = among[some]
    if len(chosen) == len(few.points):
        return Rings(points=chosen[:, None].astype(np.float64), start=few.start)
    # a line of one pixel is passed twice, and rings may touch
    size = len(marked)
    key = dense.rings_at(chosen) * size + place[some]
    order = np.argsort(key, kind="stable")
    found = np.searchsorted(key, few.ring_of * size + wanted, sorter=order)
    at = np.sort(chosen[order[found]])
    return Rings(points=at[:, None].astype(np.float64), start=few.start)


def _steps(dense: Rings, knots: Rings) -> Index:
    """How many pixels lie between each knot and the next."""
    at = knots.points[:, 0].astype(np.intp)
    ring = knots.ring_of
    long = (dense.stop - dense.start)[ring]
    steps = (at[knots.following] - at) % long
    return np.where(steps == 0, long, steps)


def _previous(rings: Rings) -> Index:
    before = np.empty(len(rings.points), dtype=np.intp)
    before[rings.following] = np.arange(len(rings.points))
    return before


def _without(knots: Rings, gone: NDArray[np.bool_]) -> Rings:
    """Without some knots, but three are left to every ring."""
    ring = knots.ring_of
    left = np.bincount(ring[~gone], minlength=len(knots.start))
    gone = gone & (left >= 3)[ring]
    kept: Index = np.cumsum(~gone) - ~gone
    return Rings(points=knots.points[~gone], start=kept[knots.start])


def _without_chamfers(dense: Rings, knots: Rings) -> Rings:
    """Corners that the pixels round off, cut by a short part between two long ones, are one."""
    steps = _steps(dense, knots)
    after, before = knots.following, _previous(knots)
    short = (steps <= _CHAMFER_PX) & (steps < steps[after]) & (steps < steps[before])
    at = knots.points[:, 0].astype(np.intp)
    ring = knots.ring_of
    begin, long = dense.start[ring], (dense.stop - dense.start)[ring]
    middle = begin + (at - begin + steps // 2) % long
    ordered = np.append(True, np.diff(middle) > 0) | ~short
    short &= ordered & (middle > at)
    points = np.where(short, middle, at)[:, None].astype(np.float64)
    gone = np.zeros(len(at), dtype=bool)
    gone[after[short]] = True
    gone &= ~short
    return _without(Rings(points=points, start=knots.start), gone)


def _without_needless(knots: Rings, tolerance_px: float) -> Rings:
    """Knots that lie near the line between their neighbours are left out, no two at once.

    knots : number, place
    """
    here = knots.points[:, 1:]
    after, before = knots.following, _previous(knots)
    chord = here[after] - here[before]
    off = here - here[before]
    size = np.maximum(np.hypot(*chord.T), 1e-9)
    away = np.abs(chord[:, 0] * off[:, 1] - chord[:, 1] * off[:, 0]) / size
    along = (chord * off).sum(axis=1) / size
    needless = (away <= tolerance_px) & (along > 0.0) & (along < size)
    away = np.where(needless, away + np.arange(len(away)) * 1e-9, np.inf)
    return _without(knots, needless & (away < away[after]) & (away < away[before]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pieces:
    """Quadratic parts: `a` start, `b` pull, `c` end as Bernstein corners, (n, 2); `straight`;
    `knots` tells their rings; `size` in px.
    """

    a: Floats
    b: Floats
    c: Floats
    straight: NDArray[np.bool_]
    size: Floats
    knots: Rings

    @classmethod
    def measured(cls, dense: Rings, knots: Rings, ink: Ink) -> _Pieces:
        first = knots.points[:, 0].astype(np.intp)
        ring = knots.ring_of
        end, long = dense.stop[ring], (dense.stop - dense.start)[ring]
        steps = _steps(dense, knots)
        trim = np.minimum(_TRIM_PX, 0.2 * steps)
        chord = knots.points[knots.following, 1:] - knots.points[:, 1:]
        nearest = np.empty((2, len(first), 5))
        for count, some in ((FEW_SAMPLES, steps <= LONG_PX), (SAMPLES, steps > LONG_PX)):
            part = np.flatnonzero(some)
            share = (np.arange(count) + 0.5) / count
            along = trim[part, None] + share * (steps[part] - 2.0 * trim[part])[:, None]
            at = first[part, None] + (along + 0.5).astype(np.intp)
            at -= long[part, None] * (at >= end[part, None])
            out = (-chord[part, 1, None], chord[part, 0, None])
            on = edge_places(dense, at, out, ink)
            nearest[:, part] = on @ _nearest_curves(count)
        return cls.through(nearest, trim / steps, steps.astype(np.float64), knots)

    @classmethod
    def through(cls, nearest: Floats, trim: Floats, steps: Floats, knots: Rings) -> _Pieces:
        """The curves nearest to measured places, carried on over the trimmed ends.

        nearest : x and y of each part's, (2, n, 5), as `_nearest_curves` tells them
        """
        p, q = np.moveaxis(nearest[:, :, :3], 0, 2).copy(), np.moveaxis(nearest[:, :, 3:], 0, 2)
        chord = np.hypot(*q[:, 1].T)
        across = np.abs(q[:, 1, 0] * p[:, 2, 1] - q[:, 1, 1] * p[:, 2, 0])
        bend = across / np.maximum(chord, 1e-9) / 4.0
        straight = (bend < STRAIGHT_PX) | (steps < _SHORT_PX)
        p[straight, 0], p[straight, 1], p[straight, 2] = q[straight, 0], q[straight, 1], 0.0
        over = (trim / np.maximum(1.0 - 2.0 * trim, 0.2))[:, None]
        t0, t1 = -over, 1.0 + over
        a = p[:, 0] + p[:, 1] * t0 + p[:, 2] * t0**2
        c = p[:, 0] + p[:, 1] * t1 + p[:, 2] * t1**2
        b = a + (p[:, 1] + 2.0 * p[:, 2] * t0) * (t1 - t0) / 2.0
        return cls(a=a, b=b, c=c, straight=straight, size=steps, knots=knots)

    def polygons(self) -> Rings:
        """The rings, bent parts as short chords."""
        after = self.knots.following
        before = _previous(self.knots)
        into = _unit(self.c - self.b)[before]
        out = _unit(self.b - self.a)
        cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
        turn = np.arctan2(np.abs(cross), (into * out).sum(axis=1))
        middle = (self.c[before] + self.a) / 2.0
        short = np.minimum(self.size, self.size[before])
        limit = np.radians(CORNER_DEG + 25.0 * np.clip(1.5 - short / _SHORT_PX, 0.0, 1.0))
        sharp = turn > limit
        gap = self.a - self.c[before]
        safe = np.where(np.abs(cross) > 1e-6, cross, 1.0)
        along = (gap[:, 0] * out[:, 1] - gap[:, 1] * out[:, 0]) / safe
        corner = self.c[before] + along[:, None] * into
        far = np.hypot(*(corner - middle).T) > _REACH_PX
        place = np.where((sharp & ~far)[:, None], corner, middle)
        return self._flattened(place, place[after])

    def _flattened(self, start: Floats, end: Floats) -> Rings:
        """Chords from corner to corner. The curve is moved so that it ends in them."""
        pull = self.b + ((start - self.a) + (end - self.c)) / 2.0
        pull = np.where(self.straight[:, None], (start + end) / 2.0, pull)
        bend = np.hypot(*(start - 2.0 * pull + end).T) / 4.0
        count = np.where(self.straight, 1, np.ceil(np.sqrt(bend / FLAT_PX)))
        count = np.clip(count, 1, 64).astype(np.intp)
        owner = np.repeat(np.arange(len(count)), count)
        first = np.cumsum(count) - count
        t = ((np.arange(len(owner)) - first[owner]) / count[owner])[:, None]
        points = (
            start[owner] * (1.0 - t) ** 2 + pull[owner] * (2.0 * t * (1.0 - t)) + end[owner] * t**2
        )
        return Rings(points=points, start=first[self.knots.start])


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(*vectors.T), 1e-12)[:, None])


def _nearest_curves(count: int) -> Floats:
    """What turns so many even samples into the coefficients of the quadratic curve nearest to
    them, and of the line, (count, 3 + 2); constant ones first.
    """
    share = (np.arange(count) + 0.5) / count
    powers = np.stack([np.ones(count), share, share**2], axis=1)
    both = [np.linalg.pinv(powers), np.linalg.pinv(powers[:, :2])]
    return np.asarray(np.concatenate(both).T)
