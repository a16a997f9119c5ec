"""Pin ears: break-off tabs with a pin hole, in the same place on every layer and film.

The three holes make a triangle with three different sides. Such a triangle fits onto itself in
one way only, so no turn and no flip lets a layer or film drop onto the pins the wrong way round.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations
from math import hypot
from operator import itemgetter

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.errors import FrameError
from glasswork.model.frame import Ear
from glasswork.model.geometry import Point, Region, Regions, Ring, ring_area_mm2
from glasswork.planar import Area, AreaSet

HOLE_MM = 3.0
SMALL_HOLE_MM = 2.0
SMALL_PANEL_MM = 60.0
"""Panels shorter than this on a side get the small hole; common practice."""
_PLACES = 96
_BEST = 36
_SCRAP_MM2 = 1.0
"""A smaller gap between an ear and its piece is board."""
_WAIST_MM = 1.2
_ROOT_MM = 0.8
"""Height of the waist where an ear breaks off, and how far it reaches into the border."""


class EarSize(Struct, frozen=True, kw_only=True):
    """hole : diameter; tab : width at the hole; neck : width where it breaks off; reach : how far
    the tab stands out; gap : least difference between two sides of the pins' triangle.
    """

    hole: float
    tab: float
    neck: float
    reach: float
    gap: float


def ear_size(panel_mm: tuple[float, float], web_mm: float) -> EarSize:
    """The size of the ears for a panel and the narrowest web its boards allow."""
    hole = SMALL_HOLE_MM if min(panel_mm) < SMALL_PANEL_MM else HOLE_MM
    wall = max(2.0, 1.25 * web_mm)
    tab = hole + 2.0 * wall
    neck = max(tab * 0.55, 2.0 * web_mm)
    return EarSize(hole=hole, tab=tab, neck=neck, reach=tab + _WAIST_MM, gap=hole)


def place_ears(
    outline: Region, size: EarSize, *, advice: Callable[[], str] = lambda: "make the panel larger"
) -> tuple[Ear, ...]:
    """Three ears on the panel's edge.

    advice : what to do where they have no room

    Raises: FrameError, if the edge has no room for them
    """
    spots = _spots(outline.outer, size)
    whole = Area.of((outline,))
    free = [spot for spot in spots if _stands_free(whole, spot, size)]
    trio = _best_trio(free, outline, size)
    if trio is None:
        width, height = outline.box.width, outline.box.height
        raise FrameError(
            "frame, pin ears",
            f"the edge of a panel of {width:.1f} x {height:.1f} mm has no room for three ears "
            f"{size.tab:.1f} mm wide",
            advice(),
        )
    return tuple(_ear(free[i], size) for i in trio)


class _Spot(Struct, frozen=True):
    at: Point
    out: Point

    def point(self, along: float, outwards: float) -> Point:
        (x, y), (nx, ny) = self.at, self.out
        return (x - ny * along + nx * outwards, y + nx * along + ny * outwards)

    def hole(self, size: EarSize) -> Point:
        return self.point(0.0, size.reach - size.tab / 2.0)


def _spots(ring: Ring, size: EarSize) -> list[_Spot]:
    """Places along the edge with the direction outwards, measured over a chord as wide as a tab."""
    points = np.asarray((*ring, ring[0]), dtype=np.float64)
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    total = float(along[-1])
    twice = float(np.sum(points[:-1, 0] * points[1:, 1] - points[1:, 0] * points[:-1, 1]))
    side = 1.0 if twice > 0.0 else -1.0

    def at(s: NDArray[np.float64]) -> NDArray[np.float64]:
        s = s % total
        return np.stack([np.interp(s, along, points[:, k]) for k in (0, 1)], axis=1)

    s = (np.arange(_PLACES) + 0.37) * total / _PLACES
    half = size.tab / 2.0
    chord = at(s + half) - at(s - half)
    length = np.hypot(chord[:, 0], chord[:, 1])
    middle = at(s)
    spots = []
    for (x, y), (dx, dy), span in zip(middle.tolist(), chord.tolist(), length, strict=True):
        if span > size.tab * 0.985:  # no corner under the tab
            spots.append(_Spot((x, y), (side * dy / span, -side * dx / span)))
    return spots


def _tab(spot: _Spot, size: EarSize) -> Ring:
    """A tab with a waist at the panel's edge, where it breaks, and sloped shoulders."""
    neck, half, waist = size.neck / 2.0, size.tab / 2.0, _WAIST_MM
    bevel = half * 0.45
    shoulder = min(waist + (half - neck), size.reach - half)
    return (
        spot.point(-neck, -_ROOT_MM),
        spot.point(-neck, waist),
        spot.point(-half, shoulder),
        spot.point(-half, size.reach - bevel),
        spot.point(-half + bevel, size.reach),
        spot.point(half - bevel, size.reach),
        spot.point(half, size.reach - bevel),
        spot.point(half, shoulder),
        spot.point(neck, waist),
        spot.point(neck, -_ROOT_MM),
    )


def _stands_free(whole: Area, spot: _Spot, size: EarSize) -> bool:
    """The tab, and room round it, lies outside the panel."""
    half = size.tab / 2.0
    room = (
        spot.point(-half, 0.3),
        spot.point(-half, size.reach + 2.0),
        spot.point(half, size.reach + 2.0),
        spot.point(half, 0.3),
    )
    return not whole.touches(Area.of((Region(room),)))


