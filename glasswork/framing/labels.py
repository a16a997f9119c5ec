"""Marks on the pin ears: which layer this is, and where the ear breaks off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from glasswork.model.frame import CutPath, Ear
from glasswork.model.geometry import Affine, Point

_STROKES: Final[dict[str, tuple[tuple[Point, ...], ...]]] = {
    "F": (((0.0, 1.0), (0.0, 0.0), (1.0, 0.0)), ((0.0, 0.5), (0.8, 0.5))),
    "B": (
        ((0.0, 0.5), (0.0, 0.0), (0.7, 0.0), (1.0, 0.15), (1.0, 0.35), (0.7, 0.5), (0.0, 0.5)),
        ((0.7, 0.5), (1.0, 0.65), (1.0, 0.85), (0.7, 1.0), (0.0, 1.0), (0.0, 0.5)),
    ),
    "I": (((0.5, 0.0), (0.5, 1.0)), ((0.2, 0.0), (0.8, 0.0)), ((0.2, 1.0), (0.8, 1.0))),
    "O": (
        (
            (0.3, 0.0), (0.7, 0.0), (1.0, 0.25), (1.0, 0.75), (0.7, 1.0),
            (0.3, 1.0), (0.0, 0.75), (0.0, 0.25), (0.3, 0.0),
        ),
    ),
}  # fmt: skip
"""Single-line letters in a unit square, y down."""
LETTER_MM = (0.9, 1.5)
"""Width and height of a letter on an ear."""


def ear_marks(code: str, ears: Sequence[Ear], place: Affine) -> tuple[CutPath, ...]:
    """Engraved letters beside each pin hole, and a score where each ear breaks off; file mm.

    code : two letters: F or B for the face, I or O for the level. They read upright on the face
        that is cut, so a part laid face down shows at once.
    """
    found: list[CutPath] = []
    for ear in ears:
        x, y = place.apply(ear.hole_centre)
        width = max(px for px, _ in ear.tab.outer) - min(px for px, _ in ear.tab.outer)
        height = max(py for _, py in ear.tab.outer) - min(py for _, py in ear.tab.outer)
        wall = (min(width, height) - ear.hole_diameter_mm) / 2.0
        away = ear.hole_diameter_mm / 2.0 + max(wall / 2.0, LETTER_MM[0] / 2.0 + 0.3)
        for letter, side in zip(code, (-1.0, 1.0), strict=True):
            found += _letter(letter, (x + side * away, y))
        found.append(_break_line(ear, place))
    return tuple(found)


def _letter(letter: str, centre: Point) -> list[CutPath]:
    width, height = LETTER_MM
    left, top = centre[0] - width / 2.0, centre[1] - height / 2.0
    return [
        CutPath(
            operation="engrave",
            points=tuple((left + u * width, top + v * height) for u, v in stroke),
            closed=False,
            label=letter,
        )
        for stroke in _STROKES[letter]
    ]


def _break_line(ear: Ear, place: Affine) -> CutPath:
    """Across the neck at the panel's edge."""
    ends = tuple(place.apply(point) for point in ear.neck)
    return CutPath(operation="score", points=ends, closed=False, label="break off")
