"""The drawing operators of a page, written straight as text: fast for thousands of panes."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from math import cos, radians, sin
from typing import Any, Final, assert_never

import numpy as np

from glasswork.model.geometry import (
    Affine,
    Point,
    Region,
    Regions,
    Ring,
    corners_of,
    ring_area_mm2,
)
from glasswork.model.sheet import (
    UNMOVED,
    Colour,
    Fill,
    Line,
    Lines,
    PackedPicture,
    Page,
    Picture,
    Text,
)
from glasswork.model.typeface import font, text_width_pt, written
from glasswork.units import MM_PER_IN, PT_PER_IN, mm_to_pt
from glasswork.writers.png import deflated

_WORKERS: Final = 2


class Content:
    """Turns pages of one document into operators; what several pages share is written once."""

    def __init__(self, pdf: Any) -> None:
        self._pdf = pdf
        self._paths: dict[tuple[int, float], tuple[Regions, str]] = {}
        self._masks: dict[int, tuple[Regions, Regions]] = {}
        self._images: dict[tuple[int, int], tuple[Picture | PackedPicture, str]] = {}
        self._streams: dict[int, bytes] = {}
        self._numbers: dict[str, int] = {}
        self._used: dict[str, int] = {}

    def of(self, page: Page) -> bytes:
        """The page's content stream."""
        self._used = {}
        parts: list[str] = []
        colour: Colour | None = None
        for item in page.items:
            match item:
                case Fill():
                    if item.area:
                        parts += [_ink(item.colour, colour), *self._filled(item, page)]
                        colour = item.colour
                case Line():
                    parts += _stroke(item, [item.points], page)
                case Lines():
                    if item.paths:
                        parts += _stroke(item, item.paths, page)
                case Text():
                    parts += [_ink(item.colour, colour), *self._text(item, page)]
                    colour = item.colour
                case Picture() | PackedPicture():
                    parts += self._picture(item, page)
                case _:
                    assert_never(item)
        return "\n".join(part for part in parts if part).encode("latin-1")

    def pictures_of_page(self) -> bytes:
        """The dictionary of pictures of the page written last; empty if it has none."""
        if not self._used:
            return b""
        entries = "\n".join(f"/{name} {number} 0 R" for name, number in self._used.items())
        return f"<<\n{entries}\n>>".encode()

    def _filled(self, item: Fill, page: Page) -> list[str]:
        if item.to_page == UNMOVED:
            return [self._path(item.area, page), "f*"]
        return [f"q\n{_moved(item.to_page, page)} cm", self._path(item.area, None), "f*\nQ"]

    def _path(self, area: Regions, page: Page | None) -> str:
        """The path in points of the page, or as it is in millimetres."""
        key = (id(area), page.height_mm if page else 0.0)
        if key not in self._paths:
            rings = [ring for region in area for ring in region.rings]
            self._paths[key] = (area, _rings(rings, page.height_mm if page else None))
        return self._paths[key][1]

    def _text(self, text: Text, page: Page) -> list[str]:
        face = font(bold=text.bold)
        words = written(text.text)
        width = text_width_pt(text.text, text.size_pt, bold=text.bold)
        start = {"start": 0.0, "middle": -width / 2.0, "end": -width}[text.anchor]
        turn = radians(-text.turn_deg)
        across = -1.0 if text.mirrored else 1.0
        x, y = _place(text.at, page.height_mm)
        a, b, c, d = across * cos(turn), across * sin(turn), -sin(turn), cos(turn)
        out = ["BT", f"{_n(a)} {_n(b)} {_n(c)} {_n(d)} {_n(x + start * a)} {_n(y + start * b)} Tm"]
        for subset, chunk in face.splitString(words, self._pdf):
            name = face.getSubsetInternalName(subset, self._pdf)
            out.append(f"{name} {_n(text.size_pt)} Tf <{chunk.hex()}> Tj")
        return [*out, "ET"]

    def _picture(self, picture: Picture | PackedPicture, page: Page) -> list[str]:
        name = self._image(picture)
        place = " ".join([f"{value:.4f}" for value in _unit_square(picture, page.height_mm)])
        clip = f"{self._path(self._clip(picture.mask), page)}\nW n\n" if picture.mask else ""
        return [f"q\n{clip}{place} cm\n/{name} Do\nQ"]

    def _clip(self, mask: Regions) -> Regions:
        if id(mask) not in self._masks:
            self._masks[id(mask)] = (mask, _wound(mask))
        return self._masks[id(mask)][1]

    def _image(self, picture: Picture | PackedPicture) -> str:
        """The resource's name; the same pixels in the same colours are stored once."""
        if isinstance(picture, PackedPicture):
            key = (id(picture.data), 0)
        else:
            key = (id(picture.pixels), id(picture.palette))
        if key not in self._images:
            name = f"P{len(self._images) + 1}"
            content = self._packed(picture)
            self._pdf.updateSignature(_short(content))
            self._pdf.Reference(ready(_image_object(picture, content)), name)
            self._numbers[name] = self._pdf.idToObjectNumberAndVersion[name][0]
            self._images[key] = (picture, name)
        name = self._images[key][1]
        self._used[name] = self._numbers[name]
        return name

    def _packed(self, picture: Picture | PackedPicture) -> bytes:
        """The deflated pixels; pictures that differ by their palettes alone are packed once."""
        if isinstance(picture, PackedPicture):
            return picture.data
        key = id(picture.pixels)
        if key not in self._streams:
            self._streams[key] = deflated(picture.pixels)
        return self._streams[key]

    def pack_all(self, pages: Sequence[Page]) -> None:
        """Deflate the pictures of all pages, two at a time."""
        pictures = {
            id(item.pixels): item.pixels
            for page in pages
            for item in page.items
            if isinstance(item, Picture)
        }
        with ThreadPoolExecutor(_WORKERS) as pool:
            packed = pool.map(deflated, pictures.values())
            self._streams.update(zip(pictures, packed, strict=True))


