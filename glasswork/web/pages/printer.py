"""Printer: a profile from the shelf, or one of the maker's own, read off a printed strip."""

from __future__ import annotations

from functools import partial
from typing import Any

from nicegui import ui

from glasswork.cli.kit import load_printer
from glasswork.model.words import counted
from glasswork.web.pages import by_eye, drift
from glasswork.web.pages.drift import READINGS
from glasswork.web.pages.shell import Bench, head, profile_made, save
from glasswork.web.pages.shelves import titled
from glasswork.web.parts import button, choice, entry, fault, findings_list, say, tag, upload
from glasswork.web.state import Patch


async def build(bench: Bench) -> None:
    """Fill the step's place."""
    ui.on("sent", lambda _: refresh(bench))
    await bench.session.calibration.read_again()
    refresh(bench)
    bench.on_change = lambda names: refresh(bench) if names & {"printer", "page", "light"} else None


def refresh(bench: Bench) -> None:
    """Show the profile in use and the way to an own one."""
    bench.body.clear()
    with bench.body:
        head(
            "Printer",
            "Colours come right only with the printer, ink and film as they are. Print a strip, "
            "photograph it on the lit panel, and have a profile made.",
            bench=bench,
            onward=True,
        )
        with tag("div", cls="two"):
            with tag("div", cls="side"):
                _strip(bench)
                _read(bench)
                bench.state["fitted"] = tag("div")
                _fitted(bench)
                bench.state["by-eye"] = tag("div")
                by_eye.show(bench)
            with tag("div", cls="side"):
                _in_use(bench)
                drift.show(bench)
    bench.run("bench.refocus")


def _in_use(bench: Bench) -> None:
    project = bench.session.project

    def put(value: str) -> None:
        bench.tell(
            lambda: bench.session.change(Patch(values={"printer": value}), label=f"printer {value}")
        )

    with tag("section", cls="card", aria_labelledby="in-use"):
        tag("h2", "In use", id="in-use")
        own = {
            f"profiles/{p.name}": f"{p.stem} (made here)"
            for p in sorted((bench.session.folder / "profiles").glob("*.toml"))
        }
        choice(
            "Printer, ink and film",
            {**titled("printers", project.printer), **own},
            project.printer,
            put,
            id="set-printer",
        )
        choice(
            "Page",
            titled("pages", project.page),
            project.page,
            lambda v: bench.tell(
                lambda: bench.session.change(Patch(values={"page": v}), label=f"page {v}")
            ),
            id="set-page",
        )
        try:
            profile = load_printer(project.printer, beside=bench.session.folder)
        except Exception as found:
            fault(str(found))
            return
        if profile.invented:
            tag("p", "These values are invented: a start, not a measurement of your printer.")
        facts = (
            ("title", profile.title),
            ("source", profile.source or "not told"),
            ("ink limit", f"{100 * profile.ink_limit:.0f} %"),
            ("film", f"{profile.film_thickness_mm:g} mm thick"),
            ("measured as", "spectra" if profile.bands == "spectral" else "camera colours"),
        )
        with tag("table"), tag("tbody"):
            for name, value in facts:
                with tag("tr"):
                    tag("th", name, scope="row")
                    tag("td", value)
        tag(
            "p",
            "For other programs: ICC profiles of one, two and three films before the light of "
            "this project.",
            cls="soft",
        )
        button("Save ICC profiles", partial(_save_icc, bench))


async def _save_icc(bench: Bench) -> None:
    session = bench.session
    say("working out the profiles; this takes some seconds")
    await save(
        session.calibration.icc(session.project),
        "icc-profiles.zip",
        "application/zip",
        said="the ICC profiles were saved by your browser",
    )


def _strip(bench: Bench) -> None:
    with tag("section", cls="card", aria_labelledby="strip"):
        tag("h2", "1  Print the strip", id="strip")
        tag(
            "p",
            "On the film you will use, at 100 %, with the same settings, colour correction off. "
            "Let it dry overnight.",
            cls="soft",
        )
        copies = {"1": "one film", "2": "two copies, to lie on each other", "3": "three copies"}
        state = bench.state
        state.setdefault("copies", "1")
        choice(
            "Copies", copies, state["copies"], lambda v: state.update(copies=v), id="strip-copies"
        )

        async def make() -> None:
            session = bench.session
            work = session.calibration.sheet(
                state["copies"], session.project.page, session.record.title
            )
            await save(
                work, "strip.pdf", "application/pdf", said="the strip was saved by your browser"
            )

        button("Save the strip", make, cls="main")


