"""Edges of traced shapes to a fraction of a pixel, as few smooth pieces between sharp corners.

A ring of pixels is parted where it turns; every part takes the quadratic curve that lies midway in
its pixels' edges [least-squares], so that areas are kept; parts meet in a corner, or run on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_ink import Ink
from glasswork.drawing.trace_limit import edge_places, outwards
from glasswork.drawing.trace_rings import Complex, Floats, Index, Rings, rings_of

SAMPLES, FEW_SAMPLES, LONG_PX = 16, 8, 64
"""Places at which the edge of a part is measured, and of one that is no longer than so."""
CORNER_DEG = 22.0
"""A turn sharper than this between two parts is a corner."""
STRAIGHT_PX = 0.30
"""A part that bends by less than this is straight."""
FLAT_PX = 0.12
"""How far the polygon of a bent part may leave its curve."""
_TOGETHER = 32_768
"""Places measured together: they stay in the processor's cache."""
_TRIM_PX = 2.5
_CHAMFER_PX = 6.0
_SHORT_PX = 9.0
_REACH_PX = 6.0


def fitted(dense: Rings, parts: Rings, ink: Ink, *, tolerance_px: float) -> Rings:
    """Traced rings of ink pixels as polygons along the ink's true edge, px; a ring each.

    dense : whole pixels as OpenCV follows them; at least one ring · parts : as `parted` gives them
    """
    knots, places = _knots(dense, parts, ink, tolerance_px)
    return _Pieces.measured(dense, knots, (places, ink)).polygons()


def _knots(dense: Rings, parts: Rings, ink: Ink, tolerance_px: float) -> tuple[Rings, Complex]:
    """Where each ring is parted: numbers of its pixels, and places on the edge beside them,
    x + iy.
    """
    knots = _without_chamfers(dense, parts)
    # on the true edge, where neither pixels nor pencil make a step
    x, y = edge_places(dense, knots.points, outwards(dense, knots.points, knots.ring_of), ink)
    places = x + 1j * y
    for _ in range(3):
        kept = ~_needless(knots, places, 0.75 * tolerance_px)
        if kept.all():
            break
        knots, places = _kept(knots, kept), places[kept]
    return knots, places


