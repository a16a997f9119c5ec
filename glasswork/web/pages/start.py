"""Start: a sample, an own drawing, or a project that is there already."""

from __future__ import annotations

import tomllib
from datetime import datetime
from typing import Any

from nicegui import ui

from glasswork.cli import shelf
from glasswork.errors import GlassworkError
from glasswork.web.pages.draw import DrawForm
from glasswork.web.pages.shell import head
from glasswork.web.pages.together import show_together
from glasswork.web.parts import button, fault, link, say, tag, upload
from glasswork.web.sessions import Sessions, of_sample
from glasswork.web.store import Record


def build(sessions: Sessions) -> None:
    """The page that is seen first."""
    link("To the work", "#main", cls="skip")
    with tag("header", cls="head"):
        link("Glasswork", "/", cls="brand")
    with tag("div", cls="work", id="main", tabindex="-1"):
        head(
            "A small window, lit from behind",
            "From a drawing to film prints at the right density, matched frame layers and a "
            "guide to put them together. Everything stays on this machine.",
        )
        _own(sessions)
        _projects(sessions)
        _samples(sessions)
        _cautions()
    tag("div", "", id="status", role="status")


def _own(sessions: Sessions) -> None:
    with tag("section", cls="card", aria_labelledby="own"):
        tag("h2", "Your own drawing", id="own")
        with tag("div", cls="drop"):
            upload(
                "SVG line art, or a PNG or JPEG of black lines on white. Up to 32 MiB.",
                "drawing",
                "/up/drawing",
                accept=".svg,.svgz,.png,.jpg,.jpeg",
            )
        _draw(sessions)
        with tag("details"):
            tag("summary", "Bring in a project that was saved as a file")
            with tag("div", cls="drop"):
                upload("Project file (.zip)", "project", "/up/project", accept=".zip")


def _draw(sessions: Sessions) -> None:
    """The way to a window drawn from measures; its form comes when it is asked for."""
    opened = False

    def show() -> None:
        nonlocal opened
        opened = not opened
        toggle.props["aria-expanded"] = str(opened).lower()
        toggle.update()
        place.clear()
        if opened:
            with place:
                DrawForm(sessions).show()

    with tag("div", cls="row"):
        toggle = button(
            "Draw a window from measures", show, id="draw", aria_expanded="false",
            aria_controls="draw-place",
        )  # fmt: skip
        tag("p", "Arches, tracery, quarries and roses, to the measure you need.", cls="soft")
    place = tag("div", id="draw-place")


def _projects(sessions: Sessions) -> None:
    sessions.renew_thumbs()
    records = sessions.store.every()
    if not records:
        return
    with tag("section", aria_labelledby="mine", cls="side"):
        tag("h2", "Your projects", id="mine")
        with tag("ul", cls="gallery"):
            for record in records[:60]:
                with tag("li") as item:
                    _project(sessions, record, item)
        show_together(sessions, records[:60])


def _when(saved: str) -> str:
    """A moment as the clock on the wall tells it."""
    return datetime.fromisoformat(saved).astimezone().strftime("%Y-%m-%d %H:%M")


def _project(sessions: Sessions, record: Record, item: Any) -> None:
    with link("", f"/bench/{record.id}/drawing", cls="tile"):
        if (sessions.store.place(record.id) / "thumb.svg").is_file():
            tag("img", src=f"/file/{record.id}/thumb.svg", alt="", loading="lazy")
        else:
            tag("span", "not looked at yet", cls="blank")
        tag("strong", record.title)
        tag("small", f"saved {_when(record.saved)}")

    def sure() -> None:
        row.clear()
        with row:
            tag("span", "Remove it for good?", role="alert")
            button("Remove", remove, cls="small", aria_label=f"Remove {record.title} for good")
            button("Keep", choices, cls="small quiet")

    def remove() -> None:
        try:
            sessions.remove(record.id)
        except GlassworkError as found:
            say(str(found))
            return
        item.delete()
        say(f"{record.title} was removed")

    def choices() -> None:
        row.clear()
        with row:
            link("Save as file", f"/file/{record.id}/export", download=True)
            button("Remove …", sure, cls="small quiet", aria_label=f"Remove {record.title}")

    row = tag("div", cls="row")
    choices()


def _samples(sessions: Sessions) -> None:
    folder = shelf.shipped() / "sample_designs"
    with tag("section", aria_labelledby="samples", cls="side"):
        tag("h2", "Begin with a sample", id="samples")
        tag("p", "Windows of Varnholt, a tidal harbour town of our own invention.", cls="soft")
        place = tag("div")
        with tag("ul", cls="gallery"):
            for path in sorted(folder.glob("*.toml")):
                facts = tomllib.loads(path.read_text("utf-8"))
                with tag("li"):
                    tile = tag("button", type="button", cls="tile", data_sample=path.stem)
                    with tile:
                        tag("img", src=f"/sample/{path.stem}.svg", alt="", loading="lazy")
                        tag("strong", path.stem.replace("-", " ").capitalize())
                        tag("small", str(facts.get("note", "")))
                    tile.on("click", lambda _, p=path: _begin(sessions, p, place), args=[])


def _begin(sessions: Sessions, path: Any, place: Any) -> None:
    try:
        record = of_sample(sessions.store, path)
    except GlassworkError as found:
        with place:
            fault(str(found))
        return
    ui.navigate.to(f"/bench/{record.id}/drawing")


def _cautions() -> None:
    from glasswork.model.cautions import CAUTIONS

    with tag("section", cls="card"), tag("details"):
        tag("summary", "Before you cut, spray or wire")
        with tag("ul"):
            for text in CAUTIONS:
                tag("li", text)
