"""Edges put into a Delaunay triangulation that lacks them. Source: [anglada1997]"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


class Recut:
    """Triangles being changed: for each edge put in, those it crosses are made anew beside it.

    points : (v, 2); corners : (n, 3) numbers of points, triangles turning the way x turns to y
    near : (n, 3) the triangle across the side opposite each corner, or -1
    starts : the points at which edges to be put in begin
    """

    def __init__(
        self,
        points: NDArray[np.float64],
        corners: NDArray[np.intp],
        near: NDArray[np.intp],
        starts: NDArray[np.intp],
    ) -> None:
        self._base, self._near = corners, near
        # lists, for single numbers are read from them many times as fast as from arrays
        self._points: list[list[float]] = points.tolist()
        self._rows: dict[int, list[int]] = {}
        self._gone: set[int] = set()
        self._made: list[list[int]] = []
        # whose a side is, named from its start to its end, wherever triangles have changed
        self._owner: dict[tuple[int, int], int] = {}
        wanted = np.zeros(len(points), dtype=np.bool_)
        wanted[starts] = True
        self._spokes: dict[int, set[int]] = {start: set() for start in starts.tolist()}
        for triangle in np.flatnonzero(wanted[corners].any(axis=1)).tolist():
            self._spoke(triangle)

    def corners(self) -> NDArray[np.intp]:
        """All triangles as they now are."""
        made = np.asarray(self._made, dtype=np.intp).reshape(-1, 3)
        kept = np.ones(len(self._base) + len(made), dtype=np.bool_)
        kept[list(self._gone)] = False
        return np.concatenate([self._base, made])[kept]

    def put(self, start: int, stop: int) -> None:
        """Make a side of the edge between two points, as far as nothing lies on it."""
        if (start, stop) in self._owner or (stop, start) in self._owner:
            return
        first = self._first(start, stop)
        if first is None:
            return
        triangle, x, w = first
        gone, right, left = [triangle], [x], [w]
        while True:
            beyond = self._beyond(triangle, x, w)
            if beyond < 0:
                return
            triangle = beyond
            gone.append(triangle)
            apex = sum(self._of(triangle)) - x - w
            if apex == stop:
                break
            if self._side(start, stop, apex) < 0.0:
                x = apex
                right.append(x)
            else:
                w = apex
                left.append(w)
        for triangle in gone:
            self._drop(triangle)
        self._fill(start, stop, left)
        self._fill(stop, start, right[::-1])

    def _of(self, triangle: int) -> list[int]:
        count = len(self._base)
        if triangle >= count:
            return self._made[triangle - count]
        if triangle not in self._rows:
            self._rows[triangle] = self._base[triangle].tolist()
        return self._rows[triangle]

    def _spoke(self, triangle: int) -> None:
        for corner in self._of(triangle):
            if corner in self._spokes:
                self._spokes[corner].add(triangle)

    def _beyond(self, triangle: int, start: int, stop: int) -> int:
        """The triangle across a side, told from start to stop as this one turns; -1 if none."""
        found = self._owner.get((stop, start))
        if found is None and triangle < len(self._base):
            corners = self._of(triangle)
            found = int(self._near[triangle, corners.index(sum(corners) - start - stop)])
        return -1 if found is None else found

    def _first(self, start: int, stop: int) -> tuple[int, int, int] | None:
        """The triangle at the start that the edge leaves through, and its corners beside it."""
        for triangle in self._spokes.get(start, ()):
            one, two, three = self._of(triangle)
            x, w = (two, three) if one == start else (three, one) if two == start else (one, two)
            if self._side(start, stop, x) <= 0.0 < self._side(start, stop, w):
                return triangle, x, w
        return None

    def _side(self, start: int, stop: int, place: int) -> float:
        """Positive on the left of the way from start to stop, where y points up."""
        (ax, ay), (bx, by), (px, py) = (self._points[number] for number in (start, stop, place))
        return (bx - ax) * (py - ay) - (by - ay) * (px - ax)

    def _drop(self, triangle: int) -> None:
        one, two, three = self._of(triangle)
        for u, v in ((one, two), (two, three), (three, one)):
            beyond = self._beyond(triangle, u, v)
            if beyond >= 0 and beyond not in self._gone:
                self._owner[v, u] = beyond
            self._owner.pop((u, v), None)
        self._gone.add(triangle)
        for corner in (one, two, three):
            if corner in self._spokes:
                self._spokes[corner].discard(triangle)

    def _fill(self, start: int, stop: int, chain: list[int]) -> None:
        """Delaunay triangles of the polygon on one side of an edge."""
        left = [(start, stop, chain)]
        while left:
            start, stop, chain = left.pop()
            if not chain:
                continue
            best = 0
            for index in range(1, len(chain)):
                if self._in_circle((start, stop, chain[best]), chain[index]):
                    best = index
            apex = chain[best]
            triangle = len(self._base) + len(self._made)
            self._made.append([start, stop, apex])
            for side in ((start, stop), (stop, apex), (apex, start)):
                self._owner[side] = triangle
            self._spoke(triangle)
            left += [(start, apex, chain[:best]), (apex, stop, chain[best + 1 :])]

    def _in_circle(self, corners: tuple[int, int, int], place: int) -> bool:
        x, y = self._points[place]
        (ax, ay), (bx, by), (cx, cy) = (
            (u - x, v - y) for u, v in map(self._points.__getitem__, corners)
        )
        a, b, c = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
        return a * (bx * cy - cx * by) - b * (ax * cy - cx * ay) + c * (ax * by - bx * ay) > 0.0
