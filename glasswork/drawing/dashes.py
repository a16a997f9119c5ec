"""Dashed lines as the lengths that are drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

from glasswork.model.geometry import Point
from glasswork.model.window import Mark

MOST_DASHES = 5000
"""More dashes than this on one line count as an unbroken line."""

Path = tuple[tuple[Point, ...], bool]


def drawn_paths(mark: Mark) -> tuple[Path, ...]:
    """The mark's paths as its pen draws them: whole, or cut into dashes."""
    if not mark.dashes_mm or mark.stroke is None:
        return mark.paths
    return tuple(dash for path in mark.paths for dash in _dashed(path, mark))


def _dashed(path: Path, mark: Mark) -> Iterator[Path]:
    points, closed = path
    line = (*points, points[0]) if closed else points
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(line)]
    total = sum(lengths)
    period = sum(mark.dashes_mm)
    if total <= 0.0 or total / period * len(mark.dashes_mm) > MOST_DASHES:
        yield path
        return
    for start, end in _spans(mark.dashes_mm, mark.dash_offset_mm % period, total):
        yield _cut(line, lengths, start, end), False


def _spans(dashes: Sequence[float], offset: float, total: float) -> Iterator[tuple[float, float]]:
    """Where pen is down, as distances along the line."""
    at = -offset
    index = 0
    while at < total:
        size = dashes[index % len(dashes)]
        if index % 2 == 0 and at + size > 0.0 and min(total, at + size) > max(0.0, at):
            yield max(0.0, at), min(total, at + size)
        at += size
        index += 1


def _cut(
    line: Sequence[Point], lengths: Sequence[float], start: float, end: float
) -> tuple[Point, ...]:
    found: list[Point] = []
    at = 0.0
    for index, size in enumerate(lengths):
        a, b = line[index], line[index + 1]
        if at + size >= start and at <= end and size > 0.0:
            for place in (max(0.0, start - at), min(size, end - at)):
                share = place / size
                point = (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
                if not found or found[-1] != point:
                    found.append(point)
        at += size
        if at > end:
            break
    return tuple(found) if len(found) > 1 else (*found, *found)
