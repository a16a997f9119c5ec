"""The pack, and pictures of its pages."""

from __future__ import annotations

import io
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from glasswork.cli import shelf
from glasswork.model.project import Project
from glasswork.web.jobs.common import Begin, kit_of


def pack(
    drawing: bytes, project: Project, beside: str, created: str, *, begin: Begin
) -> Mapping[str, bytes]:
    """Every file of the pack, the stages told as they begin."""
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.compose import photo_bytes, settled
    from glasswork.panel import Watch
    from glasswork.pipeline import compose

    folder = Path(beside)
    path = folder / project.design
    composed = compose(
        drawing,
        settled(project, path=path, drawing=drawing, beside=folder, target=folder / "pack"),
        kit_of(project, beside),
        name=path.name,
        watch=Watch(clock=time.perf_counter, begin=begin),
        created=created,
        photo=photo_bytes(project, Path(beside)),
        cache=FolderCache(shelf.cache_folder()),
    )
    return dict(composed.files)


def gang_films(
    windows: Sequence[tuple[bytes, Project, str]],
    titles: Sequence[str],
    created: str,
    *,
    begin: Begin,
) -> tuple[bytes, tuple[str, ...]]:
    """Films of several projects on shared sheets, and a line for what lies where.

    windows : drawing, project and folder of each
    """
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.compose import photo_bytes
    from glasswork.gang import Entry, gang, place_in_words
    from glasswork.panel import Watch

    entries = [
        Entry(
            drawing=drawing,
            project=project,
            kit=kit_of(project, beside),
            name=Path(project.design).name,
            photo=photo_bytes(project, Path(beside)),
        )
        for drawing, project, beside in windows
    ]
    data, _, places = gang(
        entries,
        None,
        watch=Watch(clock=time.perf_counter, begin=begin),
        created=created,
        cache=FolderCache(shelf.cache_folder()),
    )
    told = [
        place_in_words(place, entries[place.panel - 1], title=titles[place.panel - 1])
        for place in places
    ]
    return data, tuple(told)


def page_pictures(pdf: bytes, width_px: int, *, begin: Begin) -> tuple[bytes, ...]:
    """Each page of our own PDF as a PNG; at most 60."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    pictures = []
    try:
        for number in range(min(60, len(document))):
            begin(f"picture of page {number + 1}")
            page = document[number]
            picture = page.render(scale=width_px / page.get_width()).to_pil()
            out = io.BytesIO()
            picture.convert("RGB").save(out, "PNG")
            pictures.append(out.getvalue())
    finally:
        document.close()
    return tuple(pictures)
