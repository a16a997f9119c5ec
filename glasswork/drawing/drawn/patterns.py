"""Quarries: the leads of a plain field, laid over the glass and cut off at the opening's edge.

Sources: diamonds look best taller than wide [glasstips]; a quarry of 4 × 6 in is usual
[common-quarry].
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from glasswork.drawing.drawn.curves import Curve, Line
from glasswork.model.geometry import Box, Point

Pattern = Callable[[Box, float, float, float], list[Curve]]
"""Glass to be filled, width and height of a quarry, and how far the leads run on beyond it."""


def _whole(size: float, part: float) -> tuple[int, float]:
    """How many parts make a size, and how large each is then."""
    count = max(1, round(size / part))
    return count, size / count


def no_leads(_box: Box, _wide: float, _high: float, _over: float) -> list[Curve]:
    return []


def rectangles(box: Box, wide: float, high: float, over: float) -> list[Curve]:
    """Upright quarries, a whole number across; rows counted from the sill."""
    count, wide = _whole(box.width, wide)
    rows = floor((box.height - 1e-9) / high)
    xs = [box.left + i * wide for i in range(1, count)]
    ys = [box.bottom - row * high for row in range(1, rows + 1)]
    far = box.grown(over)
    uprights: list[Curve] = [Line((x, far.top), (x, far.bottom)) for x in xs]
    return uprights + [Line((far.left, y), (far.right, y)) for y in ys]


def diamonds(box: Box, wide: float, high: float, over: float) -> list[Curve]:
    """Quarries on their points, a whole number across; points meet the sill and the jambs."""
    count, wide = _whole(box.width, wide)
    rows = ceil(box.height / high) + 1
    far = box.grown(over)
    found: list[Curve] = []
    for k in range(-rows - 1, count + rows + 2):
        for side in (-1.0, 1.0):
            low = (box.left + (k - side) * wide, box.bottom + high)
            top = (low[0] + side * (rows + 1) * wide, box.bottom - rows * high)
            cut = _within(low, top, far)
            if cut is not None:
                found.append(cut)
    return found


def _within(a: Point, b: Point, box: Box) -> Line | None:
    """The part of a slanting line between a box's uprights and above its foot."""
    slope = (b[0] - a[0]) / (b[1] - a[1])
    a = (a[0] + slope * (box.bottom - a[1]), box.bottom)
    if a[0] > b[0]:
        a, b = b, a
    if min(b[0], box.right) - max(a[0], box.left) <= 1e-9:
        return None
    ends = [
        p if box.left <= p[0] <= box.right else _at(min(box.right, max(box.left, p[0])), p, slope)
        for p in (a, b)
    ]
    return Line(ends[0], ends[1])


def _at(x: float, point: Point, slope: float) -> Point:
    return (x, point[1] + (x - point[0]) / slope)


def bricks(box: Box, wide: float, high: float, over: float) -> list[Curve]:
    """Lying quarries in rows from the sill, every second row moved by half."""
    count, wide = _whole(box.width, wide)
    rows = ceil((box.height - 1e-6) / high)
    far = box.grown(over)
    found: list[Curve] = []
    for row in range(rows):
        low, top = box.bottom - row * high, box.bottom - (row + 1) * high
        if row:
            found.append(Line((far.left, low), (far.right, low)))
        shift = 0.5 if row % 2 else 0.0
        xs = [box.left + (i + shift) * wide for i in range(count + 1)]
        foot = low if row else far.bottom
        top = top if row + 1 < rows else far.top
        found += [Line((x, foot), (x, top)) for x in xs if box.left + 1e-9 < x < box.right - 1e-9]
    return found


def honeycomb(box: Box, wide: float, high: float, over: float) -> list[Curve]:
    """Six-sided quarries on their points, a whole number across; `high` from point to point."""
    count, wide = _whole(box.width, wide)
    side, step = high / 2.0, high * 0.75
    more = ceil(over / min(wide, step)) + 1
    rows = ceil(box.height / step) + more
    found: list[Curve] = []
    for row in range(-more, rows + 1):
        low = box.bottom - row * step
        shift = 0.0 if row % 2 else 0.5
        for i in range(-more, count + more):
            x = box.left + (i + shift) * wide
            found += _comb((x, low), wide / 2.0, side)
    return found


def _comb(corner: Point, half: float, side: float) -> list[Curve]:
    """An upright from a corner, and the two slants that rise from its top."""
    x, y = corner
    top = (x, y - side)
    slant = side / 2.0
    return [
        Line(corner, top),
        Line(top, (x - half, y - side - slant)),
        Line(top, (x + half, y - side - slant)),
    ]


PATTERNS: dict[str, Pattern] = {
    "none": no_leads,
    "diamond": diamonds,
    "rectangular": rectangles,
    "brick": bricks,
    "honeycomb": honeycomb,
}

ROWS: dict[str, tuple[float, float]] = {
    "diamond": (0.5, 0.5),
    "rectangular": (1.0, 1.0),
    "brick": (1.0, 1.0),
    "honeycomb": (0.25, 0.75),
}
"""Where a bar crosses quarries well: the first height above the sill, and from there to the next,
in heights of a quarry. Diamonds meet there, rows end; a honeycomb is crossed by half its uprights.
"""
