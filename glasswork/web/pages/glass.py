"""Glass: panes get their glass; the picture answers at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import partial
from typing import Any, Final

from nicegui import ui

from glasswork.cli import shelf as profiles
from glasswork.model.finish import FINISHES
from glasswork.web.pages.shell import Bench, head, onward, refused
from glasswork.web.parts import button, choice, picture, say, tag
from glasswork.web.picture import hex_of, seen, window_svg
from glasswork.web.session import quietly
from glasswork.web.sketch import FrameSketch, Shelf, Sketch, Tally
from glasswork.web.state import Patch

VIEWS: Final = {
    "lit": "Lit",
    "unlit": "By day",
    "back": "From the back",
    "by-hand": "Printed by hand",
}
LIVE: Final = frozenset({"glass"})


class GlassStep:
    """One tab on this step: what it holds in hand, what it has chosen, how it looks."""

    def __init__(
        self, bench: Bench, sketch: Sketch, shelf: Shelf, tally: Tally | None, frame: Any
    ) -> None:
        self.bench = bench
        self.sketch = sketch
        self.shelf = shelf
        self.tally = tally
        self.frame: FrameSketch | None = frame
        self.view = "lit"
        self.films = tally.count if tally else 2
        self.bright = 1.0
        self.tinted = False
        self.alike = False
        self.hand: str | None = None
        self.chosen: set[str] = set()
        self.base = {pane.id: pane.glass for pane in sketch.panes}
        self.titles = {row.id: row.title for row in shelf.glasses}

    def glass_of(self, pane: str) -> str:
        """The glass of a pane, chosen or given by the drawing."""
        return self.bench.session.project.glass.get(pane, self.base[pane])

    def colour(self, glass: str) -> str:
        """How a glass looks in the view that is shown."""
        films = 2 if self.view == "by-hand" and self.films < 2 else self.films
        look = self.shelf.looks[films].get(glass)
        if look is None:
            return "#777777"
        lit = self.view != "unlit"
        return hex_of(
            seen(look, self.view),
            bright=self.bright if lit else 1.0,
            tint=self.shelf.tint if lit and self.tinted else (1.0, 1.0, 1.0),
        )

    def fills(self, panes: Iterable[str]) -> dict[str, str]:
        """Colours of panes, each glass looked up once."""
        known: dict[str, str] = {}
        found = {}
        for pane in panes:
            glass = self.glass_of(pane)
            if glass not in known:
                known[glass] = self.colour(glass)
            found[pane] = known[glass]
        return found

    def labels(self, panes: Iterable[str]) -> dict[str, str]:
        """What a screen reader says of panes."""
        return {
            pane: f"pane {pane}, {self.titles.get(self.glass_of(pane), self.glass_of(pane))}"
            for pane in panes
        }

    # ---------------------------------------------------------------------------- what is done

    def pane(self, pane: str, *, more: bool) -> None:
        """A pane was clicked."""
        if pane not in self.base:
            return
        panes = self._alike(pane) if self.alike else {pane}
        if self.hand is not None:
            self.lay(panes, self.hand)
            return
        if more or self.alike:
            self.chosen = self.chosen ^ panes if more else panes
        else:
            self.chosen = set() if self.chosen == panes else panes
        self._show_chosen()

    def _alike(self, pane: str) -> set[str]:
        glass = self.glass_of(pane)
        return {other for other in self.base if self.glass_of(other) == glass}

    def lay(self, panes: Iterable[str], glass: str | None) -> None:
        """Give panes a glass; every tab is told by the session."""
        chosen = sorted(panes)
        if chosen and self.bench.tell(lambda: self.bench.session.glaze(chosen, glass)):
            many = f"{len(chosen)} panes" if len(chosen) > 1 else f"pane {chosen[0]}"
            say(f"{self.titles.get(glass or '', 'the drawing’s own glass')} for {many}")

    def take(self, glass: str | None) -> None:
        """A glass of the palette was clicked: for the chosen panes, else into the hand."""
        if self.chosen:
            panes, self.chosen = self.chosen, set()
            self.lay(panes, glass)
            self._show_chosen()
            return
        self.hand = None if self.hand == glass else glass
        self._show_hand()
        say(
            f"{self.titles[self.hand]} in hand: choose panes"
            if self.hand
            else "nothing in hand: choose panes first"
        )

    def _show_chosen(self) -> None:
        self.bench.run("bench.select", "p", sorted(self.chosen))
        if self.chosen:
            say(f"{len(self.chosen)} chosen; now choose a glass")

    def _show_hand(self) -> None:
        for glass, element in self.bench.state["glasses"].items():
            element.props["aria-pressed"] = str(glass == self.hand).lower()
            element.update()

    def repaint(self, panes: Iterable[str] | None = None) -> None:
        """Send the colours of panes, all of them if none are named."""
        which = list(self.base) if panes is None else [p for p in panes if p in self.base]
        self.bench.run("bench.fill", self.fills(which), self.labels(which))


async def build(bench: Bench) -> None:
    """Fill the step's place."""
    await refresh(bench)


