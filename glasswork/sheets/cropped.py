"""Lines cut to a box."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from glasswork.model.geometry import Box, Point

Path = tuple[Point, ...]


def cropped(paths: Iterable[Path], box: Box, *, closed: bool) -> tuple[Path, ...]:
    """What of polylines lies inside a box, as open polylines; closed ones are gone round once."""
    found: list[Path] = []
    for path in paths:
        run: list[Point] = []
        corners = (*path, path[0]) if closed else path
        for a, b in pairwise(corners):
            piece = _inside(a, b, box)
            if piece is None:
                found += [tuple(run)] if len(run) > 1 else []
                run = []
                continue
            if not run or run[-1] != piece[0]:
                found += [tuple(run)] if len(run) > 1 else []
                run = [piece[0]]
            run.append(piece[1])
        found += [tuple(run)] if len(run) > 1 else []
    return tuple(found)


def _inside(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a segment inside a box, by its parameters at the four sides."""
    first, last = 0.0, 1.0
    dx, dy = b[0] - a[0], b[1] - a[1]
    for step, room in (
        (-dx, a[0] - box.left),
        (dx, box.right - a[0]),
        (-dy, a[1] - box.top),
        (dy, box.bottom - a[1]),
    ):
        if step == 0.0:
            if room < 0.0:
                return None
            continue
        share = room / step
        if step < 0.0:
            first = max(first, share)
        else:
            last = min(last, share)
    if first >= last:
        return None
    start = a if first == 0.0 else (a[0] + first * dx, a[1] + first * dy)
    end = b if last == 1.0 else (a[0] + last * dx, a[1] + last * dy)
    return start, end
