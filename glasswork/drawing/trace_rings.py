"""Many rings as one array of corners, so that all are worked on at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]
Index = NDArray[np.intp]
Mask = NDArray[np.uint8]


class Rings(Struct, frozen=True, kw_only=True):
    """Corners of several rings one after the other. start : first of each ring
    points : (n, 2), or (n,) where corners are told by numbers
    """

    points: NDArray[Any]
    start: Index

    @property
    def stop(self) -> Index:
        return np.append(self.start, len(self.points))[1:]

    @property
    def ring_of(self) -> Index:
        return np.repeat(np.arange(len(self.start)), self.stop - self.start)

    def chosen(self, which: Index) -> Rings:
        """Some of the rings, in the order asked for."""
        size = (self.stop - self.start)[which]
        first = np.cumsum(size) - size
        at = np.repeat(self.start[which] - first, size) + np.arange(size.sum())
        return Rings(points=self.points[at], start=first)

    def rings_at(self, corners: Index) -> Index:
        """The rings of some corners."""
        return np.searchsorted(self.start, corners, side="right") - 1

    @property
    def following(self) -> Index:
        """The number of the corner after each."""
        found = np.arange(1, len(self.points) + 1)
        found[self.stop - 1] = self.start
        return found

    def areas(self) -> Floats:
        """Signed area of each ring."""
        one, other = self.points, self.points[self.following]
        cross = one[:, 0] * other[:, 1] - other[:, 0] * one[:, 1]
        return np.asarray(np.add.reduceat(cross, self.start) / 2.0)

    def each(self) -> list[Floats]:
        return np.split(self.points, self.start[1:])


def rings_of(parts: Sequence[NDArray[Any]]) -> Rings:
    """Rings put one after the other; at least one, none empty."""
    sizes = np.array([len(part) for part in parts])
    start = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.intp)
    return Rings(points=np.concatenate(parts), start=start)
