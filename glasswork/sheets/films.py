"""Film pages: each film at its true size, with all that is needed to print, check and place it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import (
    Affine,
    Box,
    Point,
    Region,
    Regions,
    mapped_groups,
    mapped_regions,
)
from glasswork.model.sheet import (
    Fill,
    FilmPage,
    FilmPicture,
    InkFaces,
    Item,
    Line,
    PackedPicture,
    Page,
    PageSize,
)
from glasswork.model.window import Window
from glasswork.planar import Area, AreaSet, last_holding
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
from glasswork.sheets.tiles import Division, Tile, divide_film

TRIM_GREY: Final = (190, 190, 190)
"""Light enough that a trimmed film shows no edge."""
TILE_BLEED_MM: Final = 0.6
"""How far the ink of a part runs on beyond the edge at which it is trimmed."""


class Panel(Struct, frozen=True, kw_only=True):
    """A panel whose films are printed.

    pictures : for each film its glass as pixels, in panel mm, whole or pane by pane; empty where
        the glass is flat
    copies : how many times it is printed
    ink_faces : which way the printed sides look in the stack
    division : the parts in which a film too large for the page is printed
    """

    window: Window
    separation: Separation
    plan: FramePlan
    label: str
    pictures: Sequence[FilmPicture] = ()
    copies: int = 1
    ink_faces: InkFaces = "front"
    division: Division | None = None


def film_pages(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    page: PageSize,
    *,
    printer: PrinterProfile,
    design_label: str,
    ink_faces: InkFaces = "front",
    pictures: Sequence[FilmPicture] = (),
    copies: int = 1,
    together: bool = False,
    division: Division | None = None,
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    """The pages of the films, 1:1, and where each film lies on its page.

    ink_faces : which way the printed sides look in the stack
    pictures : for each film its glass as pixels, in panel mm; without them the panes are flat
    copies : how often the panel is printed
    together : several films share a page where they fit
    division : the parts of a film larger than the page, see `divide`

    Raises: SheetError, if the film is larger than the page has room for
    """
    panel = Panel(
        window=window,
        separation=separation,
        plan=plan,
        label=design_label,
        pictures=pictures,
        copies=copies,
        ink_faces=ink_faces,
        division=division,
    )
    return gang_pages([panel], page, printer=printer, together=together)


def gang_pages(
    panels: Sequence[Panel],
    page: PageSize,
    *,
    printer: PrinterProfile,
    together: bool = True,
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    """The films of several panels, and of several copies of them.

    Raises: SheetError, if a film is larger than the page has room for
    """
    stretch = stretch_of(printer)
    room = _room(page, printer)
    jobs = [
        _Job(panel=panel, number=number, film=film, copy=copy, tile=tile)
        for number, panel in enumerate(panels, start=1)
        for copy in range(1, panel.copies + 1)
        for film in range(1, panel.separation.count + 1)
        for tile in (panel.division.tiles if panel.division else (None,))
    ]
    lay = lay_together if together else lay_singly
    boxes = [job.trim.box for job in jobs]
    sheets = lay(boxes, room, mirrored=[job.mirrored for job in jobs])
    draw = _Drawing()
    pages, places = [], []
    for number, laid in enumerate(sheets, start=1):
        mine = [jobs[index] for index in laid.jobs]
        made, lying = _sheet(number, laid, mine, draw, page)
        pages.append(stretched_page(made, stretch))
        places += [stretched_place(place, stretch) for place in lying]
    return tuple(pages), tuple(places)


def divide(plan: FramePlan, page: PageSize, *, printer: PrinterProfile) -> Division | None:
    """The parts of a film that is larger than the page has room for; None if it fits whole.

    Raises: SheetError, if no division makes it fit
    """
    room = _room(page, printer)
    whole = plan.film_trim.box
    if room.fits(whole):
        return None
    found = divide_film(plan, room.fits)
    if found is None:
        raise room.too_small(whole)
    return found


def joint_findings(division: Division | None, page: PageSize) -> tuple[Finding, ...]:
    """What a maker should know of a film that has to be printed in parts."""
    if division is None:
        return ()
    bare = round(division.bare_mm)
    note = Finding(
        severity=Severity.WARNING if bare else Severity.NOTE,
        where=f"films on {page.title} page",
        what=f"each film is printed in {len(division.tiles)} parts"
        + (
            f"; {bare} mm of the joints run over glass and will be seen"
            if bare
            else ", joined under the leads"
        ),
        hint="choose a larger page to print it whole"
        + ("" if not bare else ", or draw a lead across the panel"),
    )
    return (note,)


def _room(page: PageSize, printer: PrinterProfile) -> Room:
    reach = box_through(printable_box(page, printer), stretch_of(printer).inverse())
    return Room.on(reach, name=f"{page.title} page")


class _Job(Struct, frozen=True, kw_only=True):
    """One film to print. number : of its panel, from 1"""

    panel: Panel
    number: int
    film: int
    copy: int
    tile: Tile | None = None

    @property
    def mirrored(self) -> bool:
        """Whether the film is printed left-handed, so that its ink looks to the back."""
        if self.panel.ink_faces == "together":
            return self.film == 1 and self.panel.separation.count > 1
        return self.panel.ink_faces == "back"

    @property
    def trim(self) -> Region:
        """Where it is trimmed, in panel mm."""
        return self.panel.plan.film_trim if self.tile is None else self.tile.trim

    def panes(self) -> tuple[str, ...]:
        """Ids of the panes whose seed points lie on this part, and on none after it; empty for a
        whole film.
        """
        division = self.panel.division
        if self.tile is None or division is None:
            return ()
        trims = AreaSet.of_regions([tile.trim for tile in division.tiles])
        panes = self.panel.window.panes
        held = last_holding([pane.seed_point for pane in panes], trims)
        mine = self.tile.number - 1
        return tuple(pane.id for pane, at in zip(panes, held, strict=True) if at == mine)


def _sheet(
    number: int, laid: Laid, jobs: Sequence[_Job], draw: _Drawing, page: PageSize
) -> tuple[Page, list[FilmPage]]:
    """One page and the films on it."""
    alone = len(jobs) == 1
    first = jobs[0]
    items: list[Item] = []
    glasses: list[tuple[int, int, int]] = []
    leads: list[tuple[int, int, int]] = []
    for job, placed in zip(jobs, laid.placed, strict=True):
        items += draw.film(job, placed)
        glasses += draw.devices(job)
        if job.panel.plan.printed:
            leads.append(job.panel.separation.black.device[job.film - 1])
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
            *check_strip(laid.free, glasses, leads),
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
            panel=job.number,
            part=job.tile.number if job.tile else 1,
            parts=job.tile.of if job.tile else 1,
            panes=job.panes(),
            trim=job.trim.outer,
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
        part="" if job.tile is None else f", part {job.tile.number} of {job.tile.of}",
    )


class _Drawing:
    """Draws films; shapes that lie in the same place on several pages are mapped once."""

    def __init__(self) -> None:
        self._areas: dict[
            tuple[int, int, Affine], tuple[tuple[Regions, ...], Regions, Regions]
        ] = {}

    def film(self, job: _Job, placed: Placed) -> list[Item]:
        """Inks, then the trim line, pin holes and marks."""
        panel, to_page = job.panel, placed.to_page
        panes, _, black = self._mapped(job, to_page)
        inks: list[Item] = []
        if panel.pictures:
            inks += self._pixels(job, to_page)
        else:
            inks += [
                Fill(area=area, colour=colour, name=pane.id)
                for pane, area, colour in zip(
                    panel.window.panes, panes, self.devices(job), strict=True
                )
            ]
        if black:
            colour = panel.separation.black.device[job.film - 1]
            inks.append(Fill(area=black, colour=colour, name="leads"))
        return [*inks, *_furniture(job, placed)]

    def _pixels(self, job: _Job, to_page: Affine) -> Sequence[Item]:
        """The film's glass as pixels: each pane behind its own mask, or all behind one."""
        panes, mask, _ = self._mapped(job, to_page)
        given = job.panel.pictures[job.film - 1]
        if isinstance(given, PackedPicture):
            return [replace(given, mask=mask, to_page=to_page)]
        shapes = {pane.id: area for pane, area in zip(job.panel.window.panes, panes, strict=True)}
        return [
            replace(picture, mask=shapes[picture.name], to_page=to_page)
            for picture in given
            if shapes[picture.name]
        ]

    def devices(self, job: _Job) -> list[tuple[int, int, int]]:
        """Device values of the panes on this film, in pane order."""
        glasses = {glass.glass: glass for glass in job.panel.separation.glasses}
        return [glasses[pane.glass or ""].device[job.film - 1] for pane in job.panel.window.panes]

    def _mapped(self, job: _Job, to_page: Affine) -> tuple[tuple[Regions, ...], Regions, Regions]:
        """The panes, all of them as one mask, and what is black."""
        panel, number = job.panel, job.tile.number if job.tile else 0
        key = (id(panel), number, to_page)
        if key not in self._areas:
            limits = dict(panel.plan.glass_limit)
            glass = [limits[pane.id] for pane in panel.window.panes]
            black = panel.plan.printed
            if job.tile is not None:
                glass, black = _within(job.tile, glass, black)
            panes = tuple(mapped_groups(glass, to_page))
            mask = tuple(region for area in panes for region in area) if panel.pictures else ()
            self._areas[key] = (panes, mask, mapped_regions(black, to_page))
        return self._areas[key]


def _within(tile: Tile, glass: Sequence[Regions], black: Regions) -> tuple[list[Regions], Regions]:
    """What is inked on a part: a little beyond its trimmed edge, so that no edge stays bare."""
    ground = Area.of([tile.trim]).grown(TILE_BLEED_MM, join="round")  # no long tips near marks
    inked = AreaSet.of_groups(glass).common(ground).regions()
    return list(inked), (Area.of(black) & ground).regions()


def _furniture(job: _Job, placed: Placed) -> tuple[Item, ...]:
    """The trim line, pin holes and marks."""
    trim = Line(
        points=placed.to_page.ring(job.trim.outer),
        width_mm=0.1,
        colour=TRIM_GREY,
        closed=True,
    )
    film = Area.of([Region(job.trim.outer)])
    pins = [
        Fill(area=(area,), colour=BLACK, name="pin hole")
        for ear in job.panel.plan.ears
        if film.holds(ear.hole_centre)
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
