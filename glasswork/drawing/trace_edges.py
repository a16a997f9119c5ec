"""Edges of traced shapes to a fraction of a pixel, as few smooth pieces between sharp corners.

A ring of pixels is parted where it turns; every part takes the quadratic curve that lies midway in
its pixels' edges [least-squares], so that areas are kept; parts meet in a corner, or run on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_ink import Ink, Mask, light_at
from glasswork.drawing.trace_rings import Floats, Index, Rings, rings_of

SAMPLES = 16
"""Places at which a part's edge is measured."""
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
_BESIDE_PX = 2.0
_INWARD_PX = 4.0
_ODD = 0.3


def fitted(contours: Sequence[NDArray[Any]], ink: Ink, *, tolerance_px: float) -> Rings:
    """Traced rings of ink pixels as polygons along the ink's true edge, px; a ring each.

    contours : (n, 1, 2) whole pixels as OpenCV follows them; at least one
    """
    dense = rings_of([c[:, 0] for c in contours])
    knots = _knots(contours, dense, ink, tolerance_px)
    pieces = _Pieces.measured(dense, knots, ink)
    return pieces.polygons()


def _knots(contours: Sequence[NDArray[Any]], dense: Rings, ink: Ink, tolerance_px: float) -> Rings:
    """Where each ring is parted: numbers of its pixels, in `points[:, 0]`. Source: [douglas1973]"""
    import cv2

    found = []
    for contour in contours:
        parted = np.asarray(cv2.approxPolyDP(contour, tolerance_px, True))
        short = contour[:: max(1, len(contour) // 4)]
        found.append((parted if len(parted) >= 3 else short)[:, 0])
    knots = _numbered(rings_of(found), dense)
    knots = _without_chamfers(dense, knots)
    # on the true edge, where neither pixels nor pencil make a step
    places = edge_places(dense, knots.points[:, 0].astype(np.intp), knots.ring_of, ink)
    knots = Rings(points=np.concatenate([knots.points, places], axis=1), start=knots.start)
    for _ in range(3):
        knots = _without_needless(knots, 0.75 * tolerance_px)
    return knots


def _numbered(few: Rings, dense: Rings) -> Rings:
    """For corners that are pixels of traced rings, their numbers among these."""
    wide = int(dense.points[:, 0].max()) + 1
    place = dense.points[:, 1] * wide + dense.points[:, 0]
    wanted = few.points[:, 1] * wide + few.points[:, 0]
    marked = np.zeros(int(place.max()) + 1, dtype=bool)
    marked[wanted] = True
    chosen = np.flatnonzero(marked[place])
    # a line of one pixel is passed twice, and rings may touch
    size = len(marked)
    key = dense.rings_at(chosen) * size + place[chosen]
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
        begin, long = dense.start[ring], (dense.stop - dense.start)[ring]
        steps = _steps(dense, knots)
        trim = np.minimum(_TRIM_PX, 0.2 * steps)
        share = (np.arange(SAMPLES) + 0.5) / SAMPLES
        at = first[:, None] + np.round(trim[:, None] + share * (steps - 2.0 * trim)[:, None])
        at = begin[:, None] + (at.astype(np.intp) - begin[:, None]) % long[:, None]
        on = edge_places(dense, at.ravel(), np.repeat(ring, SAMPLES), ink)
        on = on.reshape(len(first), SAMPLES, 2)
        return cls.through(on, trim / steps, steps.astype(np.float64), knots)

    @classmethod
    def through(cls, on: Floats, trim: Floats, steps: Floats, knots: Rings) -> _Pieces:
        """The quadratics nearest to measured places, carried on over the trimmed ends."""
        share = (np.arange(SAMPLES) + 0.5) / SAMPLES
        bent = np.linalg.pinv(np.stack([np.ones(SAMPLES), share, share**2], axis=1))
        flat = np.linalg.pinv(np.stack([np.ones(SAMPLES), share], axis=1))
        p = np.einsum("ks,nsd->nkd", bent, on)
        q = np.einsum("ks,nsd->nkd", flat, on)
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


def edge_places(dense: Rings, at: Index, ring: Index, ink: Ink) -> Floats:
    """Where the light passes the limit beside chosen ink pixels of traced rings, (n, 2) px.

    The mean of what is found towards the two neighbours on the ring's outer side.
    at, ring : numbers of the pixels, and of the rings they belong to
    """
    points = dense.points
    begin, end = dense.start[ring], dense.stop[ring]
    long = end - begin
    on, back = at + 2, at - 2
    on = np.where(on >= end, on - long, on)
    back = np.where(back < begin, back + long, back)
    here = points[at]
    # OpenCV follows outlines and holes alike with the paper on the right hand
    ahead = points[on] - points[back]
    outward = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    look = _Look(ink.grey, here)
    limit = ink.limit_near(here)
    inner = look.at(0, 0)
    moved = np.zeros((len(at), 2), np.float32)
    weight = np.zeros(len(at), np.float32)
    for axis in (0, 1):
        side = np.sign(outward[:, axis])
        outer = look.at(side, 0) if axis == 0 else look.at(0, side)
        found = (outer >= limit) & (side != 0)
        share = np.clip((limit - inner) / np.maximum(outer - inner, np.float32(1e-6)), 0.0, 1.0)
        moved[:, axis] = np.where(found, share * side, 0.0)
        weight += found
    places = here + moved / np.maximum(weight, 1.0)[:, None]
    _beside_grounds(places, (here, outward), (limit, ink, look))
    return np.asarray(places, np.float64)


class _Look:
    """The light at whole pixels beside given ones; the picture's rim goes on outside."""

    def __init__(self, grey: Mask, here: NDArray[np.int32]) -> None:
        self._rows, self._columns = grey.shape
        self._flat = grey.ravel()
        self._x, self._y = here[:, 0], here[:, 1]

    def at(self, dx: Any, dy: Any) -> NDArray[np.float32]:
        x = np.clip(self._x + dx, 0, self._columns - 1)
        y = np.clip(self._y + dy, 0, self._rows - 1)
        return np.asarray(self._flat[y * self._columns + x], np.float32)


def _beside_grounds(
    found: Floats,
    ring: tuple[NDArray[np.int32], NDArray[np.int32]],
    known: tuple[NDArray[np.float32], Ink, _Look],
) -> None:
    """Where the ink lies beside pencil or a wash, or the limit was lowered for a wash nearby, the
    edge is midway between the ink and what lies beside it: such places of `found` are moved.

    ring : pixels and a way outwards from each · known : the limit between ink and paper at each
    pixel, the ink, and its light
    """
    (here, outward), (limit, ink, look) = ring, known
    length = np.maximum(np.abs(outward).max(axis=1), 1)
    steps = np.round(outward * (np.float32(_BESIDE_PX) / length)[:, None]).astype(np.int32)
    ground = look.at(steps[:, 0], steps[:, 1])
    usual = limit * np.float32(ink.paper)
    odd = (np.abs(ground - usual) > np.float32(_ODD) * (usual - limit)) & (ground >= limit)
    chosen = np.flatnonzero(odd)
    if not len(chosen):
        return
    out = outward[chosen] / np.maximum(np.hypot(*outward[chosen].T), 1e-9)[:, None]
    start, ground = here[chosen].astype(np.float64), ground[chosen].astype(np.float64)
    spots = np.arange(-_INWARD_PX, _BESIDE_PX + 1.01, 0.5)
    path = start[:, None] + out[:, None] * spots[None, :, None]
    light = light_at(ink.grey, path.reshape(-1, 2)).reshape(len(chosen), len(spots))
    midway = (ink.tone_at(start) + ground) / 2.0
    first = np.argmin(light[:, spots <= 0.0], axis=1)
    passed = (light >= midway[:, None]) & (np.arange(len(spots)) > first[:, None])
    # beyond what lies beside is no other ink
    sound = passed.any(axis=1) & (light[:, -1] >= limit[chosen])
    some, k = np.flatnonzero(sound), np.argmax(passed, axis=1)[sound]
    low, high = light[some, k - 1], light[some, k]
    share = np.clip((midway[some] - low) / np.maximum(high - low, 1e-9), 0.0, 1.0)
    moved = spots[k] - 0.5 + 0.5 * share
    found[chosen[some]] = start[some] + out[some] * moved[:, None]
