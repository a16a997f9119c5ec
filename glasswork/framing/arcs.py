"""Runs of short chords told as arcs again, so that a cutter runs smoothly."""

from __future__ import annotations

from math import atan2, hypot, pi, sin, tan

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.model.frame import CutPath

TOLERANCE_MM = 0.004
"""No corner of the drawn path lies farther from its arc."""
_LEAST_CHORDS = 4
_SPARE_CHORDS = _LEAST_CHORDS + 2
"""Chords left over half a turn: fewer may hold no arc, for the last one can be a straight line."""
_FEW = 5
_LINE_MM = 1e-6
_FLAT_MM = 2e-4
_PASSES = 6
_MOST_TURN = pi / 5.0
"""A chord that turns more is a corner, not part of an arc."""
_MOST_SWEEP = 1.05 * pi
_MOST_RADIUS_MM = 5000.0


def with_arcs(path: CutPath) -> CutPath:
    """The path with runs of chords replaced by arcs of one bulge each, and straight runs joined.

    Every point kept is a point of the path as it came; what is left out lies within
    TOLERANCE_MM of the arc or line that replaces it.
    """
    if len(path.points) < 3 or (len(path.points) <= _FEW and not _any_in_line(path)):
        return path
    points = np.asarray(path.points, dtype=np.float64)
    chain = np.vstack([points, points[:1]]) if path.closed else points
    wanted = _needed(chain)
    knots, bulges = _fit(chain[wanted])
    if path.closed:
        knots = knots[:-1]
    kept = tuple(path.points[int(wanted[k])] for k in knots)
    if len(kept) < (2 if path.closed else 1):
        return path
    return replace(path, points=kept, bulges=tuple(bulges) if any(bulges) else ())


def _needed(chain: NDArray[np.float64]) -> NDArray[np.intp]:
    """Indices of the corners without those that hardly leave the line of their neighbours."""
    index = np.arange(len(chain))
    for _ in range(_PASSES):
        run = chain[index]
        chord = run[2:] - run[:-2]
        span = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-12)
        step = run[1:-1] - run[:-2]
        off = np.abs(step[:, 0] * chord[:, 1] - step[:, 1] * chord[:, 0]) / span
        along = np.einsum("ij,ij->i", step, chord)
        flat = (off < _FLAT_MM) & (along > 0.0) & (along < span * span)
        flat[1:] &= ~flat[:-1] | (np.arange(1, len(flat)) % 2 == 0)  # never two in a row
        flat[1:] &= ~flat[:-1]
        if not flat.any():
            break
        index = np.concatenate([index[:1], index[1:-1][~flat], index[-1:]])
    return index


def _any_in_line(path: CutPath) -> bool:
    """Some corner of a short path lies on the line between its neighbours."""
    points = path.points
    count = len(points)
    for i in range(0 if path.closed else 1, count if path.closed else count - 1):
        (ax, ay), (bx, by), (cx, cy) = points[i - 1], points[i], points[(i + 1) % count]
        cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        if i and abs(cross) <= _LINE_MM * hypot(cx - ax, cy - ay):
            return True
    return False


def _fit(chain: NDArray[np.float64]) -> tuple[list[int], list[float]]:
    """Greedy: from each knot the longest arc or line that holds; returns knots and bulges."""
    edges = np.diff(chain, axis=0)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    headings = np.arctan2(edges[:, 1], edges[:, 0])
    turns = np.diff(headings)
    turns = (turns + pi) % (2.0 * pi) - pi
    knots, bulges = [0], []
    at, last = 0, len(chain) - 1
    while at < last:
        end, bulge = _longest_arc(chain, lengths, turns, at)
        if end - at < _LEAST_CHORDS:
            end, bulge = _longest_line(chain, at), 0.0
        knots.append(end)
        bulges.append(bulge)
        at = end
    return knots, bulges


def _longest_line(chain: NDArray[np.float64], start: int) -> int:
    """The furthest corner that a straight line reaches, leaving out corners in line."""
    end = start + 1
    while end + 1 < len(chain) and _straight(chain[start : end + 2]):
        end += 1
    return end


