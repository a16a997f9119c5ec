"""Films of several windows on shared pages: each as in its own pack, with its own marks."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from glasswork.colour.finish.panes import pane_pictures
from glasswork.colour.table import Cache
from glasswork.errors import SheetError
from glasswork.model.project import Project
from glasswork.model.sheet import Document, FilmPage, PageSize
from glasswork.panel import Kit, Watch, decide, glazing_of
from glasswork.sheets.films import Panel, divide, gang_pages
from glasswork.writers.pdf import write_pdf
from glasswork.writers.png import RowPacker


class Entry(Struct, frozen=True, kw_only=True):
    """One window of the gang. name : its drawing's file name; photo : under the drawing"""

    drawing: bytes
    project: Project
    kit: Kit
    name: str
    photo: bytes | None = None

    @property
    def label(self) -> str:
        return self.name.rsplit(".", 1)[0]


def place_in_words(place: FilmPage, entry: Entry, *, title: str) -> str:
    """ "page 1: Ferry house, film 2, copy 1" """
    copy = f", copy {place.copy}" if entry.project.copies > 1 else ""
    part = f", part {place.part} of {place.parts}" if place.parts > 1 else ""
    return f"page {place.page}: {title}, film {place.film}{copy}{part}"


def gang(
    entries: Sequence[Entry],
    page: PageSize | None,
    *,
    watch: Watch,
    created: str,
    cache: Cache | None = None,
) -> tuple[bytes, PageSize, tuple[FilmPage, ...]]:
    """One PDF with all films of all windows, as often as each project has copies.

    entries : at least one; all for one printer
    page : what is printed on; None for the page that all projects name
    Returns: the PDF, its page, and where each film lies; `FilmPage.panel` counts the entries
    Raises: SheetError, if printers or pages differ or a film fits no page; GlassworkError, if a
        stage refuses
    """
    printers = {entry.kit.printer.name for entry in entries}
    if len(printers) > 1:
        raise SheetError(
            "gang",
            f"the projects are for different printers: {', '.join(sorted(printers))}",
            "gang those of one printer",
        )
    pages = {entry.kit.page.name: entry.kit.page for entry in entries}
    if page is None and len(pages) > 1:
        raise SheetError(
            "gang", f"the projects are for different pages: {', '.join(sorted(pages))}",
            "choose one with --page",
        )  # fmt: skip
    chosen = page or entries[0].kit.page
    panels = [_panel(entry, chosen, watch, cache) for entry in entries]
    with watch.stage("sheets"):
        made, places = gang_pages(panels, chosen, printer=entries[0].kit.printer)
    with watch.stage("files"):
        title = ", ".join(dict.fromkeys(entry.label for entry in entries))
        data = write_pdf(Document(title=f"{title}: films", pages=made, created=created))
    return data, chosen, places


def _panel(entry: Entry, page: PageSize, watch: Watch, cache: Cache | None) -> Panel:
    """A window's films, decided as for its own pack; in parts, where the page is too small."""
    panel = decide(
        entry.drawing,
        entry.project,
        entry.kit,
        name=entry.name,
        watch=watch,
        photo=entry.photo,
        cache=cache,
    )
    with watch.stage("surfaces"):
        pictures = pane_pictures(glazing_of(panel, entry.project, entry.kit, cache), RowPacker)
    return Panel(
        window=panel.window,
        separation=panel.films,
        plan=panel.plan,
        label=entry.label,
        pictures=pictures,
        copies=entry.project.copies,
        ink_faces=entry.project.ink_faces,
        division=divide(panel.plan, page, printer=entry.kit.printer),
    )