async def refresh(bench: Bench) -> None:
    """Work out what is needed and show it."""
    session = bench.session
    sketch, text = await quietly(session.sketch())
    if sketch is not None and not sketch.usable:
        sketch, text = None, "The drawing does not make a window yet."
    shelf, worse = await quietly(session.shelf()) if sketch else (None, "")
    if sketch is None or shelf is None:
        bench.body.clear()
        with bench.body:
            head("Glass", "")
            refused(text or worse, bench)
            _settings(bench)
        return
    tally, told = await quietly(session.tally())
    frame, _ = await quietly(session.frame())
    old: GlassStep | None = bench.state.get("step")
    step = GlassStep(bench, sketch, shelf, tally, frame)
    if old is not None:
        step.view, step.films = old.view, old.films
        step.bright, step.tinted = old.bright, old.tinted
    first = "step" not in bench.state
    bench.state["step"] = step
    bench.body.clear()
    with bench.body:
        _show(bench, step, told)
        if first:
            ui.on("pane", lambda e: _now(bench).pane(str(e.args["id"]), more=bool(e.args["more"])))
    known = dict(session.project.glass)

    def changed(names: frozenset[str]) -> None:
        nonlocal known
        if names <= LIVE:
            now = session.project.glass
            panes = [p for p in known.keys() | now.keys() if known.get(p) != now.get(p)]
            known = dict(now)
            _now(bench).repaint(panes)
            _soon(bench)
        else:
            ui.timer(0.01, lambda: refresh(bench), once=True)

    bench.on_change = changed


def _now(bench: Bench) -> GlassStep:
    step: GlassStep = bench.state["step"]
    return step


def _soon(bench: Bench) -> None:
    """Count the films again once the hand rests."""
    bench.state["turn"] = turn = bench.state.get("turn", 0) + 1

    async def count() -> None:
        if bench.state["turn"] == turn:
            tally, told = await quietly(bench.session.tally())
            if bench.state["turn"] == turn:
                _now(bench).tally = tally
                _show_tally(bench, tally, told)

    with bench.body:
        ui.timer(1.5, count, once=True)


def _show(bench: Bench, step: GlassStep, told: str) -> None:
    head(
        "Glass",
        "Take a glass in hand and click panes, or choose panes first and then a glass.",
    )
    with tag("div", cls="two"):
        with tag("section", cls="side", aria_label="The window"):
            _views(bench, step)
            bench.state["stage"] = tag("div", cls="stage")
            _stage(bench, step)
        with tag("div", cls="side"):
            _palette(bench, step)
            with tag("section", cls="card", aria_labelledby="films"):
                tag("h2", "Films", id="films")
                bench.state["tally"] = tag("div", cls="side")
                _show_tally(bench, step.tally, told)
            _settings(bench)
            onward(bench)


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
                frame=step.frame,
                back=step.view == "back",
            )
        )
    bench.client.run_javascript("setTimeout(bench.halo, 60)")


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
        say(f"shown through {key} film{'s' if key != '1' else ''}")

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
        button("Undo", bench.undo, cls="quiet")
        button("Redo", bench.redo, cls="quiet")
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
            box = tag("input", type="checkbox", id="tinted")
            tag("span", "Colour of the light")
        box.on(
            "change",
            lambda event: tint(str(event.args).lower()),
            js_handler="(e) => emit(e.target.checked)",
        )


