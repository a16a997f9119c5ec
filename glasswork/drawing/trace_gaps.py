"""Gaps in traced lines, closed by carrying line ends on; no line gets thicker.

An end is where an outline turns back on itself within the width of a line. It is carried on to
another end that faces it, or straight ahead to the next ink, if that is near enough.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.drawing.trace_follow import Outlines
from glasswork.drawing.trace_ink import Floats
from glasswork.drawing.trace_rings import Index, Mask, Rings

BACK_TO_BACK = 0.8
"""Cosine between the sides of a line just before its end."""
FACING_DEG = 35.0
HOOK_DEG = 80.0
"""Two corners at the end of a line turn by more than this together."""
MOST_ENDS = 20_000
_BLOCK = 16_384
"""Places looked at together: they stay in the processor's cache."""


class Ends(Struct, frozen=True, kw_only=True):
    """Line ends. at : (n, 2) px · way : unit vectors outwards · width : of the lines, px · root :
    a place in the middle of each line, behind its end
    stub_from : from this one on they are stubs, which are not carried on by themselves
    """

    at: Floats
    way: Floats
    width: Floats
    root: Floats
    stub_from: int | None = None

    def chosen(self, which: NDArray[np.bool_]) -> Ends:
        return Ends(
            at=self.at[which],
            way=self.way[which],
            width=self.width[which],
            root=self.root[which],
        )


def close_gaps(lines: Mask, ends: Ends, *, gap_px: float) -> int:
    """Bridges drawn into the picture of lines, in place. Returns how many gaps were closed."""
    bridged = 0
    facing = _facing(ends, gap_px)
    for index, other in facing:
        wide = float(min(ends.width[index], ends.width[other]))
        _bridge(lines, ends.root[index], ends.root[other], wide)
        bridged += 1
    taken = {end for pair in facing for end in pair}
    for index in range(len(ends.at) if ends.stub_from is None else ends.stub_from):
        target = None if index in taken else _ahead(lines, ends, index, gap_px)
        if target is not None:
            start = ends.at[index] - ends.way[index] * 0.5 * ends.width[index]
            _bridge(lines, start, target, float(ends.width[index]))
            bridged += 1
    return bridged


def _bridge(lines: Mask, start: Floats, end: Floats, wide: float) -> None:
    """A straight stroke so wide, painted as ink."""
    import cv2

    quad = _stroke(start, end, wide)
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
    steps = np.arange(1.0, gap_px + 2.0, 0.5)
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


def line_ends(rings: Rings, *, width_px: float) -> Ends:
    """Ends of lines among outlines, pixel by pixel.

    width_px : of the usual line; ends of lines up to four times as wide are found
    """
    nowhere = np.empty((0, 2))
    none = Ends(at=nowhere, way=nowhere, width=np.empty(0), root=nowhere)
    found = _ends_of(rings, width_px, _LINE) or none
    wide = _ends_of(rings, 2.3 * width_px, _LINE) or none
    wide = wide.chosen(wide.width > 1.5 * width_px)
    found = _joined(found, _elsewhere(wide, found, width_px))
    stubs = _ends_of(rings, width_px, _STUB) or none
    found = _rooted(found, stubs, width_px)
    return _joined(found, replace(_elsewhere(stubs, found, width_px), stub_from=0))


def turning_back(outlines: Outlines, parts: Rings) -> Index:
    """Which outlines turn left sharply somewhere, as they do round an end; only those need a look.

    parts : numbers of pixels by which they are parted into straight lines
    """
    x, y = outlines.places(parts.points)
    place = x + 1j * y
    after = parts.following
    along = place[after] - place
    turn = np.conj(along) * along[after]
    left = np.maximum(-np.arctan2(turn.imag, turn.real), 0.0)
    most = np.maximum.reduceat(left + left[after], parts.start)
    return np.flatnonzero(most >= np.radians(HOOK_DEG))


def _elsewhere(ends: Ends, known: Ends, width_px: float) -> Ends:
    """Those that are no known end seen once more."""
    new = [not (np.hypot(*(known.at - at).T) <= 2.0 * width_px).any() for at in ends.at]
    return ends.chosen(np.array(new, dtype=bool))


def _rooted(ends: Ends, stubs: Ends, width_px: float) -> Ends:
    """With the places of those seen as stubs too, which lie nearer to the end."""
    root = ends.root.copy()
    for index, at in enumerate(ends.at if len(stubs.at) else ()):
        away = np.hypot(*(stubs.at - at).T)
        if away.min() <= width_px:
            root[index] = stubs.root[np.argmin(away)]
    return replace(ends, root=root)


def _joined(one: Ends, other: Ends) -> Ends:
    """Ends and others; those of the second are stubs if they say so."""
    return Ends(
        at=np.concatenate([one.at, other.at]),
        way=np.concatenate([one.way, other.way]),
        width=np.concatenate([one.width, other.width]),
        root=np.concatenate([one.root, other.root]),
        stub_from=None if other.stub_from is None else len(one.at),
    )


class _Shape(Struct, frozen=True, kw_only=True):
    """What counts as an end, in widths of its line: how far back its sides are looked at, how near
    to each other they must lie there, and how far it must stand out from there.
    """

    arm: float
    apart: float
    out: float


_LINE = _Shape(arm=2.2, apart=1.8, out=1.1)
_STUB = _Shape(arm=0.8, apart=1.0, out=0.28)
"""The end of a short piece that stands out from a line: closed only if another end faces it."""


