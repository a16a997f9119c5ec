"""Ends of lines that join nothing: where they are, and what they nearly reach."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from glasswork.drawing.inks import Stroke
from glasswork.drawing.net import Net, drawn_on, nearest_line, segments_of
from glasswork.model.geometry import Point
from glasswork.planar import noded, outside_mm, polygon_set


class Tip(Struct, frozen=True, kw_only=True):
    """One loose end.

    stroke : index of the stroke that ends here
    nearest : the nearest place of another line's middle, and how far its edge is
    inside : it lies within the outermost lines
    """

    place: Point
    stroke: int
    nearest: tuple[Point, float]
    inside: bool


def loose_tips(strokes: Sequence[Stroke], net: Net | None) -> tuple[Tip, ...]:
    """Ends that no other line touches and that lie in no other line's width."""
    drawn, owner = segments_of(strokes)
    if not len(drawn):
        return ()
    width = np.array([s.pen.width_mm for s in strokes])
    cap = np.array([0.0 if s.pen.cap == "flat" else 0.5 for s in strokes])
    ends = noded(drawn)
    added, _ = drawn_on(ends, drawn, owner, (width, cap))
    joined = {(round(x, 6), round(y, 6)) for x, y in added[:, 0].tolist()}
    flat = ends.reshape(-1, 2)
    names, times = np.unique(flat, axis=0, return_counts=True)
    once = {(round(x, 6), round(y, 6)) for x, y in names[times == 1].tolist()}
    hull = None
    if net is not None:
        ring = net.starts[net.rings[int(np.argmin(net.sizes))]][::-1]
        hull = polygon_set(ring, np.zeros(len(ring), dtype=np.intp))[0]
    found = []
    for index, stroke in enumerate(strokes):
        if stroke.closed:
            continue
        for place in (stroke.points[0], stroke.points[-1]):
            key = (round(place[0], 6), round(place[1], 6))
            if key in joined or key not in once:
                continue
            mine = (owner == index) & (
                (np.abs(drawn[:, 0] - place).max(axis=1) < 1e-5)
                | (np.abs(drawn[:, 1] - place).max(axis=1) < 1e-5)
            )
            spot = np.array([place])
            inside = hull is not None and float(outside_mm(spot, hull)[0]) <= 0.0
            found.append(
                Tip(
                    place=place,
                    stroke=index,
                    nearest=nearest_line(spot[0], drawn[~mine], width[owner[~mine]] / 2.0),
                    inside=inside,
                )
            )
    return tuple(found)