def ready(data: bytes) -> Any:
    """An object of the file whose bytes are made already."""
    from reportlab.pdfbase import pdfdoc

    made = pdfdoc.PDFObject()
    made.format = lambda _document: data
    return made


def _short(content: bytes) -> bytes:
    """Stands for the content in the file's identifier."""
    from isal import isal_zlib

    return b"%d %d" % (len(content), isal_zlib.crc32(content))


def _image_object(picture: Picture | PackedPicture, content: bytes) -> bytes:
    """An image: device colours or indices into a table of them, PNG row filters."""
    colours, space = 3, "/DeviceRGB"
    if isinstance(picture, PackedPicture):
        rows, columns = picture.rows, picture.columns
    else:
        rows, columns = picture.pixels.shape[:2]
    if isinstance(picture, Picture) and picture.palette is not None:
        table = np.ascontiguousarray(picture.palette, dtype=np.uint8)
        colours = 1
        space = f"[/Indexed /DeviceRGB {len(table) - 1} <{table.tobytes().hex()}>]"
    head = (
        f"<< /Type /XObject /Subtype /Image /Width {columns} /Height {rows} "
        f"/ColorSpace {space} /BitsPerComponent 8 /Filter /FlateDecode "
        f"/DecodeParms << /Predictor 15 /Colors {colours} /BitsPerComponent 8 "
        f"/Columns {columns} >> /Length {len(content)} >>\nstream\n"
    )
    return b"".join((head.encode(), content, b"\nendstream\n"))


def _n(value: float) -> str:
    """A number with four decimals at most."""
    return f"{value:.4f}".rstrip("0").rstrip(".") or "0"


def _unit_square(picture: Picture | PackedPicture, height_mm: float) -> tuple[float, ...]:
    """The matrix that lays the unit square of an image on the page, in points."""
    box, (a, b, c, d, _, _) = picture.box, picture.to_page
    wide, high = mm_to_pt(box.right - box.left), mm_to_pt(box.bottom - box.top)
    x, y = _place(picture.to_page.apply((box.left, box.bottom)), height_mm)
    return (a * wide, -b * wide, -c * high, d * high, x, y)


def _wound(mask: Regions) -> Regions:
    """Outer rings one way round and holes the other, so that overlaps stay inside the clip."""

    if len(mask) == 1 and not mask[0].holes:
        return mask

    def wind(ring: Ring, *, positive: bool) -> Ring:
        return ring if (ring_area_mm2(ring) > 0.0) is positive else tuple(reversed(ring))

    return tuple(
        Region(
            wind(region.outer, positive=True),
            tuple(wind(hole, positive=False) for hole in region.holes),
        )
        for region in mask
    )


def _place(point: Point, height_mm: float) -> Point:
    return (mm_to_pt(point[0]), mm_to_pt(height_mm - point[1]))


@lru_cache(maxsize=1024)
def _rgb(colour: Colour) -> str:
    """Each 8-bit value as a share that any reader rounds back to it."""
    return " ".join(f"{value / 255.0:.5f}".rstrip("0").rstrip(".") for value in colour)


def _ink(colour: Colour, before: Colour | None) -> str:
    return "" if colour == before else f"{_rgb(colour)} rg"


@lru_cache(maxsize=4096)
def _form(corners: int, *, closed: bool = True) -> str:
    lines = "%.4f %.4f l\n" * (corners - 1)
    return f"%.4f %.4f m\n{lines}{'h' if closed else ''}"


def _moved(move: Affine, page: Page) -> str:
    """The matrix that takes millimetres of what is moved to points of the page."""
    x, y = _place((move.e, move.f), page.height_mm)
    turn = [mm_to_pt(value) for value in (move.a, -move.b, move.c, -move.d)]
    return " ".join(f"{value:.6f}" for value in (*turn, x, y))


def _rings(
    rings: Sequence[Sequence[Point]], height_mm: float | None, *, closed: bool = True
) -> str:
    """Polygons as path operators. height_mm : of the page; None writes millimetres as they are"""
    if len(rings) == 1 and len(rings[0]) < 12 and height_mm is not None:
        return _short_ring(rings[0], height_mm, closed=closed)
    counts = [len(ring) for ring in rings]
    places = corners_of(rings)
    if height_mm is not None:
        places[:, 1] = height_mm - places[:, 1]
        places *= PT_PER_IN / MM_PER_IN
    numbers = places.ravel().tolist()
    out, start = [], 0
    for count in counts:
        out.append(_form(count, closed=closed) % tuple(numbers[start : start + 2 * count]))
        start += 2 * count
    return "\n".join(out)


def _short_ring(ring: Sequence[Point], height_mm: float, *, closed: bool) -> str:
    numbers: list[float] = []
    for x, y in ring:
        numbers += (x * (PT_PER_IN / MM_PER_IN), (height_mm - y) * (PT_PER_IN / MM_PER_IN))
    return _form(len(ring), closed=closed) % tuple(numbers)


def _stroke(line: Line | Lines, paths: Sequence[Sequence[Point]], page: Page) -> list[str]:
    dashes = " ".join(_n(mm_to_pt(length)) for length in line.dashes_mm)
    return [
        f"{_rgb(line.colour)} RG {_n(mm_to_pt(line.width_mm))} w [{dashes}] 0 d",
        _rings(paths, page.height_mm, closed=line.closed),
        "S",
    ]
