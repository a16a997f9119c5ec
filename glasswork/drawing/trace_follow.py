"""Outlines of dark pixels followed, the ink on the left hand.

OpenCV links the ends of the runs of ink in each row; the pixels between two ends need no following.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.drawing.trace_rings import Index, Mask, Rings

Whole = NDArray[np.int32]
Small = NDArray[np.int8]


class Outlines(Struct, frozen=True, kw_only=True):
    """Outlines of ink and of the holes in it, all their pixels numbered one after the other.

    start, stop : the pixels of each outline, those of a hole are the ink's about it
    begin, end : likewise its run ends
    x, y : run ends, px · across : which way the pixels go on from each to the next, -1, 0 or 1
    down : how many rows below y they lie, -1, 0 or 1 · first : the number of each as a pixel
    owner : which run end is the last one at or before each pixel
    """

    start: Index
    stop: Index
    begin: Index
    end: Index
    x: Whole
    y: Whole
    across: Small
    down: Small
    first: Whole
    owner: Whole

    def __len__(self) -> int:
        return len(self.start)

    @property
    def pixels(self) -> int:
        return len(self.owner)

    @property
    def size(self) -> Index:
        """Of each outline, in pixels."""
        return self.stop - self.start

    def places(self, numbers: Index) -> tuple[NDArray[Any], NDArray[Any]]:
        """x and y of pixels, px."""
        end = self.owner.take(numbers)
        step = numbers - self.first.take(end)
        x = self.across.take(end) * step
        x += self.x.take(end)
        return x, self.y.take(end) + self.down.take(end) * (step > 0)

    def polygon(self, outline: int) -> Whole:
        """An outline's run ends, (n, 2); they hold nearly the area that all its pixels hold."""
        some = slice(self.begin[outline], self.end[outline])
        return np.stack([self.x[some], self.y[some]], axis=1)

    def dense(self, which: Index) -> Rings:
        """All pixels of some outlines."""
        size = self.size[which]
        first = np.cumsum(size) - size
        numbers = np.repeat(self.start[which] - first, size) + np.arange(size.sum())
        # column by column, as they are worked on
        points = np.stack(self.places(numbers)).astype(np.int32)
        return Rings(points=points.T, start=first)

    def chosen(self, which: Index) -> Outlines:
        """Some of the outlines, in the order asked for; pixels keep their numbers."""
        some = {name: getattr(self, name)[which] for name in ("start", "stop", "begin", "end")}
        return replace(self, **some)

    def areas(self) -> NDArray[np.float64]:
        """Of each polygon of run ends, px²; below 0 for holes, and for nothing else."""
        both = 2 * self.x + _to_next(self.x, self.begin, self.end)
        both *= _to_next(self.y, self.begin, self.end)
        return np.add.reduceat(both, self.begin, dtype=np.int64) / -2.0


def followed(lines: Mask) -> Outlines:
    """The outlines of all that is not 0 in a picture."""
    points, begin = _linked_runs(lines)
    # OpenCV keeps the ink on the right hand
    x, y = (np.ascontiguousarray(points[::-1, axis]) for axis in (0, 1))
    x, y, end = _with_rounded(lines, x, y, (len(points) - begin)[::-1])
    begin = np.append(0, end)[:-1]
    wide, high = (_to_next(part, begin, end) for part in (x, y))
    across, high = np.sign(wide).astype(np.int8), high.astype(np.int8)
    # between two ends the pixels lie in the row whose ink reaches further
    down = np.where(across * high < 0, high, np.int8(0))
    steps = np.maximum(np.abs(wide), np.abs(high))
    alone = begin[np.add.reduceat(steps, begin) == 0] if len(begin) else begin
    steps[alone] = 1
    last = np.cumsum(steps, dtype=np.int32)
    first = last - steps
    stop = last[end - 1].astype(np.intp)
    return Outlines(
        start=np.concatenate([[0], stop])[:-1].astype(np.intp), stop=stop, begin=begin, end=end,
        x=x, y=y, across=across, down=down, first=first, owner=_owners(first, steps),
    )  # fmt: skip


def _linked_runs(lines: Mask) -> tuple[Whole, Index]:
    """Ends of runs of what is not 0, (n, 2), outline by outline, the ink on the right hand; and
    the first of each outline.
    """
    import cv2

    found, _ = cv2.findContoursLinkRuns(lines)
    sizes = np.fromiter(map(len, found), np.intp, len(found))
    points = np.concatenate(found)[:, 0] if found else np.empty((0, 2), np.int32)
    return np.asarray(points, np.int32), np.cumsum(sizes) - sizes


def _to_next(along: Whole, begin: Index, end: Index) -> Whole:
    """From each corner of rings to the next one."""
    found = np.empty_like(along)
    np.subtract(along[1:], along[:-1], out=found[:-1])
    found[end - 1] = along[begin] - along[end - 1]
    return found


def _with_rounded(lines: Mask, x: Whole, y: Whole, end: Index) -> tuple[Whole, Whole, Index]:
    """Run ends, and the last of each outline, with two more where the ink goes round paper between
    two ends of one row: those of the row above or below.
    """
    begin = np.append(0, end)[:-1]
    level = np.flatnonzero(_to_next(y, begin, end) == 0)
    wide = _to_next(x, begin, end)[level]
    way = np.sign(wide)
    paper = lines[y[level], x[level] + way] == 0
    at, wide, way = level[paper], wide[paper], way[paper]
    beside = np.stack([x[at] + way, x[at] + wide - way], axis=1).ravel()
    where = (at + 1).repeat(2)
    more = np.insert(x, where, beside), np.insert(y, where, (y[at] - way).repeat(2))
    return *more, end + 2 * np.searchsorted(at, end)


def _owners(first: Whole, steps: Whole) -> Whole:
    """The last run end at or before each pixel.

    steps : how many pixels lie from each run end to the next one
    """
    pixels = int(first[-1] + steps[-1]) if len(first) else 0
    ends = np.zeros(pixels + 1, np.int8)
    ends[first.astype(np.intp)] = 1
    np.add.at(ends, first[steps == 0], 1)
    ends[0] -= 1
    return np.cumsum(ends[:-1], dtype=np.int32)
