"""Gaps in traced lines, closed by carrying line ends on; no line gets thicker.

An end is where an outline turns back on itself within the width of a line. It is carried on to
another end that faces it, or straight ahead to the next ink, if that is near enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_ink import Floats, Mask

BACK_TO_BACK = 0.8
"""Cosine between the sides of a line just before its end."""
FACING_DEG = 35.0
MOST_ENDS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """Line ends. at : (n, 2) px · way : unit vectors outwards · width : of the lines, px"""

    at: Floats
    way: Floats
    width: Floats


def close_gaps(lines: Mask, ends: Ends, *, gap_px: float) -> int:
    """Bridges drawn into the picture of lines, in place. Returns how many gaps were closed."""
    bridged = 0
    facing = _facing(ends, gap_px)
    for index, other in facing:
        half = ends.way[other] * 0.5 * ends.width[other]
        wide = float(min(ends.width[index], ends.width[other]))
        _bridge(lines, ends, index, (ends.at[other] - half, wide))
        bridged += 1
    taken = {end for pair in facing for end in pair}
    for index in range(len(ends.at)):
        target = None if index in taken else _ahead(lines, ends, index, gap_px)
        if target is not None:
            _bridge(lines, ends, index, (target, float(ends.width[index])))
            bridged += 1
    return bridged


def _bridge(lines: Mask, ends: Ends, index: int, to: tuple[Floats, float]) -> None:
    """A straight stroke from half a width inside an end to a place, so wide."""
    import cv2

    target, wide = to
    start = ends.at[index] - ends.way[index] * 0.5 * ends.width[index]
    quad = _stroke(start, target, wide)
    cv2.fillConvexPoly(lines, np.round(quad * 16.0).astype(np.int32), (255,), shift=4)


def _stroke(start: Floats, end: Floats, wide: float) -> Floats:
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    side = np.array([-along[1], along[0]]) * max(0.5, (wide - 1.0) / 2.0)
    return np.array([start + side, end + side, end - side, start - side])


def _facing(ends: Ends, gap_px: float) -> list[tuple[int, int]]:
    """Pairs of ends that face each other, nearest first."""
    if len(ends.at) < 2:
        return []
    pairs = _near_pairs(ends.at, gap_px + float(np.median(ends.width)))
    if not len(pairs):
        return []
    between = ends.at[pairs[:, 1]] - ends.at[pairs[:, 0]]
    size = np.hypot(*between.T)
    unit = between / np.maximum(size, 1e-9)[:, None]
    near = np.cos(np.radians(FACING_DEG))
    fits = ((unit * ends.way[pairs[:, 0]]).sum(axis=1) > near) & (
        -(unit * ends.way[pairs[:, 1]]).sum(axis=1) > near
    )
    found: list[tuple[int, int]] = []
    used: set[int] = set()
    for k in np.flatnonzero(fits)[np.argsort(size[fits], kind="stable")]:
        i, j = (int(v) for v in pairs[k])
        if i not in used and j not in used:
            used |= {i, j}
            found.append((i, j))
    return found


def _near_pairs(points: Floats, reach: float) -> NDArray[np.intp]:
    """Numbers of points not further apart than a reach, (n, 2)."""
    order = np.argsort(points[:, 0], kind="stable")
    ordered = points[order]
    found = []
    for step in range(1, len(order)):
        apart = ordered[step:] - ordered[:-step]
        if not (apart[:, 0] <= reach).any():
            break
        first = np.flatnonzero(np.hypot(*apart.T) <= reach)
        found.append(np.stack([order[first], order[first + step]], axis=1))
    return np.concatenate(found) if found else np.empty((0, 2), np.intp)


def _ahead(lines: Mask, ends: Ends, index: int, gap_px: float) -> Floats | None:
    """Where an end carried straight on meets ink, half a width into it; None if nowhere near, or
    if it is carried on already.
    """
    width = float(ends.width[index])
    steps = np.arange(2.0, gap_px + 2.0, 0.5)
    way = ends.way[index]
    side = np.array([-way[1], way[0]]) * 0.3 * width
    for off in (0.0, 1.0, -1.0):
        path = ends.at[index] + off * side + steps[:, None] * way
        x, y = np.round(path).astype(np.intp).T
        inside = (x >= 0) & (y >= 0) & (x < lines.shape[1]) & (y < lines.shape[0])
        ink = np.zeros(len(steps), dtype=bool)
        ink[inside] = lines[y[inside], x[inside]] > 0
        if ink[:3].all():
            return None
        clear = np.flatnonzero(~ink)
        hits = np.flatnonzero(ink[clear[0] :]) if len(clear) else clear
        if len(hits):
            reach = steps[clear[0] + hits[0]] + 0.5 * width
            return np.asarray(ends.at[index] + way * reach)
    return None


def line_ends(contours: Sequence[NDArray[Any]], *, width_px: float) -> Ends:
    """Ends of lines among outlines and holes as OpenCV follows them.

    width_px : of the usual line; ends of lines up to four times as wide are found
    """
    found = [_ends_of(contours, width_px), _ends_of(contours, 2.3 * width_px)]
    wide = found[1].width > 1.5 * width_px
    return Ends(
        at=np.concatenate([found[0].at, found[1].at[wide]]),
        way=np.concatenate([found[0].way, found[1].way[wide]]),
        width=np.concatenate([found[0].width, found[1].width[wide]]),
    )


def _ends_of(contours: Sequence[NDArray[Any]], width: float) -> Ends:
    """Where the two sides of a line, a little before its end, run back to back."""
    pitch = max(1, int(width / 5.0))
    arm = max(3, round(2.2 * width / pitch))
    rings = [c[::pitch, 0] for c in contours if len(c) >= pitch * (2 * arm + 2)]
    if not rings:
        return Ends(at=np.empty((0, 2)), way=np.empty((0, 2)), width=np.empty(0))
    # each ring goes on by an arm beyond both its ends, so that all arms are plain offsets
    long = np.array([len(ring) for ring in rings])
    whole = np.concatenate([part for ring in rings for part in (ring[-arm:], ring, ring[:arm])])
    apart = whole[2 * arm :] - whole[: -2 * arm]
    reach = 1.8 * width + 2.0
    near = np.flatnonzero(apart[:, 0] ** 2 + apart[:, 1] ** 2 <= reach * reach)
    stop = np.cumsum(long + 2 * arm)
    ring = np.searchsorted(stop, near, side="right")
    first = stop[ring] - long[ring] - 2 * arm
    near = near[near - first < long[ring]]
    close = near + arm
    points, back, on = (whole[close + k].astype(np.float64) for k in (0, -arm, arm))
    half = arm // 2
    one, other = _unit(whole[close - half] - back), _unit(whole[close + half] - on)
    way = _unit(one + other)
    reach = ((points - (back + on) / 2.0) * way).sum(axis=1)
    # OpenCV keeps the ink on the left hand: round an end the outline turns left, back on paper
    a, b = points - back, on - points
    left = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] < 0.0
    fits = left & ((one * other).sum(axis=1) > BACK_TO_BACK) & (reach >= 1.1 * width)
    ends = Ends(at=points, way=way, width=_widths(back, on, way))
    return _one_each(ends, (back + on) / 2.0, (close, fits), max(2, arm // 3))


def _widths(back: Floats, on: Floats, way: Floats) -> Floats:
    """Between the sides, square to the line, its own edge pixels counted."""
    between = on - back
    return np.asarray(np.abs(between[:, 0] * way[:, 1] - between[:, 1] * way[:, 0]) + 1.0)


def _one_each(
    ends: Ends, middle: Floats, chosen: tuple[NDArray[np.intp], NDArray[np.bool_]], apart: int
) -> Ends:
    """The places about one end as one: on the mean middle of the line's sides, as far out as any.

    middle : between the sides beside each place · chosen : number and fitness of each place
    """
    number, fits = chosen
    places = np.flatnonzero(fits)
    if not len(places):
        return Ends(at=np.empty((0, 2)), way=np.empty((0, 2)), width=np.empty(0))
    runs = np.split(places, np.flatnonzero(np.diff(number[places]) > apart) + 1)
    at, way, width = [], [], []
    for run in runs[:MOST_ENDS]:
        on_line = middle[run].mean(axis=0)
        out = _unit(ends.way[run].sum(axis=0)[None])[0]
        at.append(on_line + out * float(((ends.at[run] - on_line) @ out).max()))
        way.append(out)
        width.append(float(np.median(ends.width[run])))
    return Ends(at=np.array(at), way=np.array(way), width=np.array(width))


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(*vectors.T), 1e-12)[:, None])