def _palette(bench: Bench, step: GlassStep) -> None:
    looks = step.shelf.looks[step.films]
    with tag("section", cls="card", aria_labelledby="palette"):
        tag("h2", step.shelf.palette, id="palette")
        with tag("label", cls="check"):
            box = tag("input", type="checkbox", id="alike")
            tag("span", "All panes of the same glass together")

        def alike(value: str) -> None:
            _now(bench).alike = value == "true"

        box.on(
            "change",
            lambda event: alike(str(event.args).lower()),
            js_handler="(e) => emit(e.target.checked)",
        )
        bench.state["glasses"] = {}
        with tag("ul", cls="palette", tabindex="0", aria_label="Glasses"):
            for row in step.shelf.glasses:
                look = looks[row.id]
                about = f"{row.title}; {look.sentence}"
                if not look.in_reach:
                    about += f"; out of reach by ΔE00 {look.delta_e00:.1f}: shown is the nearest"
                with tag("li"):
                    one = tag(
                        "button",
                        type="button",
                        cls="glass" if look.in_reach else "glass out",
                        title=about,
                        data_glass=row.id,
                        aria_pressed="false",
                        aria_label=about,
                    )
                    with one:
                        with tag("i", style=f"background:{hex_of(look.lit)}"):
                            tag("b", style=f"background:{row.wanted}")
                        tag("span", row.title)
                    one.on("click", lambda _, g=row.id: _now(bench).take(g), args=[])
                    bench.state["glasses"][row.id] = one
        tag(
            "p",
            "≠ out of reach: left, the nearest that can be printed; right, what is wished.",
            cls="soft",
        )
        button("Back to the drawing's own glass", lambda: _own(bench), cls="quiet")


def _own(bench: Bench) -> None:
    step = _now(bench)
    step.lay(step.chosen or set(bench.session.project.glass), None)
    step.chosen = set()
    step._show_chosen()


def _show_tally(bench: Bench, tally: Tally | None, told: str) -> None:
    place = bench.state["tally"]
    place.clear()
    with place:
        if tally is None:
            tag("p", told, cls="soft")
            return
        with tag("table"):
            with tag("thead"), tag("tr"):
                for name in ("films", "mean ΔE00", "of the glass within 3"):
                    tag("th", name, scope="col")
            with tag("tbody"):
                for count, mean, within in tally.table:
                    with tag("tr", cls="now" if count == tally.count else None):
                        tag("td", f"{count}{' · chosen' if count == tally.count else ''}")
                        tag("td", f"{mean:.2f}")
                        tag("td", f"{100 * within:.0f} %")
        for finding in tally.findings:
            tag("p", f"{finding.where}: {finding.what}. {finding.hint}", cls="soft")
        for glass, other in tally.instead.items():
            titles = _now(bench).titles
            button(
                f"{titles.get(other, other)} in place of {titles.get(glass, glass)}",
                partial(_swap, bench, glass, other),
            )


def _swap(bench: Bench, glass: str, other: str) -> None:
    step = _now(bench)
    step.lay([pane for pane in step.base if step.glass_of(pane) == glass], other)


def _settings(bench: Bench) -> None:
    """Palette, light, films and finish: they belong to the project."""
    project = bench.session.project

    def put(key: str) -> Any:
        return lambda value: bench.tell(
            lambda: bench.session.change(Patch(values={key: value}), label=f"{key} {value}")
        )

    with tag("section", cls="card", aria_labelledby="stack"):
        tag("h2", "Light, films, surface", id="stack")
        choice(
            "Light behind the panel",
            titled("lights", project.light),
            project.light,
            put("light"),
            id="set-light",
        )
        choice(
            "Films printed",
            {"auto": "as few as serve", "1": "1", "2": "2", "3": "3"},
            str(project.films),
            lambda v: put("films")(v if v == "auto" else int(v)),
            id="set-films",
        )
        choice(
            "Palette",
            titled("palettes", project.palette),
            project.palette,
            put("palette"),
            id="set-palette",
        )
        choice(
            "Surface of the glass in the print",
            {"palette": "each glass its own", **{name: name for name in FINISHES}},
            project.finish,
            put("finish"),
            id="set-finish",
        )


def titled(kind: str, now: str) -> dict[str, str]:
    """Names on the shelf with their titles, and the one in use."""
    import tomllib

    found = {}
    for name in profiles.names(kind):
        facts = tomllib.loads(profiles.find(kind, name).read_text("utf-8"))
        found[name] = str(facts.get("title", name)) + (
            " (invented)" if facts.get("invented") else ""
        )
    if now not in found:
        found[now] = now.rsplit("/", 1)[-1].removesuffix(".toml")
    return found
