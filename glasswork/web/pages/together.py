"""Films of several projects printed on shared sheets, from the first page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from glasswork.errors import GlassworkError
from glasswork.web.parts import button, fault, link, tag
from glasswork.web.sessions import Sessions
from glasswork.web.store import Record

LEAST = 2
"""Fewer projects have nothing to share."""


def show_together(sessions: Sessions, records: Sequence[Record]) -> None:
    """A choice of projects, and their films as one PDF."""
    if len(records) < LEAST:
        return
    chosen: dict[str, bool] = {}
    with tag("details", id="together"):
        tag("summary", "Print films of several projects on shared sheets")
        tag(
            "p",
            "Each film comes out as in its own pack, with its own marks, as often as the project "
            "has copies.",
            cls="soft",
        )
        with tag("fieldset", cls="row"):
            tag("legend", "Projects", cls="soft")
            for record in records:
                with tag("label", cls="check"):
                    box = tag("input", type="checkbox", data_gang=record.id)
                    tag("span", record.title)
                box.on(
                    "change",
                    lambda event, one=record.id: chosen.update(
                        {one: str(event.args).lower() == "true"}
                    ),
                    js_handler="(e) => emit(e.target.checked)",
                )

        async def make() -> None:
            ids = [record.id for record in records if chosen.get(record.id)]
            place.clear()
            with place:
                tag("p", "Laying the films out …", role="status")
            await _made(sessions, ids, place)

        button("Make the films", make, id="gang")
        place = tag("div", cls="side", id="ganged")


async def _made(sessions: Sessions, ids: Sequence[str], place: Any) -> None:
    try:
        told = await sessions.gang(ids)
    except GlassworkError as found:
        place.clear()
        with place:
            fault(str(found))
        return
    place.clear()
    with place:
        with tag("ul"):
            for line in told:
                tag("li", line)
        link("Save films.pdf", "/file/films.pdf", cls="btn main", download=True, id="save-films")