def _best_trio(
    spots: Sequence[_Spot], outline: Region, size: EarSize
) -> tuple[int, int, int] | None:
    """The widest triangle with unequal sides that makes the part little larger."""
    if len(spots) < 3:
        return None
    keep = np.linspace(0, len(spots) - 1, min(_BEST, len(spots))).round().astype(int)
    holes = np.array([spots[i].hole(size) for i in keep])
    tips = np.array([spots[i].point(0.0, size.reach) for i in keep])
    trios = np.array(list(combinations(range(len(keep)), 3)))
    a, b, c = (holes[trios[:, k]] for k in range(3))
    sides = np.sort(np.stack([_length(b - a), _length(c - b), _length(a - c)], axis=1), axis=1)
    gaps = np.diff(sides, axis=1).min(axis=1)
    u, v = b - a, c - a
    spread = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    box = outline.box
    low = np.minimum(tips[trios].min(axis=1), [box.left, box.top])
    high = np.maximum(tips[trios].max(axis=1), [box.right, box.bottom])
    score = spread / np.prod(high - low, axis=1)
    wanted = max(size.gap, 0.08 * hypot(box.width, box.height))
    score[(gaps < wanted) | (sides[:, 0] < 2.0 * size.tab)] = -1.0
    best = int(np.argmax(score))
    if score[best] <= 0.0:
        return None
    i, j, k = (int(keep[n]) for n in trios[best])
    return (i, j, k)


def _length(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.hypot(vectors[:, 0], vectors[:, 1]))


def _ear(spot: _Spot, size: EarSize) -> Ear:
    return Ear(
        tab=Region(_tab(spot, size)),
        hole_centre=spot.hole(size),
        hole_diameter_mm=size.hole,
        neck=(spot.point(-size.neck / 2.0, 0.0), spot.point(size.neck / 2.0, 0.0)),
    )


def pin_hole(ear: Ear) -> Ring:
    """The hole as a ring of 64 corners on the circle."""
    x, y = ear.hole_centre
    angles = np.arange(64) * (2.0 * np.pi / 64)
    radius = ear.hole_diameter_mm / 2.0
    return tuple(
        zip(
            (x + radius * np.cos(angles)).tolist(),
            (y + radius * np.sin(angles)).tolist(),
            strict=True,
        )
    )


def with_ears(pieces: Regions, ears: Sequence[Ear]) -> Regions:
    """A layer's pieces with the ears that touch them joined on, pin holes open.

    Pieces that one ear touches are one piece until it is broken off; what they and the ear close in
    stays open.
    """
    tabs = AreaSet.of_regions([ear.tab for ear in ears])
    solids = AreaSet.of_regions([Region(piece.outer) for piece in pieces])
    piece, ear = (found.tolist() for found in solids.meeting(tabs))
    held = {i: frozenset(e for p, e in zip(piece, ear, strict=True) if p == i) for i in set(piece)}
    made = []
    while held:
        group, mine = _held_together(held)
        solid = [solids[i] for i in group]
        joined = Area.union([*solid, *(tabs[e] for e in mine)]).regions()[0]
        holes = [hole for i in group for hole in pieces[i].holes]
        holes += [hole for hole in joined.holes if abs(ring_area_mm2(hole)) > _SCRAP_MM2]
        holes += [pin_hole(ears[e]) for e in mine]
        made.append((group[0], Region(joined.outer, tuple(holes))))
    plain = [(i, one) for i, one in enumerate(pieces) if i not in set(piece)]
    return tuple(one for _, one in sorted([*made, *plain], key=itemgetter(0)))


def _held_together(held: dict[int, frozenset[int]]) -> tuple[list[int], list[int]]:
    """The first piece and those that share an ear with it, on and on, and their ears; they are
    taken out.
    """
    first = min(held)
    group, mine = [first], set(held.pop(first))
    while more := [i for i, its in held.items() if its & mine]:
        for i in more:
            mine |= held.pop(i)
        group += more
    return sorted(group), sorted(mine)


def film_outline(
    outline: Region, ears: Sequence[Ear], *, inset_mm: float, glass: AreaSet
) -> Region:
    """Where the film is trimmed: inside the panel's edge, with ears of its own for the pins.

    glass : the panes; where the panel is too narrow for the inset beside one, or at a neck between
        two, the film's edge comes nearer to the panel's, at last up to it
    """
    film = _film(outline, ears, inset_mm)
    for nearer in (inset_mm / 2.0, inset_mm / 4.0, inset_mm / 10.0, 0.0):
        if all(film.touches(Area.of((ear.tab,))) for ear in ears) and glass.inside(film).all():
            break
        film = _film(outline, ears, nearer)
    (joined, *_) = film.regions()
    return Region(joined.outer, tuple(pin_hole(ear) for ear in ears))


def _film(outline: Region, ears: Sequence[Ear], inset_mm: float) -> Area:
    """The largest piece of the panel so far inside its edge, with the ears."""
    body = Area.of((outline,)).grown(-inset_mm)
    tabs = [Area.of((ear.tab,)) for ear in ears]
    roots = [_root(ear, inset_mm) for ear in ears]
    return Area.union([body, *tabs, *roots]).parts()[0].filled()


def _root(ear: Ear, inset_mm: float) -> Area:
    """The neck carried on to the trimmed edge."""
    left, right = ear.tab.outer[0], ear.tab.outer[-1]
    (hx, hy), (mx, my) = ear.hole_centre, ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
    span = hypot(mx - hx, my - hy)
    dx, dy = (mx - hx) / span * (inset_mm + 1.0), (my - hy) / span * (inset_mm + 1.0)
    further = ((right[0] + dx, right[1] + dy), (left[0] + dx, left[1] + dy))
    return Area.of((Region((left, right, *further)),))
