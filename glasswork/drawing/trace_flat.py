"""Outlines of a scan as polygons in mm, laid flat and upright, and whether they are sound."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.trace_edges import fitted
from glasswork.drawing.trace_ink import Ink
from glasswork.drawing.trace_net import Net
from glasswork.drawing.trace_rings import Floats, Rings
from glasswork.drawing.trace_sheet import Sheet
from glasswork.planar import sound_rings

MOST_SKEW_DEG = 5.0
LEAST_MM2 = 1e-8


class Flat(Struct, frozen=True, kw_only=True):
    """Outlines in mm, in the order of the net. skew_deg : by how much they were askew
    sound : the first one with all others as its holes is an area as it is
    """

    rings: Rings
    skew_deg: float
    sound: bool


class Ground(Struct, frozen=True, kw_only=True):
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
    rings = _fitted(net, ground)
    skew = _skew_deg(rings.points[: rings.stop[0]])
    flat = _upright(rings, skew, ground.mm)
    with ThreadPoolExecutor(1) as beside:
        sound = beside.submit(lambda: net.solid == 1 and _sound(flat))
        meanwhile(flat)
        return Flat(rings=flat, skew_deg=skew, sound=sound.result())


def _fitted(net: Net, ground: Ground) -> Rings:
    """The outlines along the ink's edge, on the sheet laid flat, px."""
    rings = fitted(net.outlines, net.parts, ground.ink, tolerance_px=ground.tolerance_px)
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


def _sound(rings: Rings) -> bool:
    """Whether the first ring with the others as its holes is an area as it is."""
    return bool(thick(rings).all()) and sound_rings(rings.points, rings.ring_of)


def thick(rings: Rings) -> NDArray[np.bool_]:
    """Which rings have an area."""
    return np.asarray((np.abs(rings.areas()) > LEAST_MM2) & (rings.stop - rings.start >= 3))
