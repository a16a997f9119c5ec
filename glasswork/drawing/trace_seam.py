"""The ends of the runs of ink in each row, linked to outlines: the picture's two halves at once.

The halves meet in a seam between two rows. Outlines that come to it are cut there and joined anew,
as the runs above and below touch each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_rings import Index, Mask

Points = NDArray[np.int32]
LEAST_ROWS = 64
"""A picture with fewer rows is not worth two threads."""


def linked_runs(lines: Mask) -> tuple[Points, Index]:
    """Ends of runs of what is not 0, (n, 2), outline by outline, the ink on the right hand; and
    the first of each outline.
    """
    import cv2

    if len(lines) < LEAST_ROWS:
        return _together([cv2.findContoursLinkRuns(lines)[0]], 0)
    seam = len(lines) // 2
    with ThreadPoolExecutor(2) as pool:
        halves = pool.map(cv2.findContoursLinkRuns, (lines[:seam], lines[seam:]))
        points, begin = _together([found for found, _ in halves], seam)
    return _Seam.between(lines, seam, points, begin).joined()


def _together(parts: Sequence[Sequence[NDArray[Any]]], rows: int) -> tuple[Points, Index]:
    """Outlines of parts of a picture as those of the picture; the second part lies so many rows
    further down.
    """
    outlines = [outline for part in parts for outline in part]
    sizes = np.fromiter(map(len, outlines), np.intp, len(outlines))
    stop = np.cumsum(sizes)
    if not len(outlines):
        return np.empty((0, 2), np.int32), stop
    points = np.concatenate(outlines)[:, 0]
    below = int(sizes[: len(parts[0])].sum())
    points[below:, 1] += rows
    return points, stop - sizes


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seam:
    """Outlines of two halves. onward : for run ends at the seam that the halves link wrongly, the
    one that follows truly
    """

    points: Points
    begin: Index
    onward: dict[int, int]

    @classmethod
    def between(cls, lines: Mask, seam: int, points: Points, begin: Index) -> _Seam:
        above, below = _runs(lines[seam - 1]), _runs(lines[seam])
        upper, lower = (_at_runs(points, begin, row, down=row < seam) for row in (seam - 1, seam))
        onward = {
            **dict(_downward(above, below, upper, lower)),
            **dict(_upward(above, below, upper, lower)),
        }
        return cls(points=points, begin=begin, onward=onward)

    def joined(self) -> tuple[Points, Index]:
        """The outlines of the whole picture."""
        if not self.onward:
            return self.points, self.begin
        end = np.append(self.begin[1:], len(self.points))
        cuts = np.sort(np.fromiter(self.onward, np.intp, len(self.onward)))
        cut = np.unique(np.searchsorted(self.begin, cuts, side="right") - 1)
        gaps = np.concatenate([[0], np.stack([self.begin[cut], end[cut]], axis=1).ravel(),
                               [len(self.points)]]).tolist()  # fmt: skip
        whole = [self.points[a:b] for a, b in zip(gaps[::2], gaps[1::2], strict=True)]
        arcs = dict(_arcs(cuts.tolist(), self.begin[cut].tolist(), end[cut].tolist()))
        rings = [self._ring(arcs, next(iter(arcs))) for _ in iter(lambda: bool(arcs), False)]
        kept = np.delete(end - self.begin, cut)
        sizes = np.concatenate([kept, [sum(map(len, ring)) for ring in rings]]).astype(np.intp)
        parts = [*whole, *(part for ring in rings for part in ring)]
        return np.concatenate(parts), np.cumsum(sizes) - sizes

    def _ring(self, arcs: dict[int, list[tuple[int, int]]], start: int) -> list[Points]:
        """One outline from arc to arc; they are taken out of those that are left."""
        found = []
        while start in arcs:
            arc = arcs.pop(start)
            found += [self.points[a:b] for a, b in arc]
            start = self.onward[arc[-1][1] - 1]
        return found


def _arcs(
    cuts: list[int], begin: list[int], end: list[int]
) -> Iterator[tuple[int, list[tuple[int, int]]]]:
    """Outlines cut behind some run ends: for the first of each piece, from where to where it goes.

    begin, end : of the outlines that are cut
    """
    at = 0
    for first, last in zip(begin, end, strict=True):
        some = []
        while at < len(cuts) and cuts[at] < last:
            some.append(cuts[at] + 1)
            at += 1
        for a, b in pairwise(some):
            yield a, [(a, b)]
        over = [(some[-1], last)] if some[-1] < last else []
        over.append((first, some[0]))
        yield over[0][0], over


def _runs(row: NDArray[np.uint8]) -> tuple[Index, Index]:
    """First and last pixels of the runs of ink in a row."""
    ink = np.zeros(len(row) + 2, np.int8)
    ink[1:-1] = row != 0
    steps = np.diff(ink)
    return np.flatnonzero(steps == 1), np.flatnonzero(steps == -1) - 1


def _at_runs(points: Points, begin: Index, row: int, *, down: bool) -> tuple[Index, Index]:
    """Numbers of the run ends in a row at the seam: left ones and right ones, as the runs come.

    down : whether the seam lies below
    """
    some = np.flatnonzero(np.ascontiguousarray(points[:, 1]) == row)
    some = some[np.argsort(points[some, 0], kind="stable")]
    left, right = some[::2], some[1::2]
    # where a run is one pixel, the halves tell: they turn back at the seam
    after = (right if down else left) + 1
    over = np.append(begin, len(points))
    closing = np.searchsorted(over, after)
    wraps = over[closing] == after
    after = np.where(wraps, over[np.maximum(closing - 1, 0)], after)
    swapped = after != (left if down else right)
    return np.where(swapped, right, left), np.where(swapped, left, right)


Runs = tuple[Index, Index]


def _downward(above: Runs, below: Runs, upper: Runs, lower: Runs) -> Iterator[tuple[int, int]]:
    """What follows the right ends above the seam, where ink touches them from below.

    above, below : first and last pixels of the runs · upper, lower : their ends' numbers
    """
    last = np.searchsorted(below[0], above[1] + 1, side="right") - 1
    touched = (last >= 0) & (below[1][last] >= above[0] - 1) if len(below[0]) else last >= 0
    for run in np.flatnonzero(touched).tolist():
        under = int(last[run])
        rightmost = int(np.searchsorted(above[0], below[1][under] + 1, side="right")) - 1
        to = lower[1][under] if rightmost == run else upper[0][run + 1]
        yield int(upper[1][run]), int(to)


def _upward(above: Runs, below: Runs, upper: Runs, lower: Runs) -> Iterator[tuple[int, int]]:
    """What follows the left ends below the seam, where ink touches them from above."""
    first = np.searchsorted(above[1], below[0] - 1, side="left")
    touched = first < len(above[0])
    touched[touched] = above[0][first[touched]] <= below[1][touched] + 1
    for run in np.flatnonzero(touched).tolist():
        over = int(first[run])
        leftmost = int(np.searchsorted(below[1], above[0][over] - 1, side="left"))
        to = upper[0][over] if leftmost == run else lower[1][run - 1]
        yield int(lower[0][run]), int(to)
