"""What every page has: head, steps, status line, and how a page hears of changes."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Final

from nicegui import ui

from glasswork.errors import GlassworkError
from glasswork.web.parts import button, fault, link, say, tag
from glasswork.web.session import Session, quietly
from glasswork.web.sessions import Sessions
from glasswork.web.sketch import Fitted
from glasswork.web.state import Patch

NAMES: Final = {
    "drawing": "Drawing",
    "glass": "Glass",
    "printer": "Printer",
    "frame": "Frame",
    "pack": "Pack",
}
AFTER: Final = dict(zip(NAMES, [*list(NAMES)[1:], ""], strict=True))


@dataclass(eq=False)
class Bench:
    """One tab that shows one step of a project.

    on_change : called with the names of the settings that changed, in any tab
    """

    sessions: Sessions
    session: Session
    step: str
    body: Any = None
    client: Any = None
    on_change: Callable[[frozenset[str]], None] = lambda _changed: None
    state: dict[str, Any] = field(default_factory=dict)
    turns: int = 0

    def turn(self) -> Callable[[], bool]:
        """Begin to work the step out; asked later, it tells whether nothing newer was begun."""
        self.turns += 1
        mine = self.turns
        return lambda: mine == self.turns

    def listen(self) -> None:
        """Hear of changes until the tab is gone."""
        self.client = ui.context.client

        def heard(changed: frozenset[str]) -> None:
            with self.client:
                self.on_change(changed)

        self.session.listeners.add(heard)
        self.client.on_delete(lambda: self.session.listeners.discard(heard))
        ui.on("undo", self.undo)
        ui.on("redo", self.redo)

    def undo(self) -> None:
        """Take a step back and say which."""
        self.tell(
            lambda: say(f"undone: {what}" if (what := self.session.undo()) else "nothing to undo")
        )

    def redo(self) -> None:
        """Take a step forward again and say which."""
        self.tell(
            lambda: say(
                f"done again: {what}" if (what := self.session.redo()) else "nothing to do again"
            )
        )

    def tell(self, action: Callable[[], Any]) -> bool:
        """Do it; a fault is said in the status line."""
        try:
            action()
        except GlassworkError as found:
            say(str(found))
            return False
        return True

    def setting(self, key: str) -> Callable[[Any], None]:
        """What a field for a key of the project does with a value; a fault is said."""

        def change(value: Any) -> None:
            patch = Patch(values={key: value})
            label = f"{key.replace('_', ' ')} {value}"
            self.tell(lambda: self.session.change(patch, label=label))

        return change

    def take_profile(self, made: Fitted) -> None:
        """Have the project use a profile that was made of readings."""
        if self.tell(lambda: self.session.take_profile(made)):
            say("the profile is in use for this project")

    def run(self, script: str, *arguments: Any) -> None:
        """Call a function of bench.js in this tab."""
        self.client.run_javascript(f"{script}({', '.join(json.dumps(a) for a in arguments)})")


def page_head() -> None:
    """Our own style and script, on top of the library's."""
    ui.add_head_html(
        '<link rel="stylesheet" href="/bench-static/bench.css">'
        '<script src="/bench-static/bench.js" defer></script>'
        '<meta name="color-scheme" content="dark">'
        "<script>document.documentElement.lang = 'en'</script>"
    )


@contextmanager
def frame_page(bench: Bench) -> Iterator[None]:
    """Head with the steps, the main part, the status line."""
    session = bench.session
    link("To the work", "#main", cls="skip")
    with tag("header", cls="head"):
        link("Glasswork", "/", cls="brand")
        title = tag(
            "input",
            cls="title",
            defaultValue=session.record.title,
            aria_label="Name of the project",
            maxlength=80,
            autocomplete="off",
        )
        title.on(
            "change",
            lambda event: bench.tell(lambda: session.rename(str(event.args))),
            js_handler="(e) => emit(e.target.value)",
        )
        with tag("nav", aria_label="Steps"), tag("ol", cls="steps"):
            with tag("li"):
                link("Start", "/")
            for step, name in NAMES.items():
                with tag("li"):
                    link(
                        name,
                        f"/bench/{session.record.id}/{step}",
                        aria_current="step" if step == bench.step else None,
                    )
    with tag("div", cls="work", id="main", tabindex="-1"):
        yield
    tag("div", "saved on this machine with every step", id="status", role="status")


@contextmanager
def waiting(text: str) -> Iterator[None]:
    """A quiet word while something is worked out."""
    with tag("div", cls="wait", role="status"):
        tag("p", text)
        yield


def head(title: str, text: str, *, bench: Bench | None = None, onward: bool = False) -> None:
    """The heading and what the step is for.

    bench : the project, whose steps can be undone · onward : the way goes on from here
    """
    with tag("div", cls="intro"):
        with tag("div"):
            tag("h1", title)
            tag("p", text)
        if bench is None:
            return
        with tag("div", cls="row"):
            button("Undo", bench.undo, cls="quiet")
            button("Redo", bench.redo, cls="quiet")
            after = AFTER[bench.step]
            if onward and after:
                link(
                    f"On to: {NAMES[after]}",
                    f"/bench/{bench.session.record.id}/{after}",
                    cls="btn main",
                )


async def save(work: Awaitable[bytes], name: str, kind: str, *, said: str) -> None:
    """Have a file made and handed to the browser; said : what is told once it is there."""
    made, text = await quietly(work)
    if made is None:
        say(text)
        return
    ui.download.content(made, name, kind)
    say(said)


async def profile_made(
    bench: Bench, work: Awaitable[Fitted], show: Callable[[Bench], None], *, place: str
) -> None:
    """Have a profile made, show its part of the page anew, and say what came of it."""
    _, text = await quietly(work)
    show(bench)
    if text:
        with bench.state[place]:
            fault(text)
    say(text or "the profile is there to be looked at")


def refused(text: str, bench: Bench) -> None:
    """A step that cannot be shown, and the way to mend it."""
    fault(text)
    if bench.step != "drawing":
        link("Back to the drawing", f"/bench/{bench.session.record.id}/drawing", cls="btn")
