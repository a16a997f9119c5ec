"""Films larger than a page, divided along the leads so that the joints are hidden under them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import ceil
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Affine, Box, Point, Region, Regions
from glasswork.planar import Area

PX_MM: Final = 0.5
"""Fineness of the search for a way along the leads."""
OVERLAP_MM: Final = 0.8
"""How far neighbouring films lie over each other at a joint."""
_BAND_MM: Final = 80.0
_MARGIN_MM: Final = 20.0
_LEAST_MM: Final = 30.0
_PIECE_COSTS_MM: Final = 5.0
"""One more part must keep so much of a joint off the glass to be worth it."""
_SCRAP_MM2: Final = 0.01
_GLASS, _PRINTED, _OUTSIDE = 80.0, 8.0, 1.0
"""What a step costs; under cut board it costs 1, and more near the board's edge."""

_DIAGONAL: Final = 1.41421
_SWEEPS, _SETTLED = 12, 1e-6

Fits = Callable[[Box], bool]


class Tile(Struct, frozen=True, kw_only=True):
    """A part of a film that fits its page.

    trim : where it is trimmed, overlap included
    number, of : counts from 1
    """

    trim: Region
    number: int
    of: int

    @property
    def box(self) -> Box:
        return self.trim.box


class Joint(Struct, frozen=True, kw_only=True):
    """A way across the panel. bare_mm : how much of it runs over glass, where it will be seen"""

    line: tuple[Point, ...]
    bare_mm: float


class Division(Struct, frozen=True, kw_only=True):
    """A film in parts, and the joints between them."""

    tiles: tuple[Tile, ...]
    joints: tuple[Joint, ...]

    @property
    def bare_mm(self) -> float:
        """How much of all joints will be seen."""
        return sum(joint.bare_mm for joint in self.joints)


def divide_film(plan: FramePlan, fits: Fits) -> Division | None:
    """The film's parts and the joints between them; None if no division makes all parts fit.

    A part that no ink lies on is left out: it would be bare film between boards.

    fits : whether a film whose trimmed outline has this box has room on the page
    """
    ground = _Ground(plan)
    todo = [Area.of([plan.film_trim])]
    done: list[Area] = []
    joints: list[Joint] = []
    while todo:
        part = todo.pop(0)
        if fits(part.bounds):
            done.append(part)
            continue
        found = _divided(part, ground, fits) if len(done) + len(todo) < 24 else None
        if found is None:
            return None
        joints.append(found[1])
        todo = [*_pieces(found[0]), *todo]
    ink = Area.union(map(Area.of, (*(area for _, area in plan.glass_limit), plan.printed)))
    regions = [part.regions()[0] for part in done if (part & ink).area_mm2 > _SCRAP_MM2]
    tiles = tuple(
        Tile(trim=region, number=number, of=len(regions))
        for number, region in enumerate(regions, start=1)
    )
    return Division(tiles=tiles, joints=tuple(joints))


def _pieces(sides: Sequence[Area]) -> list[Area]:
    """The connected pieces of two sides, without scraps that the other side holds as well."""
    one, other = sides
    return [
        piece
        for side, beside in ((one, other), (other, one))
        for piece in side.parts()
        if (piece - beside).area_mm2 > _SCRAP_MM2
    ]


def _divided(part: Area, ground: _Ground, fits: Fits) -> tuple[list[Area], Joint] | None:
    """A part in two, along the axis and near the place that suit page and leads best."""
    box = part.bounds
    ways = sorted(
        (pieces, level, band)
        for level in (True, False)
        for pieces, band in _bands(box, fits, level=level)
    )
    best: tuple[float, list[Area], Joint] | None = None
    for pieces, level, band in ways:
        costs = _PIECE_COSTS_MM * pieces
        if best is not None and costs >= best[0]:
            break
        joint = ground.way(box, band, level=level)
        if joint is None or (best is not None and joint.bare_mm + costs >= best[0]):
            continue
        sides = _cut(part, joint, level=level)
        if not any(side.is_empty for side in sides):
            best = (joint.bare_mm + costs, sides, joint)
    return None if best is None else best[1:]


