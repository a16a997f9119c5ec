"""The side of the Glass step: glasses, surfaces, films, and what they are seen by."""

from __future__ import annotations

from functools import partial

from glasswork.model.finish import FINISHES
from glasswork.web.pages.glazing import AS_ALL, GlassStep
from glasswork.web.pages.shell import Bench
from glasswork.web.pages.shelves import titled
from glasswork.web.parts import button, choice, entry, tag, upload
from glasswork.web.picture import hex_of
from glasswork.web.sketch import GlassRow, Look, Tally
from glasswork.web.state import Patch


def step_of(bench: Bench) -> GlassStep:
    """The step as this tab has it now."""
    step: GlassStep = bench.state["step"]
    return step


def show_palette(bench: Bench, step: GlassStep) -> None:
    """The glasses as they look through this stack, those out of reach marked."""
    rack = bench.state["rack"]
    rack.clear()
    with rack, tag("section", cls="card", aria_labelledby="palette"):
        tag("h2", step.shelf.palette, id="palette")
        with tag("label", cls="check"):
            box = tag("input", type="checkbox", id="alike", checked=step.alike)
            tag("span", "All panes of the same glass together")

        def alike(value: str) -> None:
            step_of(bench).alike = value == "true"

        box.on(
            "change",
            lambda event: alike(str(event.args).lower()),
            js_handler="(e) => emit(e.target.checked)",
        )
        looks = step.shelf.looks[step.films]
        with tag("ul", cls="palette", tabindex="0", aria_label="Glasses"):
            for row in step.shelf.glasses:
                with tag("li"):
                    _glass(bench, row, looks[row.id])
        tag(
            "p",
            "≠ out of reach: left, the nearest that can be printed; right, what is wished.",
            cls="soft",
        )
        button("Back to the drawing’s own glass", lambda: _own(bench), cls="quiet")


def _glass(bench: Bench, row: GlassRow, look: Look) -> None:
    about = f"{row.title}; {look.sentence}"
    if not look.in_reach:
        about += f"; out of reach by ΔE00 {look.delta_e00:.1f}: shown is the nearest"
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
    one.on("click", lambda _: step_of(bench).take("glass", row.id), args=[])
    bench.state["in_hand"]["glass", row.id] = one


def show_surfaces(bench: Bench) -> None:
    """Surfaces to be given to panes, as glasses are."""
    with tag("section", cls="card", aria_labelledby="surfaces"):
        tag("h2", "Surfaces", id="surfaces")
        tag("p", "For a pane, for several, or for all of the same glass.", cls="soft")
        with tag("ul", cls="palette surfaces", aria_label="Surfaces"):
            for word in (AS_ALL, *FINISHES):
                with tag("li"):
                    _surface(bench, word)


def _surface(bench: Bench, word: str) -> None:
    title = "as for all" if word == AS_ALL else word
    one = tag(
        "button",
        type="button",
        cls="glass",
        data_surface=word,
        aria_pressed="false",
        aria_label=f"surface {title}",
    )
    with one:
        look = None if word in (AS_ALL, "clear") else f"background-image:url(/surface/{word}.png)"
        tag("i", cls="none" if word == AS_ALL else "lit", style=look)
        tag("span", title)
    one.on("click", lambda _: step_of(bench).take("surface", word), args=[])
    bench.state["in_hand"]["surface", word] = one


def _own(bench: Bench) -> None:
    step = step_of(bench)
    step.lay(step.chosen or set(bench.session.project.glass), "glass", None)
    step.chosen = set()
    step.show_chosen()


def show_tally(bench: Bench, tally: Tally | None, told: str) -> None:
    """How many films the chosen glasses need, and what could stand in for those out of reach."""
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
            titles = step_of(bench).titles
            button(
                f"{titles.get(other, other)} in place of {titles.get(glass, glass)}",
                partial(_swap, bench, glass, other),
            )


def _swap(bench: Bench, glass: str, other: str) -> None:
    step = step_of(bench)
    step.lay([pane for pane in step.base if step.glass_of(pane) == glass], "glass", other)


def show_settings(bench: Bench) -> None:
    """Palette, light, films and surface: they belong to the project."""
    project = bench.session.project
    put = bench.setting

    with tag("section", cls="card", aria_labelledby="stack"):
        tag("h2", "Light, films, palette", id="stack")
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
            "Surface for all panes",
            {"palette": "each glass its own", **{name: name for name in FINISHES}},
            project.finish,
            put("finish"),
            id="set-finish",
        )
        choice(
            "Films",
            {"": "all alike", "yes": "each its own where that comes nearer"},
            "yes" if project.films_differ else "",
            lambda value: put("films_differ")(bool(value)),
            id="set-films-differ",
        )
        with tag("div", cls="fields"):
            for key, name in (
                ("matting", "Darkened along the leads, 0 to 1"),
                ("stipple", "Broken up, 0 to 1"),
                ("seed", "Cut of the surfaces, a number"),
            ):
                entry(name, f"{getattr(project, key):g}", put(key), id=f"set-{key}")
        _photo(bench)


def _photo(bench: Bench) -> None:
    """A picture laid under the drawing."""
    session = bench.session
    now = session.project.photo
    with tag("details", open=bool(now)):
        tag("summary", "Colours from a picture")
        tag(
            "p",
            "A photo or painting is laid under the drawing; each pane that you gave no glass "
            "takes the nearest to what lies there.",
            cls="soft",
        )
        if now:
            tag("p", f"Now: {now.rsplit('/', 1)[-1]}", id="photo-now")
            button(
                "Without the picture",
                lambda: bench.tell(
                    lambda: session.change(Patch(values={"photo": ""}), label="no picture")
                ),
                cls="quiet",
            )
        with tag("div", cls="drop"):
            upload(
                "PNG or JPEG in colour",
                "photo",
                f"/up/{session.record.id}/photo",
                accept=".png,.jpg,.jpeg",
            )
