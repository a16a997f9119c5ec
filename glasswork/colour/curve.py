"""Monotone curves through given points, with slopes."""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec import Struct

from glasswork.colour.spectra import Floats
from glasswork.errors import ProfileError


class Curve(Struct, frozen=True, eq=False):
    """A smooth rising curve: piecewise cubic, no overshoot.

    knots : (points,) rising; cubic : (points - 1, 4) coefficients of powers of (x - knot)
    """

    knots: Floats
    cubic: Floats

    @classmethod
    def through(cls, points: Any, *, where: str) -> Curve:
        """The curve through (x, y) pairs, rising from x = 0 to x = 1.

        Raises: ProfileError, if x or y does not rise, or the ends are not at 0 and 1
        Source: [fritsch1980], slopes as harmonic means
        """
        table = np.asarray(points, dtype=float)
        if table.ndim != 2 or table.shape[1] != 2 or len(table) < 2:
            raise ProfileError(where, "a curve needs two points or more", "[[0, 0], [1, 1]]")
        x, y = table.T
        if x[0] != 0.0 or x[-1] != 1.0 or y.min() < 0.0 or y.max() > 1.0:
            raise ProfileError(where, "the curve does not run from 0 to 1", "[[0, 0], …, [1, 1]]")
        for number in range(1, len(table)):
            if x[number] <= x[number - 1] or y[number] <= y[number - 1]:
                raise ProfileError(
                    where,
                    f"point {number + 1} ({x[number]:g}, {y[number]:g}) does not rise above "
                    f"({x[number - 1]:g}, {y[number - 1]:g})",
                    "a tone curve rises all the way; measure the patches again",
                )
        m, width, rise = _slopes(x, y), np.diff(x), np.diff(y) / np.diff(x)
        second = (3.0 * rise - 2.0 * m[:-1] - m[1:]) / width
        third = (m[:-1] + m[1:] - 2.0 * rise) / width**2
        return cls(x, np.stack((y[:-1], m[:-1], second, third), axis=-1))

    def __call__(self, at: Floats) -> tuple[Floats, Floats]:
        """Value and slope at points 0-1, in the precision of the points."""
        kind = at.dtype
        if len(self.knots) == 2:
            start, slope = self.cubic[0, :2].astype(kind)
            return start + slope * at, np.full_like(at, slope)
        i = np.searchsorted(self.knots[1:-1].astype(kind), at, side="right")
        c0, c1, c2, c3 = self.cubic.astype(kind)[i].T
        t = at - self.knots.astype(kind)[i]
        return c0 + t * (c1 + t * (c2 + t * c3)), c1 + t * (2.0 * c2 + 3.0 * t * c3)


def _slopes(x: Floats, y: Floats) -> Floats:
    width, rise = np.diff(x), np.diff(y) / np.diff(x)
    slopes = np.empty_like(x)
    before, after = 2.0 * width[1:] + width[:-1], width[1:] + 2.0 * width[:-1]
    slopes[1:-1] = (before + after) / (before / rise[:-1] + after / rise[1:])
    if len(x) == 2:
        slopes[:] = rise[0]
        return slopes
    slopes[0] = _end_slope(width[0], width[1], rise[0], rise[1])
    slopes[-1] = _end_slope(width[-1], width[-2], rise[-1], rise[-2])
    return slopes


def _end_slope(near: float, far: float, rise_near: float, rise_far: float) -> float:
    slope = ((2.0 * near + far) * rise_near - near * rise_far) / (near + far)
    return float(np.clip(slope, 0.0, 3.0 * rise_near))
