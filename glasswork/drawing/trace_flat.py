"""Outlines of a scan as polygons in mm, laid flat and upright, and whether they are sound.

While the outlines on the right are fitted, those on the left are looked at on another thread.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_edges import fitted
from glasswork.drawing.trace_ink import Ink
from glasswork.drawing.trace_net import Net
from glasswork.drawing.trace_rings import Floats, Index, Rings
from glasswork.drawing.trace_sheet import Sheet
from glasswork.planar import sound_rings

MOST_SKEW_DEG = 5.0
LEAST_MM2 = 1e-8
FEW = 400
"""So many outlines are not worth two parts."""
_LEFT = 0.55
"""Share of the outlines that are fitted first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """Outlines in mm, in the order of the net. skew_deg : by how much they were askew
    sound : the first one with all others as its holes is an area as it is
    """

    rings: Rings
    skew_deg: float
    sound: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What outlines are fitted to. sheet : if it does not fill the picture · mm : of a pixel
    tolerance_px : how far an outline may leave its pixels
    """

    ink: Ink
    sheet: Sheet | None
    mm: float
    tolerance_px: float


def laid_flat(net: Net, ground: Ground, meanwhile: Callable[[Rings], None]) -> Flat:
    """The net's outlines, fitted to the ink's edge; what else is to be done with them is done
    while they are looked at.
    """
    left, right = _parts(net)
    first = _fitted(net, ground, left)
    skew = _skew_deg(first.points[: first.stop[0]])
    first = _upright(first, skew, ground.mm)
    apart = net.solid == 1
    with ThreadPoolExecutor(1) as beside:
        sound = beside.submit(lambda: apart and _sound(first, at_once=1 if len(right) else 2))
        if not len(right):
            meanwhile(first)
            return Flat(rings=first, skew_deg=skew, sound=sound.result())
        second = _upright(_fitted(net, ground, right), skew, ground.mm)
        met = beside.submit(lambda: sound.result() and _sound(_met(first, second), at_once=2))
        both = Rings(
            points=np.concatenate([first.points, second.points]),
            start=np.concatenate([first.start, second.start + len(first.points)]),
        ).chosen(np.argsort(np.concatenate([left, right])))
        meanwhile(both)
        return Flat(rings=both, skew_deg=skew, sound=met.result())


def _parts(net: Net) -> tuple[Index, Index]:
    """Numbers of the outlines on the left, the leading's own and islands among them, and of the
    others; none, if there are few.
    """
    count = len(net.outlines)
    if count <= FEW:
        return np.arange(count), np.arange(0)
    x, _ = net.outlines.places(net.parts.points)
    from_ = np.minimum.reduceat(x, net.parts.start)
    left = from_ <= np.quantile(from_, _LEFT)
    left[: net.solid] = True
    return np.flatnonzero(left), np.flatnonzero(~left)


def _fitted(net: Net, ground: Ground, some: Index) -> Rings:
    """Some outlines along the ink's edge, on the sheet laid flat, px."""
    rings = fitted(
        net.outlines.chosen(some),
        net.parts.chosen(some),
        ground.ink,
        tolerance_px=ground.tolerance_px,
    )
    points = rings.points if ground.sheet is None else ground.sheet.flat(rings.points)
    return Rings(points=points + 0.5, start=rings.start)


def _skew_deg(outer: Floats) -> float:
    """By how much an outline's straight sides are askew, up to 5°; 0 if it has none."""
    along = np.roll(outer, -1, axis=0) - outer
    length = np.hypot(*along.T)
    off = (np.degrees(np.arctan2(along[:, 1], along[:, 0])) + 45.0) % 90.0 - 45.0
    straight = (np.abs(off) <= MOST_SKEW_DEG) & (length >= 0.1 * length.max(initial=0.0))
    if length[straight].sum() < 0.3 * length.sum():
        return 0.0
    return float(np.average(off[straight], weights=length[straight]))


def _upright(rings: Rings, skew_deg: float, mm: float) -> Rings:
    """Rings in px turned back by an angle, in mm."""
    cos, sin = np.cos(np.radians(-skew_deg)), np.sin(np.radians(-skew_deg))
    return Rings(points=rings.points @ np.array([[cos, sin], [-sin, cos]]) * mm, start=rings.start)


def _met(first: Rings, second: Rings) -> Rings:
    """The first outline of all, and a second part with what of the first may touch it."""
    far = np.maximum.reduceat(first.points[:, 0], first.start)
    near = np.flatnonzero(far >= second.points[:, 0].min())
    some = first.chosen(np.concatenate([[0], near[near > 0]]))
    return Rings(
        points=np.concatenate([some.points, second.points]),
        start=np.concatenate([some.start, second.start + len(some.points)]),
    )


def _sound(rings: Rings, *, at_once: int) -> bool:
    """Whether the first ring with the others as its holes is an area as it is."""
    return bool(thick(rings).all()) and sound_rings(rings.points, rings.ring_of, at_once=at_once)


def thick(rings: Rings) -> NDArray[np.bool_]:
    """Which rings have an area."""
    return np.asarray((np.abs(rings.areas()) > LEAST_MM2) & (rings.stop - rings.start >= 3))
