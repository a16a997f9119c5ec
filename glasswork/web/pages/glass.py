"""Glass: panes get their glass and surface; the picture answers at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from nicegui import ui

from glasswork.model.words import counted
from glasswork.web.pages.glazing import GlassStep
from glasswork.web.pages.palette import (
    show_palette,
    show_settings,
    show_surfaces,
    show_tally,
    step_of,
)
from glasswork.web.pages.shell import Bench, head, refused
from glasswork.web.parts import button, picture, say, tag
from glasswork.web.picture import window_svg
from glasswork.web.session import quietly

VIEWS: Final = {
    "lit": "Lit",
    "unlit": "By day",
    "back": "From the back",
    "by-hand": "Printed by hand",
}
LIVE: Final = ("glass", "surfaces")
"""Tables whose changes are painted at once, without working the step out again."""


async def build(bench: Bench) -> None:
    """Fill the step's place."""
    ui.on("pane", lambda e: _clicked(bench, str(e.args["id"]), more=bool(e.args["more"])))
    ui.on("let-go", lambda: step_of(bench).let_go() if "step" in bench.state else None)
    bench.on_change = lambda _names: _again(bench)
    await refresh(bench)


def _again(bench: Bench) -> None:
    ui.timer(0.01, lambda: refresh(bench), once=True)


def _clicked(bench: Bench, pane: str, *, more: bool) -> None:
    if "step" in bench.state:
        step_of(bench).pane(pane, more=more)


async def refresh(bench: Bench) -> None:
    """Work out what is needed and show it."""
    session, newest = bench.session, bench.turn()
    sketch, text = await quietly(session.sketch())
    if sketch is not None and not sketch.usable:
        sketch, text = None, "The drawing does not make a window yet."
    shelf, worse = await quietly(session.shelf()) if sketch else (None, "")
    if not newest():
        return
    if sketch is None or shelf is None:
        bench.body.clear()
        with bench.body:
            head("Glass", "", bench=bench)
            refused(text or worse, bench)
            show_settings(bench)
        return
    tally, told = await quietly(session.tally())
    frame, _ = await quietly(session.frame())
    if not newest():
        return
    old: GlassStep | None = bench.state.get("step")
    step = GlassStep(bench, sketch, shelf, tally=tally, frame=frame)
    if old is not None:
        step.keep(old)
    bench.state["step"] = step
    bench.body.clear()
    with bench.body:
        _show(bench, step, told)
        if old is not None:
            step.mark_chosen()
            step.show_hand()
            bench.run("bench.refocus")
    known = {table: dict(getattr(session.project, table)) for table in LIVE}

    def changed(names: frozenset[str]) -> None:
        if names <= set(LIVE):
            panes = set()
            for table in names:
                was, now = known[table], getattr(session.project, table)
                panes |= {p for p in was.keys() | now.keys() if was.get(p) != now.get(p)}
                known[table] = dict(now)
            step_of(bench).repaint(sorted(panes))
            if "glass" in names:
                _soon(bench)
        else:
            _again(bench)

    bench.on_change = changed


def _soon(bench: Bench) -> None:
    """Count the films again once the hand rests."""
    bench.state["turn"] = turn = bench.state.get("turn", 0) + 1

    async def count() -> None:
        if bench.state["turn"] == turn:
            tally, told = await quietly(bench.session.tally())
            if bench.state["turn"] == turn:
                step_of(bench).tally = tally
                show_tally(bench, tally, told)

    with bench.body:
        ui.timer(1.5, count, once=True)


def _show(bench: Bench, step: GlassStep, told: str) -> None:
    head(
        "Glass",
        "Take a glass or a surface in hand and click panes, or choose panes first.",
        bench=bench,
        onward=True,
    )
    with tag("div", cls="two"):
        with tag("section", cls="side steady", aria_label="The window"):
            _views(bench, step)
            bench.state["stage"] = tag("div", cls="stage")
            _stage(bench, step)
        with tag("div", cls="side"):
            bench.state["in_hand"] = {}
            bench.state["rack"] = tag("div")
            show_palette(bench, step)
            show_surfaces(bench)
            with tag("section", cls="card", aria_labelledby="films"):
                tag("h2", "Films", id="films")
                bench.state["tally"] = tag("div", cls="side")
                show_tally(bench, step.tally, told)
            show_settings(bench)


def _stage(bench: Bench, step: GlassStep) -> None:
    stage = bench.state["stage"]
    stage.clear()
    stage.classes(replace="stage unlit" if step.view == "unlit" else "stage")
    with stage:
        tag("canvas", id="halo", aria_hidden="true")
        picture(
            window_svg(
                step.sketch,
                step.fills(step.base),
                step.labels(step.base),
                surfaces=step.surfaces(step.base),
                frame=step.frame,
                back=step.view == "back",
                ink=step.ink(),
            )
        )
    bench.client.run_javascript("setTimeout(bench.halo, 60)")
    if step.chosen:
        step.mark_chosen()


def _segment(
    label: str, options: Mapping[str, str], value: str, action: Any, names: dict[str, Any]
) -> None:
    with tag("div", cls="seg", role="group", aria_label=label):
        for key, words in options.items():
            one = tag("button", words, type="button", aria_pressed=str(key == value).lower())
            one.on("click", lambda _, k=key: action(k), args=[])
            names[key] = one


def _press(names: Mapping[str, Any], value: str) -> None:
    for key, element in names.items():
        element.props["aria-pressed"] = str(key == value).lower()
        element.update()


def _views(bench: Bench, step: GlassStep) -> None:
    views: dict[str, Any] = {}
    films: dict[str, Any] = {}

    def view(key: str) -> None:
        step.view = key
        _press(views, key)
        _stage(bench, step)
        say(f"shown: {VIEWS[key].lower()}" + (", on doubled films" if key == "by-hand" else ""))

    def count(key: str) -> None:
        step.films = int(key)
        _press(films, key)
        step.repaint()
        show_palette(bench, step)
        step.show_hand()
        say(f"shown through {counted(int(key), 'film')}")

    def bright(value: str) -> None:
        step.bright = min(4.0, max(0.1, float(value)))
        step.repaint()

    def tint(value: str) -> None:
        step.tinted = value == "true"
        step.repaint()

    with tag("div", cls="row"):
        _segment("View", VIEWS, step.view, view, views)
        _segment(
            "Films", {"1": "1 film", "2": "2 films", "3": "3 films"}, str(step.films), count, films
        )
    with tag("div", cls="row"):
        with tag("label", cls="field", style="min-width:11rem"):
            tag("span", "Brightness of the light")
            slider = tag(
                "input", type="range", min=0.2, max=2.5, step=0.05, defaultValue=step.bright
            )
        slider.on(
            "input",
            lambda event: bright(str(event.args)),
            js_handler="(e) => emit(e.target.value)",
            throttle=0.1,
        )
        with tag("label", cls="check"):
            box = tag("input", type="checkbox", id="tinted", checked=step.tinted)
            tag("span", "Colour of the light")
        button(
            "Let go",
            lambda: step_of(bench).let_go(),
            cls="quiet",
            id="let-go",
            title="Choose no pane and hold nothing (Escape)",
        )
        box.on(
            "change",
            lambda event: tint(str(event.args).lower()),
            js_handler="(e) => emit(e.target.checked)",
        )
