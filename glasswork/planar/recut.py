"""Edges put into a Delaunay triangulation that lacks them. Source: [anglada1997]"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


class Recut:
    """Triangles being changed: for each edge put in, those it crosses are made anew beside it."""

    def __init__(self, points: Any, corners: NDArray[np.intp], edges: NDArray[np.intp]) -> None:
        self._at: list[list[float]] = points.tolist()
        self._base = corners
        self._of: list[list[int]] = corners.tolist()
        self._alive = bytearray(b"\x01") * len(corners)
        size = self._size = len(points)
        sides = corners[:, [1, 2, 0]].astype(np.int64) * size + corners[:, [2, 0, 1]]
        owners = np.repeat(np.arange(len(corners)), 3)
        self._owner: dict[int, int] = dict(
            zip(sides.ravel().tolist(), owners.tolist(), strict=True)
        )
        self._spokes: dict[int, set[int]] = {int(start): set() for start in edges[:, 0]}
        wanted = np.zeros(size, dtype=np.bool_)
        wanted[edges[:, 0]] = True
        for triangle in np.flatnonzero(wanted[corners].any(axis=1)).tolist():
            self._spoke(triangle)

    def _spoke(self, triangle: int) -> None:
        for corner in self._of[triangle]:
            if corner in self._spokes:
                self._spokes[corner].add(triangle)

    def corners(self) -> NDArray[np.intp]:
        """All triangles as they now are."""
        kept = np.frombuffer(self._alive, dtype=np.bool_)
        return np.asarray(self._of, dtype=np.intp)[kept]

    def put(self, start: int, stop: int) -> None:
        """Make a side of the edge between two points, as far as nothing lies on it."""
        if start * self._size + stop in self._owner or stop * self._size + start in self._owner:
            return
        first = self._first(start, stop)
        if first is None:
            return
        gone, right, left = [first[0]], [first[1]], [first[2]]
        while True:
            x, w = right[-1], left[-1]
            triangle = self._owner.get(w * self._size + x)
            if triangle is None:
                return
            gone.append(triangle)
            apex = sum(self._of[triangle]) - x - w
            if apex == stop:
                break
            (right if self._side(start, stop, apex) < 0.0 else left).append(apex)
        for triangle in gone:
            self._drop(triangle)
        self._fill(start, stop, left)
        self._fill(stop, start, right[::-1])

    def _first(self, start: int, stop: int) -> tuple[int, int, int] | None:
        """The triangle at the start that the edge leaves through, and its corners beside it."""
        for triangle in self._spokes.get(start, ()):
            one, two, three = self._of[triangle]
            x, w = (two, three) if one == start else (three, one) if two == start else (one, two)
            if self._side(start, stop, x) <= 0.0 < self._side(start, stop, w):
                return triangle, x, w
        return None

    def _side(self, start: int, stop: int, place: int) -> float:
        (ax, ay), (bx, by), (px, py) = self._at[start], self._at[stop], self._at[place]
        return (bx - ax) * (py - ay) - (by - ay) * (px - ax)

    def _drop(self, triangle: int) -> None:
        self._alive[triangle] = 0
        one, two, three = self._of[triangle]
        for u, v in ((one, two), (two, three), (three, one)):
            del self._owner[u * self._size + v]
        for corner in self._of[triangle]:
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
            triangle = len(self._of)
            self._of.append([start, stop, apex])
            self._alive.append(1)
            for u, v in ((start, stop), (stop, apex), (apex, start)):
                self._owner[u * self._size + v] = triangle
            self._spoke(triangle)
            left += [(start, apex, chain[:best]), (apex, stop, chain[best + 1 :])]

    def _in_circle(self, corners: tuple[int, int, int], place: int) -> bool:
        px, py = self._at[place]
        (ax, ay), (bx, by), (cx, cy) = ((self._at[c][0] - px, self._at[c][1] - py) for c in corners)
        a, b, c = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
        return a * (bx * cy - cx * by) - b * (ax * cy - cx * ay) + c * (ax * by - bx * ay) > 0.0