def parted(dense: Rings, tolerance_px: float) -> Rings:
    """Rings parted so that no pixel lies further than a tolerance from the straight lines between:
    numbers of the pixels, three or more to every ring. Source: [douglas1973]
    """
    import cv2

    turns = _turns(dense)
    corners = np.stack([dense.points[:, 0][turns], dense.points[:, 1][turns]], axis=1)
    stop = np.searchsorted(turns, dense.stop).tolist()
    found = [
        np.asarray(cv2.approxPolyDP(corners[first:last], tolerance_px, True))
        for first, last in pairwise([0, *stop])
    ]
    more = []
    for ring in [ring for ring, few in enumerate(found) if len(few) < 3]:
        begin, end = int(dense.start[ring]), int(dense.stop[ring])
        more.append(np.arange(begin, end, max(1, (end - begin) // 4)))
        found[ring] = dense.points[more[-1]][:, None]
    turns = np.union1d(turns, np.concatenate(more)) if more else turns
    few = rings_of(found)
    return _numbered(Rings(points=few.points[:, 0], start=few.start), dense, turns)


def _turns(dense: Rings) -> Index:
    """Numbers of the pixels at which rings change direction, first and last ones among them."""
    way = np.diff(3 * dense.points[:, 0] + dense.points[:, 1]).astype(np.int8)
    turned = np.ones(len(dense.points), dtype=bool)
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
    size = int(place.max()) + 1
    # a bit for every pixel
    marked = np.zeros(size // 8 + 1, np.uint8)
    np.bitwise_or.at(marked, wanted >> 3, _bit(wanted))
    some = np.flatnonzero(marked[place >> 3] & _bit(place))
    chosen = among[some]
    if len(chosen) == len(few.points):
        return Rings(points=chosen, start=few.start)
    # a line of one pixel is passed twice, and rings may touch
    key = dense.rings_at(chosen) * size + place[some]
    order = np.argsort(key, kind="stable")
    found = np.searchsorted(key, few.ring_of * size + wanted, sorter=order)
    return Rings(points=np.sort(chosen[order[found]]), start=few.start)


def _bit(places: NDArray[np.int32]) -> NDArray[np.uint8]:
    return np.asarray(np.left_shift(1, places & 7), np.uint8)


def _steps(dense: Rings, knots: Rings) -> Index:
    """How many pixels lie between each knot and the next."""
    long = (dense.stop - dense.start)[knots.ring_of]
    steps = (knots.points[knots.following] - knots.points) % long
    return np.where(steps == 0, long, steps)


def _previous(rings: Rings) -> Index:
    before = np.empty(len(rings.points), dtype=np.intp)
    before[rings.following] = np.arange(len(rings.points))
    return before


def _kept(knots: Rings, kept: NDArray[np.bool_]) -> Rings:
    """Some knots; at least one of every ring."""
    number: Index = np.cumsum(kept) - kept
    return Rings(points=knots.points[kept], start=number[knots.start])


def _spare(knots: Rings, gone: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which knots may go: three are left to every ring."""
    left = np.add.reduceat(~gone, knots.start, dtype=np.intp)
    short = left < 3
    return gone & ~short[knots.ring_of] if short.any() else gone


def _without_chamfers(dense: Rings, knots: Rings) -> Rings:
    """Corners that the pixels round off, cut by a short part between two long ones, are one."""
    steps = _steps(dense, knots)
    after, before = knots.following, _previous(knots)
    short = (steps <= _CHAMFER_PX) & (steps < steps[after]) & (steps < steps[before])
    at = knots.points
    ring = knots.ring_of
    begin, long = dense.start[ring], (dense.stop - dense.start)[ring]
    middle = begin + (at - begin + steps // 2) % long
    ordered = np.append(True, np.diff(middle) > 0) | ~short
    short &= ordered & (middle > at)
    gone = np.zeros(len(at), dtype=bool)
    gone[after[short]] = True
    gone &= ~short
    moved = Rings(points=np.where(short, middle, at), start=knots.start)
    return _kept(moved, ~_spare(moved, gone))


def _needless(knots: Rings, here: Complex, tolerance_px: float) -> NDArray[np.bool_]:
    """Which knots lie near the line between their neighbours, no two at once; here : places"""
    after, before = knots.following, _previous(knots)
    back = here[before]
    chord = here[after] - back
    size = np.maximum(np.abs(chord), 1e-9)
    off = np.conj(chord) * (here - back) / size
    away = np.abs(off.imag)
    needless = (away <= tolerance_px) & (off.real > 0.0) & (off.real < size)
    away = np.where(needless, away + np.arange(len(away)) * 1e-9, np.inf)
    return _spare(knots, needless & (away < away[after]) & (away < away[before]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pieces:
    """Quadratic parts: `a` start, `b` pull, `c` end as Bernstein corners, x + iy; `straight`;
    `knots` tells their rings; `size` in px.
    """

    a: Complex
    b: Complex
    c: Complex
    straight: NDArray[np.bool_]
    size: Floats
    knots: Rings

    @classmethod
    def measured(cls, dense: Rings, knots: Rings, known: tuple[Complex, Ink]) -> _Pieces:
        """known : places on the edge at the knots, and the ink"""
        places, ink = known
        first, ring = knots.points, knots.ring_of
        end, long = dense.stop[ring], (dense.stop - dense.start)[ring]
        steps = _steps(dense, knots)
        trim = np.minimum(_TRIM_PX, 0.2 * steps)
        way = 1j * (places[knots.following] - places)
        nearest = np.empty((5, 2, len(first)))
        for count, some in ((FEW_SAMPLES, steps <= LONG_PX), (SAMPLES, steps > LONG_PX)):
            share = (np.arange(count) + 0.5) / count
            for part in _in_turn(np.flatnonzero(some), _TOGETHER // count):
                along = trim[part, None] + share * (steps[part] - 2.0 * trim[part])[:, None]
                at = first[part, None] + (along + 0.5).astype(np.intp)
                at -= long[part, None] * (at >= end[part, None])
                out = way[part, None]
                on = edge_places(dense, at, (out.real, out.imag), ink)
                found = _nearest_curves(count) @ on.reshape(-1, count).T
                nearest[:, :, part] = found.reshape(5, 2, -1)
        curves = nearest[:, 0] + 1j * nearest[:, 1]
        return cls.through(curves, trim / steps, steps.astype(np.float64), knots)

    @classmethod
    def through(cls, curves: Complex, trim: Floats, steps: Floats, knots: Rings) -> _Pieces:
        """The curves nearest to measured places, carried on over the trimmed ends.

        curves : each part's coefficients, (5, n), as `_nearest_curves` tells them
        """
        bent, flat = curves[:3], curves[3:]
        across = np.abs((np.conj(flat[1]) * bent[2]).imag)
        bend = across / np.maximum(np.abs(flat[1]), 1e-9) / 4.0
        straight = (bend < STRAIGHT_PX) | (steps < _SHORT_PX)
        p0, p1 = (np.where(straight, flat[k], bent[k]) for k in (0, 1))
        p2 = np.where(straight, 0.0, bent[2])
        over = trim / np.maximum(1.0 - 2.0 * trim, 0.2)
        t0, t1 = -over, 1.0 + over
        a = p0 + (p1 + p2 * t0) * t0
        c = p0 + (p1 + p2 * t1) * t1
        b = a + (p1 + 2.0 * p2 * t0) * ((t1 - t0) / 2.0)
        return cls(a=a, b=b, c=c, straight=straight, size=steps, knots=knots)

    def polygons(self) -> Rings:
        """The rings, bent parts as short chords."""
        after = self.knots.following
        before = _previous(self.knots)
        ends = self.c[before]
        into = _unit(self.c - self.b)[before]
        out = _unit(self.b - self.a)
        turned = np.conj(into) * out
        cross = turned.imag
        middle = (ends + self.a) / 2.0
        short = np.minimum(self.size, self.size[before])
        limit = np.radians(CORNER_DEG + 25.0 * np.clip(1.5 - short / _SHORT_PX, 0.0, 1.0))
        sharp = np.arctan2(np.abs(cross), turned.real) > limit
        safe = np.where(np.abs(cross) > 1e-6, cross, 1.0)
        along = (np.conj(self.a - ends) * out).imag / safe
        corner = ends + along * into
        far = np.abs(corner - middle) > _REACH_PX
        place = np.where(sharp & ~far, corner, middle)
        return self._flattened(place, place[after])

    def _flattened(self, start: Complex, end: Complex) -> Rings:
        """Chords from corner to corner. The curve is moved so that it ends in them."""
        pull = self.b + ((start - self.a) + (end - self.c)) / 2.0
        pull = np.where(self.straight, (start + end) / 2.0, pull)
        bend = np.abs(start - 2.0 * pull + end) / 4.0
        count = np.where(self.straight, 1, np.ceil(np.sqrt(bend / FLAT_PX)))
        count = np.clip(count, 1, 64).astype(np.intp)
        owner = np.repeat(np.arange(len(count)), count)
        first = np.cumsum(count) - count
        t = (np.arange(len(owner)) - first[owner]) / count[owner]
        points = (
            start[owner] * (1.0 - t) ** 2 + pull[owner] * (2.0 * t * (1.0 - t)) + end[owner] * t**2
        )
        flat = points.view(np.float64).reshape(-1, 2)
        return Rings(points=flat, start=first[self.knots.start])


def _in_turn(numbers: Index, together: int) -> list[Index]:
    return [numbers[first : first + together] for first in range(0, len(numbers), together)]


def _unit(ways: Complex) -> Complex:
    return np.asarray(ways / np.maximum(np.abs(ways), 1e-12))


@cache
def _nearest_curves(count: int) -> Floats:
    """What turns so many even samples into the coefficients of the quadratic curve nearest to
    them, and of the line, (3 + 2, count); constant ones first.
    """
    share = (np.arange(count) + 0.5) / count
    powers = np.stack([np.ones(count), share, share**2], axis=1)
    return np.concatenate([np.linalg.pinv(powers), np.linalg.pinv(powers[:, :2])])
