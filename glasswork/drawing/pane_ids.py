"""Names of panes and members by their place, so that a map survives an edit of the drawing.

A pane's id is made from where its seed point lies, in thousandths of the panel's size rounded to
a coarse grid: "P0432" is the pane 4/100 across and 32/100 down. Panes that share a cell get a
letter, in reading order.
"""

from __future__ import annotations

from collections.abc import Sequence

from glasswork.model.geometry import Box, Point

CELLS = 100


def place_ids(prefix: str, places: Sequence[Point], box: Box) -> tuple[str, ...]:
    """An id for each place; equal cells are told apart by letters in reading order."""
    names = [
        f"{prefix}{_cell(x, box.left, box.width):02d}{_cell(y, box.top, box.height):02d}"
        for x, y in places
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


def _cell(value: float, low: float, size: float) -> int:
    return max(0, min(CELLS - 1, int(CELLS * (value - low) / size)))


def _letters(number: int) -> str:
    text = ""
    while True:
        text = chr(ord("a") + number % 26) + text
        number = number // 26 - 1
        if number < 0:
            return text


def reading_order(places: Sequence[Point], box: Box) -> tuple[int, ...]:
    """Indices of the places row by row, each row from left to right."""
    rows = 25.0
    return tuple(
        sorted(
            range(len(places)),
            key=lambda i: (
                int(rows * (places[i][1] - box.top) / box.height),
                places[i][0],
                places[i][1],
            ),
        )
    )
