"""The pages: the start, and a page for each of the bench's steps."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Final

from nicegui import ui

from glasswork.errors import GlassworkError
from glasswork.web.pages import drawing, frame, glass, pack, printer, start
from glasswork.web.pages.shell import Bench, frame_page, page_head, waiting
from glasswork.web.parts import fault, link, tag
from glasswork.web.sessions import Sessions

STEPS: Final[dict[str, Callable[[Bench], Awaitable[None]]]] = {
    "drawing": drawing.build,
    "glass": glass.build,
    "printer": printer.build,
    "frame": frame.build,
    "pack": pack.build,
}


def register(sessions: Sessions) -> None:
    """Tell NiceGUI of every page."""

    @ui.page("/", title="Glasswork")
    async def _start() -> None:
        page_head()
        start.build(sessions)

    @ui.page("/bench/{project_id}/{step}", title="Glasswork")
    async def _bench(project_id: str, step: str) -> None:
        page_head()
        try:
            session = sessions.get(project_id)
        except GlassworkError as found:
            _lost(str(found))
            return
        if step not in STEPS:
            _lost(f"there is no step {step[:20]}")
            return
        bench = Bench(sessions=sessions, session=session, step=step)
        with frame_page(bench), tag("div", cls="step") as bench.body, waiting("one moment"):
            pass
        await ui.context.client.connected(timeout=20.0)
        bench.listen()
        with bench.body:
            await STEPS[step](bench)


def _lost(text: str) -> None:
    with tag("div", cls="work", id="main"):
        tag("h1", "Not here")
        fault(text)
        link("All projects", "/")
