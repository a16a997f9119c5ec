"""Lines that follow other lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from glasswork.model.geometry import Point

_ENDS = 3.0
"""The ends of a path may lie this many times as far off the line as the rest of it."""


def stretches(
    paths: Sequence[Sequence[Point]], lines: Sequence[Sequence[Point]], *, reach_mm: float
) -> tuple[tuple[Point, ...] | None, ...]:
    """For each path the stretch of one of the lines that it follows, or its points moved onto the
    nearest lines; None where it follows none.

    lines : of two points or more; those that go on from end to end count as one
    reach_mm : how far a path may lie off its line; its ends, which may stray, three times as far
    """
    strings = [shapely.linestrings(np.asarray(line)) for line in lines]
    whole = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(strings)))
    tree = shapely.STRtree(whole)
    return tuple(_stretch(np.asarray(path), whole, tree, reach_mm) for path in paths)


def _stretch(
    path: NDArray[np.float64], lines: Any, tree: Any, reach_mm: float
) -> tuple[Point, ...] | None:
    string = shapely.linestrings(path)
    middle = shapely.line_interpolate_point(string, 0.5, normalized=True)
    inner = np.append(shapely.points(path[1:-1]), middle)
    ends = shapely.points(path[[0, -1]])
    best, off = None, reach_mm
    for index in tree.query(middle, predicate="dwithin", distance=reach_mm).tolist():
        far = float(
            max(
                shapely.distance(lines[index], inner).max(),
                shapely.distance(lines[index], ends).max() / _ENDS,
            )
        )
        if far <= off:
            best, off = lines[index], far
    if best is None:
        return _moved_onto(path, shapely.multilinestrings(lines), reach_mm)
    begin, end = shapely.line_locate_point(best, ends).tolist()
    if shapely.is_closed(best):
        return _round(best, begin, end, float(shapely.line_locate_point(best, middle)))
    return _between(best, begin, end) if begin != end else None


def _moved_onto(path: NDArray[np.float64], lines: Any, reach_mm: float) -> tuple[Point, ...] | None:
    """Each point on the nearest line; None if one lies out of reach."""
    places = shapely.points(path)
    links = shapely.shortest_line(lines, places)
    far = shapely.length(links)
    far[[0, -1]] /= _ENDS
    if float(far.max()) > reach_mm:
        return None
    moved = [(x, y) for x, y in shapely.get_coordinates(shapely.get_point(links, 0)).tolist()]
    kept = [place for i, place in enumerate(moved) if i == 0 or place != moved[i - 1]]
    return tuple(kept) if len(kept) > 1 else None


def _round(line: Any, begin: float, end: float, by: float) -> tuple[Point, ...]:
    """The stretch of a closed line from one place to another, on the side of a third."""
    length = float(line.length)
    forwards = (end - begin) % length or length
    if (by - begin) % length > forwards:
        return _round(line, end, begin, by)[::-1]
    if begin + forwards <= length:
        return _between(line, begin, begin + forwards)
    return (*_between(line, begin, length), *_between(line, 0.0, begin + forwards - length)[1:])


def _between(line: Any, begin: float, end: float) -> tuple[Point, ...]:
    from shapely.ops import substring

    return tuple((x, y) for x, y in shapely.get_coordinates(substring(line, begin, end)).tolist())
