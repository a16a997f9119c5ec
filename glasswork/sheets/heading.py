"""The head of a film page: what it is, how it lies, how it is printed."""

from __future__ import annotations

from math import hypot
from typing import Final

from glasswork.model.geometry import Affine, Point, Region
from glasswork.model.sheet import Fill, Item, Text
from glasswork.model.typeface import text_width_pt
from glasswork.sheets.layout import Placed
from glasswork.sheets.marks import BLACK
from glasswork.units import pt_to_mm

PRINT_NOTE: Final = (
    "Print at 100 %, not fitted to the page; colour management off. Both rules must measure 100 mm."
)
_KEY_MM: Final = 10.5
_SOFT: Final = (222, 222, 222)


def film_heading(
    placed: Placed, *, outline: Region, label: str, film: int, films: int, mirrored: bool
) -> tuple[Item, ...]:
    """Three lines of text on the left and the orientation key on the right."""
    left, top, right, _ = placed.heading
    key_left = right - 2.4 * _KEY_MM
    title = f"{label}: film {film} of {films}"
    return (
        Text(
            at=(left, top + 3.2),
            text=clipped(title, 10.0, key_left - left - 2.0, bold=True),
            size_pt=10.0,
            bold=True,
        ),
        Text(
            at=(left, top + 7.0),
            text=ink_face_note(film, films, mirrored=mirrored),
            size_pt=7.5,
        ),
        Text(at=(left, top + 10.4), text=PRINT_NOTE, size_pt=7.5),
        *_key(placed, outline, film=film, mirrored=mirrored),
    )


def ink_face_note(film: int, films: int, *, mirrored: bool) -> str:
    """Which way the printed side looks, and where the film lies in the stack."""
    where = ""
    if films > 1:
        where = "the front film" if film == 1 else "the back film" if film == films else "between"
        where = f" Lies as {where}." if where != "between" else " Lies between the others."
    if mirrored:
        return f"Ink face to the back, away from the viewer (printed mirrored).{where}"
    return f"Ink face to the front, towards the viewer.{where}"


def clipped(text: str, size_pt: float, width_mm: float, *, bold: bool = False) -> str:
    """The text, shortened with an ellipsis where it is wider than its place."""
    if pt_to_mm(text_width_pt(text, size_pt, bold=bold)) <= width_mm:
        return text
    while text and pt_to_mm(text_width_pt(f"{text}…", size_pt, bold=bold)) > width_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"


def _key(placed: Placed, outline: Region, *, film: int, mirrored: bool) -> tuple[Item, ...]:
    """The panel's shape as it lies on the page, an arrow to its top, and a word that reads right
    only when one looks at the front."""
    right, top = placed.heading.right, placed.heading.top
    box = outline.mapped(placed.to_page).box
    scale = _KEY_MM / max(box.width, box.height)
    middle = (right - _KEY_MM / 2.0, top + _KEY_MM / 2.0)
    shrink = placed.to_page.then(
        Affine(
            a=scale,
            d=scale,
            e=middle[0] - scale * box.centre[0],
            f=middle[1] - scale * box.centre[1],
        )
    )
    shape = outline.mapped(shrink)
    number = (right - _KEY_MM - 1.5, top + 4.6)
    return (
        Fill(area=(shape,), colour=_SOFT, name="key"),
        Fill(area=(_arrow(shrink, middle),), colour=BLACK, name="key"),
        Text(at=number, text=str(film), size_pt=16.0, bold=True, anchor="end"),
        Text(
            at=(right - _KEY_MM - 6.5, top + 8.6),
            text="FRONT",
            size_pt=7.5,
            bold=True,
            anchor="middle",
            mirrored=mirrored,
        ),
    )


def _arrow(panel_to_key: Affine, middle: Point) -> Region:
    """An arrow through the middle of the key that points to the panel's top."""
    ux, uy = -panel_to_key.c, -panel_to_key.d
    size = hypot(ux, uy)
    ux, uy = ux / size, uy / size
    x, y = middle
    half = _KEY_MM * 0.32

    def at(along: float, aside: float) -> Point:
        return (x + ux * along - uy * aside, y + uy * along + ux * aside)

    return Region(
        (
            at(half, 0.0), at(half - 2.6, 1.5), at(half - 2.6, 0.35), at(-half, 0.35),
            at(-half, -0.35), at(half - 2.6, -0.35), at(half - 2.6, -1.5),
        )
    )  # fmt: skip
