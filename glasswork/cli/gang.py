"""glasswork gang: the films of several windows on shared pages."""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click
import msgspec

from glasswork.cli import shelf
from glasswork.cli.compose import open_project, photo_bytes, today
from glasswork.cli.files import check_ending, write_file
from glasswork.errors import PackError
from glasswork.model.words import counted

if TYPE_CHECKING:
    from glasswork.gang import Entry
    from glasswork.model.sheet import FilmPage

PROJECT_FILE = "project.toml"


@click.command("gang", context_settings={"show_default": True})
@click.argument("windows", metavar="PACK...", nargs=-1, required=True)
@click.option("-o", "--output", metavar="FILE", required=True, help="The films to write (.pdf).")
@click.option(
    "--page", metavar="NAME", help="Page that is printed on, where the projects name several."
)
@click.option("--json", "as_json", is_flag=True, help="Print where every film lies, as JSON.")
def command(windows: tuple[str, ...], output: str, page: str | None, as_json: bool) -> None:
    """Print the films of several windows on shared pages, to save film.

    Each PACK is a pack, a project file, or a drawing. Its films come out as they do in its own
    pack, each with its marks; every project's copies are printed.
    """
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.kit import load_page
    from glasswork.cli.progress import Progress
    from glasswork.gang import gang, place_in_words
    from glasswork.panel import Watch

    target = Path(output)
    check_ending(output, ".pdf")
    entries = [_entry(Path(name)) for name in windows]
    chosen = load_page(page) if page else None
    with Progress() as progress:
        data, size, places = gang(
            entries,
            chosen,
            watch=Watch(clock=time.perf_counter, begin=progress),
            created=today(),
            cache=FolderCache(shelf.cache_folder()),
        )
    write_file(target, data)
    if as_json:
        told = {
            "page_mm": (size.width_mm, size.height_mm),
            "films": [_told(place, entries) for place in places],
        }
        click.echo(msgspec.json.format(msgspec.json.encode(told)).decode())
        return
    for place in places:
        entry = entries[place.panel - 1]
        click.echo(place_in_words(place, entry, title=entry.label))
    pages = max(place.page for place in places)
    click.echo(f"written: {output}, {counted(len(places), 'film')} on {counted(pages, 'page')}")


def _entry(path: Path) -> Entry:
    """A pack's project, a project file, or a drawing with no setting at all."""
    from glasswork.cli.kit import load_kit
    from glasswork.gang import Entry

    if path.is_dir():
        if not (path / PROJECT_FILE).is_file():
            raise PackError(str(path), f"is not a pack: no {PROJECT_FILE}", "name a pack's folder")
        path = path / PROJECT_FILE
    is_project = path.suffix.lower() == ".toml"
    drawn, project, beside = (
        open_project(None, str(path), {}) if is_project else open_project(str(path), None, {})
    )
    return Entry(
        drawing=shelf.read_file(drawn),
        project=project,
        kit=load_kit(project, beside=beside),
        name=drawn.name,
        photo=photo_bytes(project, beside),
    )


def _told(place: FilmPage, entries: Sequence[Entry]) -> dict[str, object]:
    entry = entries[place.panel - 1]
    return {
        "window": entry.label,
        "panel": place.panel,
        "copy": place.copy,
        "page": place.page,
        "film": place.film,
        "part": place.part,
        "parts": place.parts,
        "mirrored": place.mirrored,
        "panel_to_page_mm": tuple(round(value, 6) for value in place.panel_to_page),
        "marks_mm": place.marks,
        "rules_mm": place.rules,
    }