def _straight(run: NDArray[np.float64]) -> bool:
    d = run[-1] - run[0]
    span = hypot(*d)
    if span < 1e-9:
        return False
    off = np.abs((run[:, 0] - run[0, 0]) * d[1] - (run[:, 1] - run[0, 1]) * d[0]) / span
    along = (run - run[0]) @ d
    return bool(off.max() < _LINE_MM and (np.diff(along) > 0.0).all())


def _longest_arc(
    chain: NDArray[np.float64],
    lengths: NDArray[np.float64],
    turns: NDArray[np.float64],
    start: int,
) -> tuple[int, float]:
    """The furthest corner that one arc from start reaches, and its bulge; start if none does."""
    reach = _same_way(turns, lengths, start)
    if reach - start < _LEAST_CHORDS:
        return start, 0.0
    low, good, bulge = start + _LEAST_CHORDS, start, 0.0
    high = reach
    while low <= high:
        end = (low + high + 1) // 2 if good > start else high
        fitted = _arc_through(chain[start : end + 1])
        if fitted is None:
            high = end - 1
        else:
            good, bulge = end, fitted
            low = end + 1
    return good, bulge


def _same_way(turns: NDArray[np.float64], lengths: NDArray[np.float64], start: int) -> int:
    """Index of the corner up to which the chain turns gently one way, about half a turn at most;
    a remainder too short for an arc of its own is given more.
    """
    run = turns[start:]
    if not len(run) or abs(run[0]) < 1e-7:
        return start
    side = 1.0 if run[0] > 0.0 else -1.0
    bad = (run * side <= 1e-7) | (run * side > _MOST_TURN)
    whole = int(np.argmax(bad)) if bad.any() else len(run)
    over = np.cumsum(run[:whole] * side) > _MOST_SWEEP
    stop = int(np.argmax(over)) if over.any() else whole
    if 0 < whole - stop < _SPARE_CHORDS:
        stop -= _SPARE_CHORDS
    return min(start + stop + 1, len(lengths))


def _arc_through(run: NDArray[np.float64]) -> float | None:
    """The bulge of the arc through the ends and nearest the middle, if all corners lie on it."""
    a, b = run[0], run[-1]
    chord = b - a
    span = float(np.hypot(*chord))
    if span < 1e-9:
        return None
    sides = (run[1:-1, 0] - a[0]) * chord[1] - (run[1:-1, 1] - a[1]) * chord[0]
    far = int(np.argmax(np.abs(sides))) + 1
    u, v = a - run[far], b - run[far]
    half = atan2(float(u[0] * v[1] - u[1] * v[0]), float(u @ v))
    # the inscribed angle at the middle corner is pi less half the arc's angle
    sweep = 2.0 * (pi - abs(half))
    if not 1e-6 < sweep < 2.0 * pi - 0.2:
        return None
    radius = span / (2.0 * abs(sin(sweep / 2.0)))
    if radius > _MOST_RADIUS_MM:
        return None
    side = -1.0 if half > 0.0 else 1.0
    centre = _centre(a, b, sweep, side)
    off = np.abs(np.hypot(*(run - centre).T) - radius)
    mids = (run[1:] + run[:-1]) / 2.0
    sag = np.abs(np.hypot(*(mids - centre).T) - radius)
    if off.max() > TOLERANCE_MM or sag.max() > 5.0 * TOLERANCE_MM:
        return None
    return side * tan(sweep / 4.0)


def _centre(
    a: NDArray[np.float64], b: NDArray[np.float64], sweep: float, side: float
) -> NDArray[np.float64]:
    """Centre of the arc from a to b; side +1 turns from x towards y."""
    middle = (a + b) / 2.0
    chord = b - a
    normal = np.array([-chord[1], chord[0]])
    away = 1.0 / (2.0 * tan(sweep / 2.0))
    return np.asarray(middle + normal * away * side)
