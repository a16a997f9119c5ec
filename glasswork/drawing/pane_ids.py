"""Names of panes and members by their place, so that a map survives an edit of the drawing.

A pane's id is made from where its seed point lies, in hundredths of the panel's size: "P0432" is
the pane 4/100 across and 32/100 down. Panes that share a cell get a letter, in reading order.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import hypot

import numpy as np

from glasswork.model.geometry import Box, Point

CELLS = 100
REACH_CELLS = 3.0
"""A pane that has moved by no more than this many cells is still the one a map means."""
_TWO = tuple(f"{number:02d}" for number in range(CELLS))
_CELL = re.compile(r"[A-Z](\d\d)(\d\d)[a-z]*\Z")


def place_ids(prefix: str, places: Sequence[Point], box: Box) -> tuple[str, ...]:
    """An id for each place; equal cells are told apart by letters in reading order."""
    if not len(places):
        return ()
    low, size = np.array([box.left, box.top]), np.array([box.width, box.height])
    cells = (CELLS * (np.asarray(places) - low) / size).astype(np.intp)
    names = [
        prefix + _TWO[across] + _TWO[down] for across, down in np.clip(cells, 0, CELLS - 1).tolist()
    ]
    shared: dict[str, list[int]] = {}
    for index, name in enumerate(names):
        shared.setdefault(name, []).append(index)
    for name, indices in shared.items():
        if len(indices) > 1:
            indices.sort(key=lambda i: (places[i][1], places[i][0]))
            for number, index in enumerate(indices):
                names[index] = name + _letters(number)
    return tuple(names)


def _letters(number: int) -> str:
    text = ""
    while True:
        text = chr(ord("a") + number % 26) + text
        number = number // 26 - 1
        if number < 0:
            return text


def reading_order(places: Sequence[Point], box: Box) -> tuple[int, ...]:
    """Indices of the places row by row, each row from left to right."""
    if not len(places):
        return ()
    x, y = np.asarray(places).T
    rows = (25.0 * (y - box.top) / box.height).astype(np.intp)
    return tuple(np.lexsort((y, x, rows)).tolist())


def follow_map(
    names: Sequence[str], places: Sequence[Point], box: Box, chosen: Mapping[str, str]
) -> tuple[dict[str, str], tuple[str, ...]]:
    """A map made for an earlier drawing, its keys moved to the panes that lie there now.

    names, places : the panes' ids and seed points, in panel millimetres
    chosen : pane id → anything
    Returns: the map with today's ids, and the keys for which no pane lies near enough
    """
    known = set(names)
    found = {key: value for key, value in chosen.items() if key in known}
    lost = []
    free = [i for i, name in enumerate(names) if name not in found]
    for key, value in chosen.items():
        if key in known:
            continue
        cell = _CELL.match(key)
        if cell is None or not free:
            lost.append(key)
            continue
        x = (int(cell.group(1)) + 0.5) / CELLS
        y = (int(cell.group(2)) + 0.5) / CELLS
        best = min(free, key=lambda i: _apart(places[i], box, (x, y)))
        if _apart(places[best], box, (x, y)) > REACH_CELLS / CELLS:
            lost.append(key)
            continue
        found[names[best]] = value
        free.remove(best)
    return found, tuple(lost)


def _apart(place: Point, box: Box, share: Point) -> float:
    """Distance from a place to a share of the box, in shares."""
    return hypot(
        (place[0] - box.left) / box.width - share[0], (place[1] - box.top) / box.height - share[1]
    )
