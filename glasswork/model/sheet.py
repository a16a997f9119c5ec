"""Pages to print: boxes and drawn things in page millimetres, from the top left, y down."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal, Protocol

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.geometry import Affine, Box, Point, Regions, Ring

UNMOVED: Final = Affine()
Colour = tuple[int, int, int]
"""8-bit device RGB, printed as it is: no colour management."""


InkFaces = Literal["front", "back", "together"]
"""Which way the printed sides look: all to the viewer, all away, or the first two films' towards
each other, where the ink is safest and lies closest."""


class PageSize(Struct, frozen=True, kw_only=True):
    """A page as the trade sells it."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    source: str = ""


class Fill(Struct, frozen=True, kw_only=True):
    """Filled areas.

    to_page : moves the area, which may be of many pieces and drawn more than once, to its place
    """

    area: Regions
    colour: Colour
    name: str = ""
    to_page: Affine = UNMOVED


class Line(Struct, frozen=True, kw_only=True):
    """A stroked polyline."""

    points: tuple[Point, ...]
    width_mm: float
    colour: Colour = (0, 0, 0)
    closed: bool = False
    dashes_mm: tuple[float, ...] = ()


class Lines(Struct, frozen=True, kw_only=True):
    """Many stroked polylines of one kind, all open or all closed."""

    paths: tuple[tuple[Point, ...], ...]
    width_mm: float
    colour: Colour = (0, 0, 0)
    closed: bool = False
    dashes_mm: tuple[float, ...] = ()


class Text(Struct, frozen=True, kw_only=True):
    """One line of text; `at` is the left, middle or right end of its base line.

    turn_deg : turned about `at`, positive where y-down turns clockwise on paper
    mirrored : written left-handed, to be read through the film
    """

    at: Point
    text: str
    size_pt: float
    anchor: str = "start"
    bold: bool = False
    colour: Colour = (0, 0, 0)
    turn_deg: float = 0.0
    mirrored: bool = False


class Picture(Struct, frozen=True, kw_only=True, eq=False):
    """A lossless picture placed in a box, (rows, columns, 3) uint8, shown only inside the mask.

    palette : (256, 3) uint8 device RGB; the pixels are then (rows, columns) indices into it
    to_page : moves the box, with turns and mirroring; the mask is in page mm already
    """

    box: Box
    pixels: NDArray[np.uint8]
    mask: Regions = ()
    to_page: Affine = UNMOVED
    palette: NDArray[np.uint8] | None = None
    name: str = ""


class PackedPicture(Struct, frozen=True, kw_only=True, eq=False):
    """A lossless picture whose pixels are packed already, so that it need not be held whole.

    data : rows of 8-bit RGB, each led by its PNG filter, as one zlib stream
    box, mask, to_page : as of a `Picture`
    """

    box: Box
    columns: int
    rows: int
    data: bytes
    mask: Regions = ()
    to_page: Affine = UNMOVED


class Packer(Protocol):
    """Takes a picture's rows from the top down and packs them."""

    def add(self, rows: NDArray[np.uint8]) -> None:
        """The next rows, (rows, columns, 3) or (rows, columns); not kept."""

    def packed(self) -> bytes:
        """All rows as they are stored in a file; asked for once."""


FilmPicture = PackedPicture | tuple[Picture, ...]
"""The glass of a film in panel mm: one picture of it all, or one for each pane, by its id."""


Item = Fill | Line | Lines | Text | Picture | PackedPicture


class Page(Struct, frozen=True, kw_only=True):
    """One page. trim : the part that is kept after trimming, for the PDF's TrimBox."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    trim: Box | None = None
    bleed: Box | None = None
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """Pages with the metadata of their file. created : ISO 8601, given by the caller."""

    title: str
    pages: tuple[Page, ...]
    created: str
    subject: str = ""
    keywords: tuple[str, ...] = field(default=())


class FilmPage(Struct, frozen=True, kw_only=True):
    """Where a film lies on its page, and the registration marks' centres, in page mm.

    rules : the two 100 mm rules as (first end, last end): the middles of the end ticks. They are
        100 mm long where the printer prints true, else stretched so that they come out so
    copy : counts from 1 where the panel is printed several times
    panel : counts from 1 where several panels share the pages
    part, parts : which part of a film that is divided into several; 1 and 1 for a whole one
    panes : ids of the panes on a part; empty for a whole film
    trim : where a part is trimmed, panel mm; empty for a whole film
    """

    page: int
    film: int
    mirrored: bool
    panel_to_page: Affine
    marks: tuple[Point, ...]
    rules: tuple[tuple[Point, Point], ...] = ()
    copy: int = 1
    panel: int = 1
    part: int = 1
    parts: int = 1
    panes: tuple[str, ...] = ()
    trim: Ring = ()
