"""Film pages: each film at its true size, with all that is needed to print, check and place it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Affine, Box, Region, Regions
from glasswork.model.sheet import Fill, FilmPage, Item, Line, Page, PageSize
from glasswork.model.window import Window
from glasswork.sheets.heading import film_heading
from glasswork.sheets.layout import Placed, Room, place_film
from glasswork.sheets.marks import BLACK, STROKE_MM, bar, registration_mark, ring_round

TRIM_GREY: Final = (190, 190, 190)
"""Light enough that a trimmed film shows no edge."""


def film_pages(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    page: PageSize,
    *,
    printer: PrinterProfile,
    design_label: str,
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    """The pages of the films, 1:1, and where each film lies on its page.

    Raises: SheetError, if the film is larger than the page has room for
    """
    room = Room.on(printable_box(page, printer), name=f"{page.title} page")
    film_box = plan.film_trim.box
    placed = place_film(film_box, room, mirrored=False)
    glass = _glass(window, plan, placed.to_page)
    black = tuple(region.mapped(placed.to_page) for region in plan.printed)
    fixed = _furniture(plan, placed)
    pages, places = [], []
    for number in range(1, separation.count + 1):
        heading = film_heading(
            placed,
            outline=plan.outline,
            label=design_label,
            film=number,
            films=separation.count,
            mirrored=False,
        )
        inks: list[Item] = [
            Fill(area=area, colour=separation.glass(name).device[number - 1], name=pane)
            for pane, name, area in glass
        ]
        if black:
            inks.append(Fill(area=black, colour=separation.black[number - 1], name="leads"))
        pages.append(
            Page(
                width_mm=page.width_mm,
                height_mm=page.height_mm,
                items=(*inks, *fixed, *heading),
                trim=placed.film,
                bleed=placed.film,
                title=f"film {number} of {separation.count}",
            )
        )
        places.append(
            FilmPage(
                page=number,
                film=number,
                mirrored=False,
                panel_to_page=placed.to_page,
                marks=placed.marks,
                rules=tuple(rule.ends for rule in placed.rules),
            )
        )
    return tuple(pages), tuple(places)


def printable_box(page: PageSize, printer: PrinterProfile) -> Box:
    """The part of the page that the printer reaches, in page mm."""
    left, top, right, bottom = printer.unprintable_mm
    return Box(left, top, page.width_mm - right, page.height_mm - bottom)


def _glass(
    window: Window, plan: FramePlan, to_page: Affine
) -> tuple[tuple[str, str, Regions], ...]:
    """Pane id, glass id and area on the page, in pane order."""
    limits = dict(plan.glass_limit)
    return tuple(
        (
            pane.id,
            pane.glass or "",
            tuple(region.mapped(to_page) for region in limits[pane.id]),
        )
        for pane in window.panes
    )


def _furniture(plan: FramePlan, placed: Placed) -> tuple[Item, ...]:
    """What is the same on every film: trim line, pin holes, marks, rules."""
    trim = Line(
        points=placed.to_page.ring(plan.film_trim.outer),
        width_mm=0.1,
        colour=TRIM_GREY,
        closed=True,
    )
    pins = [
        Fill(area=(area,), colour=BLACK, name="pin hole")
        for ear in plan.ears
        for area in _pin(placed.to_page.apply(ear.hole_centre), ear.hole_diameter_mm)
    ]
    marks = [registration_mark(mark) for mark in placed.marks]
    rules = [item for rule in placed.rules for item in rule.items()]
    return (trim, *pins, *marks, *rules)


def _pin(centre: tuple[float, float], diameter_mm: float) -> Sequence[Region]:
    """A pin hole: its edge, and a small cross to punch on."""
    x, y = centre
    arm = diameter_mm / 3.0
    return (
        ring_round(centre, diameter_mm / 2.0, width_mm=STROKE_MM),
        bar((x - arm, y), (x + arm, y), width_mm=STROKE_MM),
        bar((x, y - arm), (x, y + arm), width_mm=STROKE_MM),
    )
