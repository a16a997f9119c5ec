"""The leading among the outlines of a scan: the largest drawing, its islands and its panes."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.trace_follow import Outlines
from glasswork.drawing.trace_rings import Floats, Index, Rings

SPECK_MM = 1.5
"""A blot whose longer side is shorter than this is dirt."""
ISLAND_MM = 8.0
"""A drawing apart from the rest is a lead if it is this long and holds a pane; else it is none."""
LEAST_PANE_MM = 0.6
"""A light spot narrower than this is no pane."""
LEAST_GLASS_MM2 = 4.0
"""An island holds as much."""
_SMALL = 10.0


class Net(Struct, frozen=True, kw_only=True):
    """The leading as outlines of ink: its own, those of islands, then those of panes.

    solid : how many come before the panes · parts : the pixels by which they are parted into
    straight lines · left_out : how many blots are none of it
    """

    outlines: Outlines
    parts: Rings
    solid: int
    specks: int
    left_out: int


class _Nested(Struct, frozen=True, kw_only=True):
    """areas : of outlines, px² · parents : the outline about each hole, else -1"""

    areas: Floats
    parents: Index


def net_of(
    outlines: Outlines, parts: Rings, shape: tuple[int, ...], mm_per_px: float
) -> Net | None:
    """The largest drawing that encloses a pane, with what belongs to it; shape : the picture's"""
    if not len(outlines):
        return None
    mm = mm_per_px
    known = _nested(outlines, LEAST_PANE_MM / mm)
    areas, parents = known.areas, known.parents
    holes = np.flatnonzero((parents >= 0) & (areas >= (LEAST_PANE_MM / mm) ** 2))
    glazed = np.zeros(len(outlines))
    np.add.at(glazed, parents[holes], areas[holes])
    outers = np.flatnonzero((parents < 0) & (glazed > 0.0))
    outers = outers[np.argsort(-areas[outers], kind="stable")]
    if not len(outers):
        return None
    outer = _not_the_rim(outers, areas, outlines, shape)
    blots = np.flatnonzero((parents < 0) & (outlines.size >= 2.0 * SPECK_MM / mm))
    islands, left_out = _islands(outlines, outer, blots[blots != outer], glazed * mm * mm, mm)
    panes = holes[np.isin(parents[holes], [outer, *islands])]
    kept = np.array([outer, *islands, *panes.tolist()])
    specks = int((parents < 0).sum()) - 1 - len(islands) - left_out
    return Net(
        outlines=outlines.chosen(kept),
        parts=parts.chosen(kept),
        solid=1 + len(islands),
        specks=specks,
        left_out=left_out,
    )


def _nested(outlines: Outlines, least_px: float) -> _Nested:
    """Areas, exact for small holes, and which outlines lie about which holes.

    least_px : side of the smallest hole that counts
    """
    import cv2

    areas = outlines.areas()
    holes = areas < 0.0
    areas = np.abs(areas)
    worth = outlines.size >= 2.0 * least_px
    small = np.flatnonzero(worth & holes & (areas < _SMALL * least_px**2))
    dense = outlines.dense(small).each() if len(small) else []
    areas[small] = [cv2.contourArea(np.ascontiguousarray(ring)) for ring in dense]
    areas[~worth] = 0.0
    parents = np.where(holes, int(np.argmax(np.where(holes, -1.0, areas))), -1)
    first = outlines.begin[holes]
    at = np.stack([outlines.x[first], outlines.y[first]], axis=1)
    others = np.flatnonzero(~holes & worth & (areas >= least_px**2))
    number = np.flatnonzero(holes)
    # what lies within another comes after it
    for outer in others[np.argsort(-areas[others], kind="stable")][1:].tolist():
        parents[number[_within(outlines.polygon(outer), at)]] = outer
    return _Nested(areas=areas, parents=parents)


def _within(polygon: NDArray[np.int32], places: NDArray[np.int32]) -> Index:
    """Numbers of the pixels that lie in a polygon or on it."""
    import cv2

    low, high = polygon.min(axis=0), polygon.max(axis=0)
    near = np.flatnonzero(((places >= low) & (places <= high)).all(axis=1))
    if not len(near):
        return near
    wide, tall = (high - low + 1).tolist()
    mask = np.zeros((tall, wide), np.uint8)
    cv2.fillPoly(mask, [polygon - low], (1,))
    x, y = (places[near] - low).T
    return np.asarray(near[mask[y, x] > 0])


def _islands(
    outlines: Outlines, outer: int, blots: Index, glazed_mm2: Floats, mm: float
) -> tuple[list[int], int]:
    """Drawings apart within an outline that are leads, and how many blots are neither these nor
    specks.
    """
    import cv2

    outline = outlines.polygon(outer)
    islands, left_out = [], 0
    for i in blots.tolist():
        polygon = outlines.polygon(i)
        _, _, w, h = cv2.boundingRect(polygon)
        if max(w, h) < SPECK_MM / mm:
            continue
        x, y = polygon[0].tolist()
        within = cv2.pointPolygonTest(outline, (float(x), float(y)), False) > 0
        if within and glazed_mm2[i] >= LEAST_GLASS_MM2 and max(w, h) >= ISLAND_MM / mm:
            islands.append(i)
        else:
            left_out += 1
    return islands, left_out


def _not_the_rim(outers: Index, areas: Floats, outlines: Outlines, shape: tuple[int, ...]) -> int:
    """The largest drawing, unless it is the picture's dark rim about another one."""
    import cv2

    first = int(outers[0])
    x, y, w, h = cv2.boundingRect(outlines.polygon(first))
    touching = (x <= 1) + (y <= 1) + (x + w >= shape[1] - 1) + (y + h >= shape[0] - 1)
    if touching >= 2 and len(outers) > 1:
        second = int(outers[1])
        if areas[second] >= 0.05 * shape[0] * shape[1]:
            return second
    return first
