"""Edges of traced shapes to a fraction of a pixel, as few smooth pieces between sharp corners.

A ring of pixels is parted where it turns; every part takes the quadratic curve that lies midway in
its pixels' edges [least-squares], so that areas are kept; parts meet in a corner, or run on.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.trace_follow import Outlines
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
_TOGETHER = 131_072
"""Places measured together: they stay in the processor's cache."""
_TRIM_PX = 2.5
_CHAMFER_PX = 6.0
_BACK_TO_BACK = 0.94
"""Cosine between two sides."""
_SHORT_PX = 9.0
_REACH_PX = 6.0


def fitted(outlines: Outlines, parts: Rings, ink: Ink, *, tolerance_px: float) -> Rings:
    """Outlines of ink as polygons along the ink's true edge, px; a ring each.

    outlines : at least one · parts : as `parted` gives them
    """
    knots, places = _knots(outlines, parts, ink, tolerance_px)
    return _Pieces.measured(outlines, knots, (places, ink)).polygons()


def _knots(
    outlines: Outlines, parts: Rings, ink: Ink, tolerance_px: float
) -> tuple[Rings, Complex]:
    """Where each ring is parted: numbers of its pixels, and places on the edge beside them,
    x + iy.
    """
    knots = _without_chamfers(outlines, parts)
    # on the true edge, where neither pixels nor pencil make a step
    x, y = edge_places(outlines, knots.points, outwards(outlines, knots.points, knots.ring_of), ink)
    places = x + 1j * y
    for _ in range(3):
        kept = ~_needless(knots, places, 0.75 * tolerance_px)
        if kept.all():
            break
        knots, places = _kept(knots, kept), places[kept]
    return knots, places


def parted(outlines: Outlines, tolerance_px: float) -> Rings:
    """Outlines parted so that no run end lies further than a tolerance from the straight lines
    between: numbers of pixels, three or more to every outline that has them. Source: [douglas1973]
    """
    import cv2

    if not len(outlines):
        return Rings(points=outlines.begin, start=outlines.begin)
    turns = _turns(outlines)
    stop = np.searchsorted(turns, outlines.end)
    begin = np.append(0, stop[:-1])
    corners, low, unit = _marked(outlines, turns, begin)
    cuts = pairwise([0, *stop.tolist()])
    found = [cv2.approxPolyDP(corners[a:b], tolerance_px, True) for a, b in cuts]
    sizes = np.fromiter(map(len, found), np.intp, len(found))
    marks = (np.mod(np.concatenate(found)[:, 0], 1.0) * unit).astype(np.intp)
    number = begin.repeat(sizes) + marks[:, 0] + (marks[:, 1] << low)
    at = outlines.first[turns[np.minimum(number, len(turns) - 1)]].astype(np.intp)
    at = np.where(at == outlines.stop.repeat(sizes), outlines.start.repeat(sizes), at)
    # each begins where it likes
    at.sort()
    return _three_each(outlines, Rings(points=at, start=np.cumsum(sizes) - sizes))


def _three_each(outlines: Outlines, parts: Rings) -> Rings:
    """Parts, those of outlines that have fewer than three made anew."""
    few = np.flatnonzero(parts.stop - parts.start < 3)
    if not len(few):
        return parts
    each: list[NDArray[Any]] = list(parts.each())
    for ring in few.tolist():
        start, stop = int(outlines.start[ring]), int(outlines.stop[ring])
        each[ring] = np.arange(start, stop, max(1, (stop - start) // 4))
    return rings_of(each)


def _turns(outlines: Outlines) -> Index:
    """Numbers of the run ends at which outlines change direction, and of first and last ones."""
    way = np.diff(outlines.x)
    way *= 4
    way += np.diff(outlines.y)
    turned = np.ones(len(outlines.x), dtype=bool)
    np.not_equal(way[1:], way[:-1], out=turned[1:-1])
    turned[outlines.begin] = True
    turned[outlines.end - 1] = True
    return np.flatnonzero(turned)


def _marked(outlines: Outlines, turns: Index, begin: Index) -> tuple[NDArray[np.float32], int, int]:
    """Run ends as corners, (n, 2), the number of each within its outline in the last bits after the
    point, half of it in x and half in y, so that it is known which ones are left; how many bits a
    half has, and how many of the last bits' units make a pixel.

    begin : which of the turns is the first of each outline
    """
    size = np.diff(np.append(begin, len(turns)))
    number = (np.arange(len(turns)) - begin.repeat(size)).astype(np.int32)
    low = (int(size.max()).bit_length() + 1) // 2
    x, y = outlines.x[turns], outlines.y[turns]
    # of 24 bits; what pixels do not need is left
    unit = 1 << max(low, 24 - int(max(x.max(), y.max(), 1)).bit_length())
    found = np.empty((len(turns), 2), np.float32)
    np.add(x, (number & ((1 << low) - 1)) * np.float32(1.0 / unit), out=found[:, 0])
    np.add(y, (number >> low) * np.float32(1.0 / unit), out=found[:, 1])
    return found, low, unit


def _steps(outlines: Outlines, knots: Rings) -> Index:
    """How many pixels lie between each knot and the next."""
    long = (outlines.stop - outlines.start)[knots.ring_of]
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


def _without_chamfers(outlines: Outlines, knots: Rings) -> Rings:
    """Corners that the pixels round off, cut by a short part between two long ones, are one; not
    where the long ones run back to back, as in a narrow pane.
    """
    steps = _steps(outlines, knots)
    after, before = knots.following, _previous(knots)
    short = (steps <= _CHAMFER_PX) & (steps < steps[after]) & (steps < steps[before])
    at = knots.points
    x, y = outlines.places(at)
    way = (x + 1j * y)[after] - (x + 1j * y)
    turn = np.conj(way[before]) * way[after]
    short &= turn.real > -_BACK_TO_BACK * np.abs(turn)
    ring = knots.ring_of
    begin, long = outlines.start[ring], (outlines.stop - outlines.start)[ring]
    middle = begin + (at - begin + steps // 2) % long
    ordered = np.append(True, np.diff(middle) > 0) | ~short
    ordered[knots.start] = True
    short &= ordered & (middle >= at)
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


class _Pieces(Struct, frozen=True, kw_only=True):
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
    def measured(cls, outlines: Outlines, knots: Rings, known: tuple[Complex, Ink]) -> _Pieces:
        """known : places on the edge at the knots, and the ink"""
        places, ink = known
        first, ring = knots.points, knots.ring_of
        end, long = outlines.stop[ring], (outlines.stop - outlines.start)[ring]
        steps = _steps(outlines, knots)
        trim = np.minimum(_TRIM_PX, 0.2 * steps)
        way = 1j * (places[knots.following] - places)
        nearest = np.empty((5, 2, len(first)))
        for count, some in ((FEW_SAMPLES, steps <= LONG_PX), (SAMPLES, steps > LONG_PX)):
            share = ((np.arange(count) + 0.5) / count)[:, None]
            for part in _in_turn(np.flatnonzero(some), _TOGETHER // count):
                along = share * (steps[part] - 2.0 * trim[part])
                along += trim[part] + 0.5
                at = along.astype(np.intp)
                at += first[part]
                at -= long[part] * (at >= end[part])
                on = edge_places(outlines, at, (way[part].real, way[part].imag), ink)
                nearest[:, :, part] = (_nearest_curves(count) @ on).transpose(1, 0, 2)
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
