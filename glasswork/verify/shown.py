"""Film pages as another program shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from glasswork.model.geometry import Affine, Point
from glasswork.model.report import FilmPageReport
from glasswork.units import mm_to_pt, mm_to_px, pt_to_mm

RENDER_DPI: Final = 200.0
CLOSE_DPI: Final = 1200.0
TRIM_LINE_PX: Final = 5
"""Parts are trimmed so far beside their line, half of it inside, that the line itself is gone."""
Grey = NDArray[np.float64]
Rgb = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPicture:
    """A film page as another program renders it: whole at RENDER_DPI, and closer where asked."""

    facts: FilmPageReport
    page: Any
    rgb: Rgb

    @property
    def told(self) -> str:
        """ "film 1", "film 2, part 1", "film 1, copy 2" """
        facts = self.facts
        part = f", part {facts.part}" if facts.parts > 1 else ""
        copy = f", copy {facts.copy}" if facts.copy > 1 else ""
        return f"film {facts.film}{part}{copy}"

    def darkness(self, centre: Point, half_mm: float) -> tuple[Grey, Point]:
        """How dark a square round a place is, 0-1, at CLOSE_DPI; its top left corner in mm."""
        width, height = (pt_to_mm(side) for side in self.page.get_size())
        left, top = (max(0.0, value - half_mm) for value in centre)
        crop = (
            left,
            max(0.0, height - centre[1] - half_mm),
            max(0.0, width - centre[0] - half_mm),
            top,
        )
        bitmap = self.page.render(scale=CLOSE_DPI / 72.0, crop=tuple(mm_to_pt(mm) for mm in crop))
        red, green, blue = np.moveaxis(bitmap.to_numpy()[:, :, :3].astype(np.int32), 2, 0)
        return (765 - red - green - blue) / 765.0, (left, top)


@dataclass(frozen=True, slots=True, kw_only=True)
class RenderedFilms:
    """The pages of a films.pdf as another program shows them."""

    data: bytes
    pages: tuple[Any, ...]
    rgb: tuple[Rgb, ...]


def render_films(data: bytes) -> RenderedFilms:
    """Open and render film pages. One thread at a time may do so.

    Raises: RuntimeError, if it is no PDF
    """
    import pypdfium2

    pages = tuple(pypdfium2.PdfDocument(data))
    return RenderedFilms(data=data, pages=pages, rgb=tuple(_render(page) for page in pages))


def _render(page: Any) -> Rgb:
    """The page as it is printed: pixels of pictures are taken as they are, none are blended."""
    bitmap = page.render(scale=RENDER_DPI / 72.0, rev_byteorder=True, no_smoothimage=True)
    return np.ascontiguousarray(bitmap.to_numpy()[:, :, :3])


def assembled(pictures: list[FilmPicture]) -> list[FilmPicture]:
    """Films in parts laid together, each part trimmed as told, seen from the front."""
    whole = [picture for picture in pictures if picture.facts.parts == 1]
    groups: dict[tuple[int, int], list[FilmPicture]] = {}
    for picture in pictures:
        if picture.facts.parts > 1:
            groups.setdefault((picture.facts.copy, picture.facts.film), []).append(picture)
    return [*whole, *map(_joined, groups.values())]


def _joined(parts: list[FilmPicture]) -> FilmPicture:
    import cv2

    px = mm_to_px(1.0, dpi=RENDER_DPI)
    trims = [np.array(part.facts.trim_mm) for part in parts]
    left, top = np.min([trim.min(axis=0) for trim in trims], axis=0) - 1.0
    width, height = np.max([trim.max(axis=0) for trim in trims], axis=0) - (left, top) + 1.0
    place = Affine.shift(-float(left), -float(top))
    size = (round(width * px), round(height * px))
    rgb = np.full((size[1], size[0], 3), 255, np.uint8)
    for part, trim in zip(parts, trims, strict=True):
        back = Affine(*part.facts.panel_to_page_mm).inverse().then(place)
        matrix = np.array([(back.a, back.c, back.e * px), (back.b, back.d, back.f * px)])
        seen = cv2.warpAffine(
            part.rgb, matrix, size, flags=cv2.INTER_NEAREST, borderValue=(255, 255, 255)
        )
        kept = np.zeros(rgb.shape[:2], np.uint8)
        ring = np.round((trim - (left, top)) * px * 16.0).astype(np.int32)
        cv2.fillPoly(kept, [ring], 1, shift=4)
        cv2.polylines(kept, [ring], True, 0, TRIM_LINE_PX, shift=4)
        rgb = np.where(kept[..., None] > 0, np.minimum(rgb, seen), rgb)
    facts = structs.replace(parts[0].facts, panel_to_page_mm=(*place,), part=1, parts=1)
    return FilmPicture(facts=facts, page=None, rgb=rgb)
