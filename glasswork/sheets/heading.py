"""The head of a film page: what it is, how it lies, how it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from typing import Final

from msgspec import Struct

from glasswork.model.geometry import Affine, Point, Region
from glasswork.model.sheet import Fill, Item, Text
from glasswork.model.typeface import text_width_pt
from glasswork.sheets.layout import Laid, Placed
from glasswork.sheets.marks import BLACK
from glasswork.units import pt_to_mm

PRINT_NOTE: Final = (
    "Print at 100 %, not fitted to the page; colour management off. Both rules must measure 100 mm."
)
_KEY_MM: Final = 10.5
_SOFT: Final = (222, 222, 222)
_BESIDE_MARK_MM: Final = 4.0
_LEAST_NAME: Final = 4
"""A window's name shortened to fewer letters tells nothing."""


class PageTold(Struct, frozen=True, kw_only=True):
    """What is said of a film on its page."""

    label: str
    film: int
    films: int
    mirrored: bool
    copy: int = 1
    copies: int = 1
    part: str = ""

    @property
    def name(self) -> str:
        copy = f", copy {self.copy} of {self.copies}" if self.copies > 1 else ""
        return f"film {self.film} of {self.films}{copy}{self.part}"


def film_heading(laid: Laid, told: Sequence[PageTold], *, outline: Region) -> tuple[Item, ...]:
    """Three lines of text on the left and, for a film alone, the orientation key on the right."""
    left, top, right, _ = laid.heading
    alone = len(told) == 1
    end = right - 2.4 * _KEY_MM if alone else right
    labels = ", ".join(dict.fromkeys(one.label for one in told))
    name = told[0].name if alone else f"{len(told)} films"
    note = (
        ink_face_note(told[0])
        if alone
        else "Every film says above its left corner which it is and which way its ink faces."
    )
    key = _key(laid, outline, told[0]) if alone else ()
    return (
        Text(
            at=(left, top + 3.2),
            text=titled(labels, f": {name}", 10.0, end - left - 2.0),
            size_pt=10.0,
            bold=True,
        ),
        Text(at=(left, top + 7.0), text=note, size_pt=7.5),
        Text(at=(left, top + 10.4), text=PRINT_NOTE, size_pt=7.5),
        *key,
    )


def film_caption(placed: Placed, told: PageTold) -> tuple[Item, ...]:
    """Above a film that shares its page, between its upper marks: name, ink face, top."""
    box = placed.film
    left, right = _between_upper_marks(placed)
    text = _captioned(told, placed.turned, right - left)
    return (Text(at=(left, box.top - 2.6), text=text, size_pt=7.0),) if text else ()


def _between_upper_marks(placed: Placed) -> tuple[float, float]:
    """Where no mark stands above a film, from left to right, page mm."""
    upper = sorted(x for x, y in placed.marks if y < placed.film.top)
    if len(upper) < 2:
        return placed.film.left, placed.film.right
    return max(placed.film.left, upper[0] + _BESIDE_MARK_MM), upper[-1] - _BESIDE_MARK_MM


def _captioned(told: PageTold, turned: bool, room: float) -> str:
    """The fullest caption that fits; the window's name goes last, and is shortened before."""
    ink = "ink to the back" if told.mirrored else "ink to the front"
    top = "top to the right" if turned else "top upwards"
    ends = (
        f", {told.name}, {ink}, {top}",
        f", {told.name}, {ink}",
        f", film {told.film}{told.part}, {ink}",
    )
    for end in ends:
        if pt_to_mm(text_width_pt(f"{told.label}{end}", 7.0)) <= room:
            return f"{told.label}{end}"
    shortened = clipped(told.label, 7.0, room - pt_to_mm(text_width_pt(ends[2], 7.0)))
    if len(shortened) > _LEAST_NAME:
        return f"{shortened}{ends[2]}"
    plain = (f"{told.name}, {ink}", f"film {told.film}{told.part}", f"film {told.film}")
    return next((t for t in plain if pt_to_mm(text_width_pt(t, 7.0)) <= room), "")


def ink_face_note(told: PageTold) -> str:
    """Which way the printed side looks, and where the film lies in the stack."""
    if told.films == 1:
        where = ""
    elif told.film == 1:
        where = " Lies as the front film."
    elif told.film == told.films:
        where = " Lies as the back film."
    else:
        where = " Lies between the others."
    if told.part:
        where += " Parts overlap under the leads."
    if told.mirrored:
        return f"Ink face to the back, away from the viewer (printed mirrored).{where}"
    return f"Ink face to the front, towards the viewer.{where}"


def titled(label: str, name: str, size_pt: float, width_mm: float) -> str:
    """The label and a name after it; where both are too wide, the label is shortened."""
    room = width_mm - pt_to_mm(text_width_pt(name, size_pt, bold=True))
    return f"{clipped(label, size_pt, room, bold=True)}{name}"


def clipped(text: str, size_pt: float, width_mm: float, *, bold: bool = False) -> str:
    """The text, shortened with an ellipsis where it is wider than its place."""
    if pt_to_mm(text_width_pt(text, size_pt, bold=bold)) <= width_mm:
        return text
    while text and pt_to_mm(text_width_pt(f"{text}…", size_pt, bold=bold)) > width_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"


def _key(laid: Laid, outline: Region, told: PageTold) -> tuple[Item, ...]:
    """The panel's shape as it lies on the page, an arrow to its top, and a word that reads right
    only when one looks at the front."""
    right, top = laid.heading.right, laid.heading.top
    placed = laid.placed[0]
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
        Text(at=number, text=str(told.film), size_pt=16.0, bold=True, anchor="end"),
        Text(
            at=(right - _KEY_MM - 6.5, top + 8.6),
            text="FRONT",
            size_pt=7.5,
            bold=True,
            anchor="middle",
            mirrored=told.mirrored,
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
