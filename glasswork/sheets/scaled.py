"""Print-scale compensation: a page is laid out as it shall come out, then stretched."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from glasswork.model.film import PrinterProfile
from glasswork.model.geometry import Affine, Box, mapped_regions
from glasswork.model.sheet import (
    UNMOVED,
    Fill,
    FilmPage,
    Item,
    Line,
    Lines,
    PackedPicture,
    Page,
    PageSize,
    Picture,
    Text,
)


def stretch_of(printer: PrinterProfile) -> Affine:
    """Page mm for each mm that shall be printed: a printer 1 % long gets its pages 1 % short."""
    across, along = printer.print_scale
    return Affine.scale(1.0 / across, 1.0 / along)


def printable_box(page: PageSize, printer: PrinterProfile) -> Box:
    """The part of the page that the printer reaches, in page mm."""
    left, top, right, bottom = printer.unprintable_mm
    return Box(left, top, page.width_mm - right, page.height_mm - bottom)


def box_through(box: Box, affine: Affine) -> Box:
    return Box.around((affine.apply((box.left, box.top)), affine.apply((box.right, box.bottom))))


def stretched_page(page: Page, stretch: Affine) -> Page:
    """The page with everything on it stretched about its top left corner; type keeps its size."""
    if stretch == Affine():
        return page
    return replace(
        page,
        items=tuple(map(partial(_item, stretch=stretch), page.items)),
        trim=None if page.trim is None else box_through(page.trim, stretch),
        bleed=None if page.bleed is None else box_through(page.bleed, stretch),
    )


def stretched_place(place: FilmPage, stretch: Affine) -> FilmPage:
    return replace(
        place,
        panel_to_page=place.panel_to_page.then(stretch),
        marks=stretch.ring(place.marks),
        rules=tuple((stretch.apply(a), stretch.apply(b)) for a, b in place.rules),
    )


def _item(item: Item, *, stretch: Affine) -> Item:
    match item:
        case Fill():
            if item.to_page != UNMOVED:
                return replace(item, to_page=item.to_page.then(stretch))
            return replace(item, area=mapped_regions(item.area, stretch))
        case Line():
            return replace(item, points=stretch.ring(item.points))
        case Lines():
            return replace(item, paths=tuple(map(stretch.ring, item.paths)))
        case Text():
            return replace(item, at=stretch.apply(item.at))
        case Picture() | PackedPicture():
            mask = tuple(region.mapped(stretch) for region in item.mask)
            return replace(item, mask=mask, to_page=item.to_page.then(stretch))