def _read(bench: Bench) -> None:
    with tag("section", cls="card", aria_labelledby="photo"):
        tag("h2", "2  Photograph it", id="photo")
        tag(
            "p",
            "Film on the lit panel, room dark, whole block in the picture. Lock exposure and white "
            "balance on the bare film, a little darker than white. Readings of an instrument (CSV "
            "or CGATS) are taken too.",
            cls="soft",
        )
        with tag("div", cls="drop"):
            with tag("label", cls="field"):
                tag("span", "How many films lie on each other in the photo")
                with tag("select", id="strip-films", name="films"):
                    for number in ("1", "2", "3"):
                        tag("option", number, value=number)
            upload(
                "Photo or readings, up to 48 MiB",
                "strip",
                f"/up/{bench.session.record.id}/strip",
                accept=READINGS,
                with_="strip-films",
            )
        reads = bench.session.calibration.reads
        for read in sorted(reads, key=lambda one: one.films):
            many = counted(read.films, "film")
            with tag("div", cls="side"):
                tag("h3", f"Read of {many}: {read.patches} patches")
                for note in read.notes:
                    tag("p", note, cls="soft")
                if read.doubtful:
                    with tag("details"):
                        tag(
                            "summary",
                            counted(len(read.doubtful), "doubtful patch", "doubtful patches"),
                        )
                        with tag("ul"):
                            for patch, what in read.doubtful[:60]:
                                tag("li", f"{patch}: {what}")
                if read.marked:
                    tag(
                        "img",
                        cls="plot",
                        src=f"/file/{bench.session.record.id}/read-{read.films}.png?{id(read)}",
                        alt=f"The photo of {many} with the patches that were read marked",
                    )
                button("Leave this one out and try again", partial(_drop, bench, read), cls="quiet")
        if reads:
            button("Save the readings (CGATS text)", partial(_save_cgats, bench))


async def _save_cgats(bench: Bench) -> None:
    session = bench.session
    await save(
        session.calibration.cgats(session.record.title),
        "readings.txt",
        "text/plain",
        said="the readings were saved by your browser",
    )


def _drop(bench: Bench, read: Any) -> None:
    bench.session.calibration.drop_strip(read.films)
    refresh(bench)


def _fitted(bench: Bench) -> None:
    place = bench.state["fitted"]
    place.clear()
    session = bench.session
    with place, tag("section", cls="card", aria_labelledby="fit"):
        tag("h2", "3  Make the profile", id="fit")
        if not session.calibration.reads:
            tag("p", "Needs a reading first.", cls="soft")
            return
        state = bench.state
        state.setdefault("profile", "My printer")
        entry(
            "What you call it",
            state["profile"],
            lambda v: state.update(profile=v),
            id="profile-name",
        )

        async def make() -> None:
            say("fitting; this takes a while")
            work = session.calibration.fit(state["profile"], session.project)
            await profile_made(bench, work, _fitted, place="fitted")

        button("Fit a profile to the readings", make, cls="main")
        made = session.calibration.fitted
        if made is None:
            return
        mean = made.errors[0][1]
        words = (
            "very near: hardly anyone would see the difference"
            if mean < 1.0
            else "good for print"
            if mean < 2.0
            else "usable; a sharper, evener photo would be better"
            if mean < 4.0
            else "poor: read the notes and try again"
        )
        tag("p", f"How well it foretells patches it was not shown: {words} (mean ΔE00 {mean:.2f}).")
        with tag("table"):
            with tag("thead"), tag("tr"):
                for name in ("what", "mean ΔE00", "95 % under"):
                    tag("th", name, scope="col")
            with tag("tbody"):
                for what, average, p95 in made.errors:
                    with tag("tr"):
                        tag("td", what)
                        tag("td", f"{average:.2f}")
                        tag("td", f"{p95:.2f}")
        findings_list(made.findings, empty="Nothing doubtful was found.")
        tag(
            "img",
            cls="plot",
            src=f"/file/{session.record.id}/plots.png?{id(made)}",
            alt="Plots of the profile: tone curves, errors and reach",
        )
        with tag("div", cls="row"):
            button("Use this profile", partial(bench.take_profile, made), cls="main")
            button("Try again", lambda: _again(bench), cls="quiet")


def _again(bench: Bench) -> None:
    bench.session.calibration.fitted = None
    for films in (1, 2, 3):
        bench.session.calibration.drop_strip(films)
    refresh(bench)