def _bands(box: Box, fits: Fits, *, level: bool) -> Iterator[tuple[int, tuple[float, float]]]:
    """How many pieces in all a part comes to, divided along an axis, and between what lines the
    first joint may lie."""
    low, high = (box.top, box.bottom) if level else (box.left, box.right)
    longest, beside = _longest(box, fits, level=level)
    if longest < _LEAST_MM:
        return
    fewest = max(2, ceil((high - low) / longest))
    for pieces in range(fewest, fewest + 3):
        before = pieces // 2
        middle = low + (high - low) * before / pieces
        first = max(high - (pieces - before) * longest, middle - _BAND_MM, low + _LEAST_MM)
        last = min(low + before * longest, middle + _BAND_MM, high - _LEAST_MM)
        if last > first:
            yield pieces * beside, (first, last)


def _longest(box: Box, fits: Fits, *, level: bool) -> tuple[float, int]:
    """The longest piece along the axis that the page takes, and into how many the other axis has
    to be divided for it."""
    along, across = (box.height, box.width) if level else (box.width, box.height)
    for share in (1, 2, 3, 4):
        low, high = 0.0, along
        for _ in range(24):
            middle = (low + high) / 2.0
            sides = (across / share, middle) if level else (middle, across / share)
            if fits(Box(0.0, 0.0, *sides)):
                low = middle
            else:
                high = middle
        if low >= _LEAST_MM:
            return low - OVERLAP_MM - 2.0 * PX_MM, share
    return 0.0, 1


def _cut(part: Area, joint: Joint, *, level: bool) -> list[Area]:
    """The two sides of a joint, each carried on over it by half the overlap."""
    far = part.bounds.grown(10.0 * _MARGIN_MM)
    line = joint.line
    if level:
        ends = ((far.right, line[-1][1]), (far.right, far.top), (far.left, far.top),
                (far.left, line[0][1]))  # fmt: skip
    else:
        ends = ((line[-1][0], far.bottom), (far.left, far.bottom), (far.left, far.top),
                (line[0][0], far.top))  # fmt: skip
    side = Area.of([Region((*line, *ends))])
    other = Area.box(far) - side
    grow = OVERLAP_MM / 2.0
    return [part & side.grown(grow, join="round"), part & other.grown(grow, join="round")]


class _Ground:
    """What lies where on the panel, as a grid of costs."""

    def __init__(self, plan: FramePlan) -> None:
        import cv2

        box = plan.film_trim.box.grown(2.0)
        self._corner = (box.left, box.top)
        shape = (ceil(box.height / PX_MM), ceil(box.width / PX_MM))
        panel = self._drawn((plan.outline,), shape)
        cut, printed = self._drawn(plan.cut, shape), self._drawn(plan.printed, shape)
        depth = cv2.distanceTransform(cut, cv2.DIST_L2, 5)
        cost = np.full(shape, _OUTSIDE, np.float64)
        cost[panel > 0] = _GLASS
        cost[printed > 0] = _PRINTED
        covered = cut > 0
        cost[covered] = 1.0 + 6.0 / np.maximum(depth[covered], 0.5) ** 2
        self._cost: NDArray[np.float64] = cost
        self._bare = (panel > 0) & (printed == 0) & ~covered

    def _drawn(self, area: Regions, shape: tuple[int, int]) -> NDArray[np.uint8]:
        import cv2

        grid = np.zeros(shape, np.uint8)
        to_px = Affine.shift(-self._corner[0], -self._corner[1]).then(Affine.scale(1.0 / PX_MM))
        for region in area:
            rings = [
                np.round((np.array(to_px.ring(ring)) - 0.5) * 16.0).astype(np.int32)
                for ring in region.rings
            ]
            cv2.fillPoly(grid, rings, 1, shift=4)
        return grid

    def way(self, box: Box, band: tuple[float, float], *, level: bool) -> Joint | None:
        """The cheapest way across a box inside a band: from left to right, or top to bottom."""
        cost = self._cost if level else self._cost.T
        origin = self._corner if level else (self._corner[1], self._corner[0])
        span = (box.left, box.right) if level else (box.top, box.bottom)
        first, last = (int((value - origin[0]) / PX_MM) for value in span)
        low, high = (int((value - origin[1]) / PX_MM) for value in band)
        first, low = max(0, first), max(0, low)
        grid = cost[low : high + 1, first : last + 1]
        if grid.shape[0] < 1 or grid.shape[1] < 2:
            return None
        from_middle = np.abs(np.arange(len(grid)) - len(grid) / 2.0)
        path = _cheapest(grid + 0.002 * from_middle[:, None])
        bare = (self._bare if level else self._bare.T)[low : high + 1, first : last + 1]
        over = sum(PX_MM for row, column in path if bare[row, column])
        points = [
            (origin[0] + (first + column + 0.5) * PX_MM, origin[1] + (low + row + 0.5) * PX_MM)
            for row, column in path
        ]
        line = _straightened(points)
        return Joint(line=line if level else tuple((y, x) for x, y in line), bare_mm=over)


