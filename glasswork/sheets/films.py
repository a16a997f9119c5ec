"""Film pages: each film at its true size, with all that is needed to print, check and place it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Affine, Box, Point, Region, Regions
from glasswork.model.sheet import Fill, FilmPage, InkFaces, Item, Line, Page, PageSize, Picture
from glasswork.model.window import Window
from glasswork.sheets.heading import PageTold, film_caption, film_heading
from glasswork.sheets.layout import Laid, Placed, Room, lay_singly, lay_together
from glasswork.sheets.marks import BLACK, STROKE_MM, bar, registration_mark, ring_round
from glasswork.sheets.patches import check_strip
from glasswork.sheets.scaled import (
    box_through,
    printable_box,
    stretch_of,
    stretched_page,
    stretched_place,
)

TRIM_GREY: Final = (190, 190, 190)
"""Light enough that a trimmed film shows no edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A panel whose films are printed.

    pictures : for each film its glass as pixels, in panel mm; empty where the glass is flat
    copies : how many times it is printed
    """

    window: Window
    separation: Separation
    plan: FramePlan
    label: str
    pictures: Sequence[Picture] = ()
    copies: int = 1


def film_pages(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    page: PageSize,
    *,
    printer: PrinterProfile,
    design_label: str,
    ink_faces: InkFaces = "front",
    pictures: Sequence[Picture] = (),
    copies: int = 1,
    together: bool = False,
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    """The pages of the films, 1:1, and where each film lies on its page.

    ink_faces : which way the printed sides look in the stack
    pictures : for each film its glass as pixels, in panel mm; without them the panes are flat
    copies : how often the panel is printed
    together : several films share a page where they fit

    Raises: SheetError, if the film is larger than the page has room for
    """
    panel = Panel(
        window=window,
        separation=separation,
        plan=plan,
        label=design_label,
        pictures=pictures,
        copies=copies,
    )
    return gang_pages([panel], page, printer=printer, ink_faces=ink_faces, together=together)


def gang_pages(
    panels: Sequence[Panel],
    page: PageSize,
    *,
    printer: PrinterProfile,
    ink_faces: InkFaces = "front",
    together: bool = True,
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    """The films of several panels, and of several copies of them.

    Raises: SheetError, if a film is larger than the page has room for
    """
    stretch = stretch_of(printer)
    reach = box_through(printable_box(page, printer), stretch.inverse())
    room = Room.on(reach, name=f"{page.title} page")
    jobs = [
        _Job(panel=panel, film=film, copy=copy, mirrored=mirrored(film, panel, ink_faces))
        for panel in panels
        for copy in range(1, panel.copies + 1)
        for film in range(1, panel.separation.count + 1)
    ]
    lay = lay_together if together else lay_singly
    boxes = [job.panel.plan.film_trim.box for job in jobs]
    sheets = lay(boxes, room, mirrored=[job.mirrored for job in jobs])
    draw = _Drawing()
    pages, places = [], []
    for number, laid in enumerate(sheets, start=1):
        mine = [jobs[index] for index in laid.jobs]
        made, lying = _sheet(number, laid, mine, draw, page)
        pages.append(stretched_page(made, stretch))
        places += [stretched_place(place, stretch) for place in lying]
    return tuple(pages), tuple(places)


def mirrored(film: int, panel: Panel, ink_faces: InkFaces) -> bool:
    """Whether a film is printed left-handed, so that its ink looks to the back."""
    if ink_faces == "together":
        return film == 1 and panel.separation.count > 1
    return ink_faces == "back"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Job:
    """One film to print."""

    panel: Panel
    film: int
    copy: int
    mirrored: bool


def _sheet(
    number: int, laid: Laid, jobs: Sequence[_Job], draw: _Drawing, page: PageSize
) -> tuple[Page, list[FilmPage]]:
    """One page and the films on it."""
    alone = len(jobs) == 1
    first = jobs[0]
    items: list[Item] = []
    glasses: list[tuple[int, int, int]] = []
    for job, placed in zip(jobs, laid.placed, strict=True):
        items += draw.film(job, placed)
        glasses += draw.devices(job)
        if not alone:
            items += film_caption(placed, _told(job))
    films = Box.around(
        corner for placed in laid.placed for corner in (placed.film[:2], placed.film[2:])
    )
    made = Page(
        width_mm=page.width_mm,
        height_mm=page.height_mm,
        items=(
            *items,
            *(item for rule in laid.rules for item in rule.items()),
            *check_strip(laid.free, glasses),
            *film_heading(
                laid,
                [_told(job) for job in jobs],
                outline=first.panel.plan.outline,
            ),
        ),
        trim=films,
        bleed=films,
        title=", ".join(dict.fromkeys(f"film {job.film}" for job in jobs)),
    )
    places = [
        FilmPage(
            page=number,
            film=job.film,
            mirrored=job.mirrored,
            panel_to_page=placed.to_page,
            marks=placed.marks,
            rules=tuple(rule.ends for rule in laid.rules),
            copy=job.copy,
        )
        for job, placed in zip(jobs, laid.placed, strict=True)
    ]
    return made, places


def _told(job: _Job) -> PageTold:
    return PageTold(
        label=job.panel.label,
        film=job.film,
        films=job.panel.separation.count,
        mirrored=job.mirrored,
        copy=job.copy,
        copies=job.panel.copies,
    )


class _Drawing:
    """Draws films; shapes that lie in the same place on several pages are mapped once."""

    def __init__(self) -> None:
        self._areas: dict[tuple[int, Affine], tuple[tuple[Regions, ...], Regions, Regions]] = {}

    def film(self, job: _Job, placed: Placed) -> list[Item]:
        """Inks, then the trim line, pin holes and marks."""
        panel, to_page = job.panel, placed.to_page
        panes, mask, black = self._mapped(panel, to_page)
        inks: list[Item] = []
        if panel.pictures:
            picture = panel.pictures[job.film - 1]
            inks.append(Picture(box=picture.box, pixels=picture.pixels, mask=mask, to_page=to_page))
        else:
            inks += [
                Fill(area=area, colour=colour, name=pane.id)
                for pane, area, colour in zip(
                    panel.window.panes, panes, self.devices(job), strict=True
                )
            ]
        if black:
            colour = panel.separation.black[job.film - 1]
            inks.append(Fill(area=black, colour=colour, name="leads"))
        return [*inks, *_furniture(panel.plan, placed)]

    def devices(self, job: _Job) -> list[tuple[int, int, int]]:
        """Device values of the panes on this film, in pane order."""
        glasses = {glass.glass: glass for glass in job.panel.separation.glasses}
        return [glasses[pane.glass or ""].device[job.film - 1] for pane in job.panel.window.panes]

    def _mapped(
        self, panel: Panel, to_page: Affine
    ) -> tuple[tuple[Regions, ...], Regions, Regions]:
        """The panes, all of them as one mask, and what is black."""
        key = (id(panel), to_page)
        if key not in self._areas:
            limits = dict(panel.plan.glass_limit)
            panes = tuple(
                tuple(region.mapped(to_page) for region in limits[pane.id])
                for pane in panel.window.panes
            )
            mask = tuple(region for area in panes for region in area) if panel.pictures else ()
            black = tuple(region.mapped(to_page) for region in panel.plan.printed)
            self._areas[key] = (panes, mask, black)
        return self._areas[key]


def _furniture(plan: FramePlan, placed: Placed) -> tuple[Item, ...]:
    """The trim line, pin holes and marks."""
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
    return (trim, *pins, *map(registration_mark, placed.marks))


def _pin(centre: Point, diameter_mm: float) -> Sequence[Region]:
    """A pin hole: its edge, and a small cross to punch on."""
    x, y = centre
    arm = diameter_mm / 3.0
    return (
        ring_round(centre, diameter_mm / 2.0, width_mm=STROKE_MM),
        bar((x - arm, y), (x + arm, y), width_mm=STROKE_MM),
        bar((x, y - arm), (x, y + arm), width_mm=STROKE_MM),
    )
