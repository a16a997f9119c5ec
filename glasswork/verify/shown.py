"""Film pages as another program shows them."""

from __future__ import annotations

from math import ceil, floor
from typing import Any, Final

import numpy as np
from msgspec import Struct, structs
from numpy.typing import NDArray

from glasswork.model.geometry import Affine, Point, Region
from glasswork.model.report import FilmPageReport
from glasswork.planar import Area
from glasswork.units import MM_PER_IN, mm_to_px, pt_to_mm, px_to_mm

RENDER_DPI: Final = 200.0
CLOSE_DPI: Final = 1200.0
CLOSEST_DPI: Final = 40000.0
CLOSE_PX: Final = 4.0
TRIM_LINE_PX: Final = 5
"""Parts are trimmed so far beside their line, half of it inside, that the line itself is gone."""
UNKNOWN: Final = 128
"""Neither ink nor bare film: what the trim lines of films in parts hide."""
Grey = NDArray[np.float64]
Rgb = NDArray[np.uint8]


class FilmPicture(Struct, frozen=True, kw_only=True):
    """A film page as another program renders it: whole at RENDER_DPI, and closer where asked.

    parts : the pages of a film that is laid together from them
    """

    facts: FilmPageReport
    page: Any
    rgb: Rgb
    parts: tuple[FilmPicture, ...] = ()

    @property
    def told(self) -> str:
        """ "film 1", "film 2, part 1", "film 1, copy 2" """
        facts = self.facts
        part = f", part {facts.part}" if facts.parts > 1 else ""
        copy = f", copy {facts.copy}" if facts.copy > 1 else ""
        return f"film {facts.film}{part}{copy}"

    def closer(self, seed: Point, room_mm: float) -> Rgb:
        """The colour at a place of the panel, at a resolution at which the room about it is some
        pixels.
        """
        for part in self.parts:
            if Area.of([Region(part.facts.trim_mm)]).holds(seed):
                return part.closer(seed, room_mm)
        dpi = min(max(CLOSE_DPI, CLOSE_PX * MM_PER_IN / room_mm), CLOSEST_DPI)
        at = Affine(*self.facts.panel_to_page_mm).apply(seed)
        rgb, (left, top), (across, down) = self._crop(at, px_to_mm(CLOSE_PX, dpi=dpi), dpi)
        colour: Rgb = rgb[int((at[1] - top) * down), int((at[0] - left) * across)]
        return colour

    def darkness(self, centre: Point, half_mm: float) -> tuple[Grey, Point]:
        """How dark a square round a place is, 0-1, at CLOSE_DPI; its top left corner in mm."""
        rgb, corner, _ = self._crop(centre, half_mm, CLOSE_DPI)
        red, green, blue = np.moveaxis(rgb.astype(np.int32), 2, 0)
        return (765 - red - green - blue) / 765.0, corner

    def _crop(self, centre: Point, half_mm: float, dpi: float) -> tuple[Rgb, Point, Point]:
        """A square of the page, its top left corner in page mm, and pixels a mm both ways.

        The renderer makes the page a whole number of pixels wide and cuts between pixels, so where
        they lie is reckoned from both.
        """
        scale = dpi / 72.0
        sides = self.page.get_size()
        whole = [ceil(side * scale) for side in sides]
        px = [n / pt_to_mm(side) for n, side in zip(whole, sides, strict=True)]
        first = [max(0, floor((c - half_mm) * k)) for c, k in zip(centre, px, strict=True)]
        last = [min(n, ceil((c + half_mm) * k)) for c, k, n in zip(centre, px, whole, strict=True)]
        left, bottom, right, top = (
            max(0.0, n - 0.5) / scale
            for n in (first[0], whole[1] - last[1], whole[0] - last[0], first[1])
        )
        bitmap = self.page.render(
            scale=scale,
            crop=(left, bottom, right, top),
            rev_byteorder=True,
            no_smoothimage=True,
        )
        rgb = np.asarray(bitmap.to_numpy()[:, :, :3])
        return rgb, (first[0] / px[0], first[1] / px[1]), (px[0], px[1])


class RenderedFilms(Struct, frozen=True, kw_only=True):
    """The pages of a films.pdf as another program shows them."""

    data: bytes
    rgb: tuple[Rgb, ...]

    def opened(self) -> tuple[Any, ...]:
        """The pages, to be asked for their boxes and looked at closer."""
        import pypdfium2

        return tuple(pypdfium2.PdfDocument(self.data))


def render_films(data: bytes) -> RenderedFilms:
    """Open and render film pages. One thread at a time may do so.

    The file is closed again: what the program unpacked of it is as large as the pages themselves.
    Raises: RuntimeError, if it is no PDF
    """
    import pypdfium2

    with pypdfium2.PdfDocument(data) as document:
        return RenderedFilms(data=data, rgb=tuple(_render(page) for page in document))


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
    known, lines = (np.zeros(rgb.shape[:2], np.uint8) for _ in range(2))
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
        cv2.polylines(lines, [ring], True, 1, TRIM_LINE_PX, shift=4)
        rgb = np.where(kept[..., None] > 0, np.minimum(rgb, seen), rgb)
        known |= kept
    rgb[(lines > 0) & (known == 0)] = UNKNOWN
    facts = structs.replace(parts[0].facts, panel_to_page_mm=(*place,), part=1, parts=1)
    return FilmPicture(facts=facts, page=None, rgb=rgb, parts=tuple(parts))