def _cheapest(grid: NDArray[np.float64]) -> list[tuple[int, int]]:
    """From the first column to the last, by steps to any of eight neighbours.

    What it costs to reach each place is found by sweeping over the columns to and fro until
    nothing changes; up and down inside a column it is a running minimum.
    """
    costs = np.ascontiguousarray(grid.T)
    sums = np.cumsum(costs, axis=1)
    reach = np.full(costs.shape, np.inf)
    reach[0] = costs[0]
    order = range(1, len(costs))
    for _ in range(_SWEEPS):
        before = reach.copy()
        for column in order:
            _relax(reach, costs, sums, column, column - 1)
        for column in reversed(range(len(costs) - 1)):
            _relax(reach, costs, sums, column, column + 1)
        if np.abs(before - reach).max() < _SETTLED:
            break
    return _way_back(reach, costs)


def _relax(
    reach: NDArray[np.float64],
    costs: NDArray[np.float64],
    sums: NDArray[np.float64],
    column: int,
    other: int,
) -> None:
    """Reach a column from its neighbour, then along it downwards and upwards."""
    near, cost = reach[other], costs[column]
    best = np.minimum(reach[column], near + cost)
    best[1:] = np.minimum(best[1:], near[:-1] + _DIAGONAL * cost[1:])
    best[:-1] = np.minimum(best[:-1], near[1:] + _DIAGONAL * cost[:-1])
    total = sums[column]
    down = np.minimum.accumulate(best - total) + total
    above = total - cost
    up = np.minimum.accumulate((best + above)[::-1])[::-1] - above
    reach[column] = np.minimum(best, np.minimum(down, up))


def _way_back(reach: NDArray[np.float64], costs: NDArray[np.float64]) -> list[tuple[int, int]]:
    """From the cheapest place of the last column back to the first: (row, column), in order."""
    columns, rows = reach.shape
    column, row = columns - 1, int(np.argmin(reach[-1]))
    path = [(row, column)]
    seen = {(row, column)}
    while column > 0:
        around = [
            (abs(reach[c, r] + step * costs[column, row] - reach[column, row]), r, c)
            for c in range(max(0, column - 1), min(columns, column + 2))
            for r in range(max(0, row - 1), min(rows, row + 2))
            if (r, c) not in seen
            for step in [_DIAGONAL if r != row and c != column else 1.0]
        ]
        _, row, column = min(around)
        path.append((row, column))
        seen.add((row, column))
    return path[::-1]


def _straightened(points: list[Point]) -> tuple[Point, ...]:
    import cv2

    curve = np.array(points, dtype=np.float32).reshape(-1, 1, 2)
    kept = cv2.approxPolyDP(curve, 0.8 * PX_MM, False).reshape(-1, 2).tolist()
    return tuple((float(x), float(y)) for x, y in kept)