def _ends_of(rings: Rings, width: float, shape: _Shape) -> Ends | None:
    """Where the two sides of a line, a little before its end, run back to back."""
    pitch = max(1, int(width / 5.0))
    arm = max(3, round(shape.arm * width / pitch))
    rings = Rings(points=rings.points[::pitch], start=-(-rings.start // pitch))
    close, back, on = _turning_back(rings, arm, shape.apart * width + 2.0)
    if not len(close):
        return None
    half = arm // 2
    whole = rings.points
    number = rings.rings_at(close)
    begin, long = rings.start[number], (rings.stop - rings.start)[number]
    before, after = (begin + (close + k - begin) % long for k in (-half, half))
    points, first, last = (whole[k].astype(np.float64) for k in (close, back, on))
    one, other = _unit(whole[before] - first), _unit(whole[after] - last)
    way = _unit(one + other)
    reach = ((points - (first + last) / 2.0) * way).sum(axis=1)
    fits = ((one * other).sum(axis=1) > BACK_TO_BACK) & (reach >= shape.out * width)
    ends = Ends(
        at=points, way=way, width=_widths(first, last, way), root=(first + last) / 2.0
    )  # fmt: skip
    return _one_each(ends, _runs(rings, close, fits, apart=max(2, arm // 3)))


def _turning_back(rings: Rings, arm: int, reach: float) -> tuple[Index, Index, Index]:
    """Places about which a ring turns left and, as many places before as after, comes near to
    itself; with those before and after, in turn.
    """
    x, y = rings.points[:, 0], rings.points[:, 1]
    at, before, after = _near(rings, arm, int(reach))
    wide, high = x[after] - x[before], y[after] - y[before]
    # the ink is on the left hand: round an end the outline turns left, back on paper
    left = (x[at] - x[before]) * high - (y[at] - y[before]) * wide < 0
    kept = np.flatnonzero(left & (wide * wide + high * high <= reach * reach))
    kept = kept[np.argsort(at[kept], kind="stable")]
    return at[kept], before[kept], after[kept]


def _near(rings: Rings, arm: int, most: int) -> tuple[Index, Index, Index]:
    """Places so many before and after which a ring comes near to itself, across and down."""
    points, start, stop = rings.points, rings.start, rings.stop
    x, y = points[:, 0], points[:, 1]
    found = [np.empty(0, np.intp)]
    for begin in range(2 * arm, len(x), _BLOCK):
        end = min(begin + _BLOCK, len(x))
        one, other = slice(begin - 2 * arm, end - 2 * arm), slice(begin, end)
        near = np.abs(x[other] - x[one]) <= most
        near &= np.abs(y[other] - y[one]) <= most
        found.append(np.flatnonzero(near) + (begin - arm))
    plain = np.concatenate(found)
    ring = rings.rings_at(plain)
    plain = plain[(plain - arm >= start[ring]) & (plain + arm < stop[ring])]
    # and about where each ring begins
    long = stop - start >= 2 * arm + 2
    first, last = (edge[long, None] + np.arange(arm) for edge in (start, stop - arm))
    over = np.concatenate([first, last], axis=None)
    back = np.concatenate([last, last - arm], axis=None)
    on = np.concatenate([first + arm, first], axis=None)
    some = np.flatnonzero((np.abs(x[on] - x[back]) <= most) & (np.abs(y[on] - y[back]) <= most))
    return (
        np.concatenate([plain, over[some]]),
        np.concatenate([plain - arm, back[some]]),
        np.concatenate([plain + arm, on[some]]),
    )


def _widths(back: Floats, on: Floats, way: Floats) -> Floats:
    """Between the sides, square to the line, its own edge pixels counted."""
    between = on - back
    return np.asarray(np.abs(between[:, 0] * way[:, 1] - between[:, 1] * way[:, 0]) + 1.0)


def _runs(rings: Rings, number: Index, fits: NDArray[np.bool_], *, apart: int) -> list[Index]:
    """Places that lie near to each other on their ring, together.

    number, fits : the corner at each place, ascending, and whether the place counts
    """
    found = []
    places = np.flatnonzero(fits)
    ring = rings.rings_at(number[places])
    for one in np.unique(ring).tolist():
        some = places[ring == one]
        runs = np.split(some, np.flatnonzero(np.diff(number[some]) > apart) + 1)
        round_ = number[some[0]] + int(rings.stop[one] - rings.start[one]) - number[some[-1]]
        if len(runs) > 1 and round_ <= apart:
            runs[0] = np.concatenate([runs.pop(), runs[0]])
        found += runs
    return found


def _one_each(ends: Ends, runs: list[Index]) -> Ends | None:
    """The places about one end as one: on the mean middle of the line's sides, as far out as any.

    runs : the places of each
    """
    if not runs:
        return None
    at, way, width, root = [], [], [], []
    for run in runs[:MOST_ENDS]:
        on_line = ends.root[run].mean(axis=0)
        out = _unit(ends.way[run].sum(axis=0)[None])[0]
        at.append(on_line + out * float(((ends.at[run] - on_line) @ out).max()))
        way.append(out)
        width.append(float(np.median(ends.width[run])))
        root.append(on_line)
    return Ends(at=np.array(at), way=np.array(way), width=np.array(width), root=np.array(root))


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(*vectors.T), 1e-12)[:, None])
