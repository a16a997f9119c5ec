"""Pack: made in a worker, watched stage by stage, looked at, saved as one file."""

from __future__ import annotations

from typing import Final

import msgspec
from nicegui import ui

from glasswork.model.report import Report
from glasswork.web.pages.making import show_making
from glasswork.web.pages.shell import Bench, head
from glasswork.web.parts import button, fault, link, tag

STAGES = (
    "drawing",
    "window",
    "glass",
    "films",
    "frame",
    "light",
    "surfaces",
    "sheets",
    "files",
    "guide",
    "previews",
    "verify",
    "writing",
    "pictures of the pages",
)


async def build(bench: Bench) -> None:
    """Fill the step's place."""
    bench.body.clear()
    with bench.body:
        head(
            "Pack",
            "Film prints, cut files, previews and the guide: made, measured from outside, and "
            "saved as one file.",
        )
        bench.state["work"] = tag("div", cls="side")
        with tag("div", cls="halves"):
            show_making(bench)
        bench.state["result"] = tag("div", cls="side")
        ui.timer(0.25, lambda: _watch(bench))
    _work(bench)
    await _result(bench)
    bench.on_change = lambda _names: _work(bench)


def _busy(bench: Bench) -> bool:
    task = bench.session.packing.task
    return task is not None and not task.done()


def _work(bench: Bench) -> None:
    packing = bench.session.packing
    if _busy(bench) and bench.state.get("making") is packing:
        bench.state["advance"]()
        return
    bench.state["making"] = packing if _busy(bench) else None
    place = bench.state["work"]
    place.clear()
    with place, tag("section", cls="card", aria_labelledby="make"):
        tag("h2", "Make the pack", id="make")
        if _busy(bench):
            _progress(bench)
            return
        if packing.fault:
            fault(packing.fault)
        made = (bench.session.folder / "pack" / "report.json").is_file()
        if made and packing.of is not None and packing.of != bench.session.project:
            tag("p", "The project has changed since this pack was made.", cls="soft")
        with tag("div", cls="row"):
            button(
                "Make it again" if made else "Make the pack",
                lambda: _begin(bench),
                cls="" if made else "main",
            )
            if made:
                link(
                    "Save as one ZIP",
                    f"/file/{bench.session.record.id}/pack.zip",
                    cls="btn main",
                    download=True,
                    id="save-zip",
                )
            link(
                "Save the project",
                f"/file/{bench.session.record.id}/export",
                cls="btn quiet",
                download=True,
            )


def _progress(bench: Bench) -> None:
    """The stages and the button to stop, which stays the same one from stage to stage.

    A click that comes as a stage begins would be lost if the button were drawn anew with it.
    """
    packing = bench.session.packing
    line = tag("p", role="status")
    bar = tag("progress", max=len(STAGES), value=0, aria_label="Progress of the pack")
    with tag("ol", cls="stages", aria_hidden="true"):
        marks = {stage: tag("li", stage) for stage in STAGES}
    button("Stop", bench.session.cancel_pack)

    def advance() -> None:
        line.set_text(f"Now: {packing.stage}")
        bar.props["value"] = STAGES.index(packing.stage) + 1 if packing.stage in STAGES else 0
        for stage, mark in marks.items():
            past = stage in packing.stages and stage != packing.stage
            mark.classes(replace="now" if stage == packing.stage else "past" if past else "")

    advance()
    bench.state["advance"] = advance


def _begin(bench: Bench) -> None:
    bench.session.start_pack()
    _work(bench)


async def _watch(bench: Bench) -> None:
    """Show a new stage when there is one, and the result when it is there."""
    packing = bench.session.packing
    seen = (packing.stage, _busy(bench))
    if bench.state.get("seen", seen) != seen:
        _work(bench)
        if not _busy(bench):
            await _result(bench)
    bench.state["seen"] = seen


async def _result(bench: Bench) -> None:
    """What the pack holds, and what was measured of it."""
    place = bench.state["result"]
    place.clear()
    folder = bench.session.folder / "pack"
    if _busy(bench) or not (folder / "report.json").is_file():
        return
    await bench.session.picture_pages()
    report = msgspec.json.decode((folder / "report.json").read_bytes(), type=Report)
    with place:
        _last_word(report)
        _pictures(bench, report)
        _verified(report)


def _last_word(report: Report) -> None:
    area = sum(pane.area_mm2 for pane in report.panes)
    mean = sum(pane.delta_e00 * pane.area_mm2 for pane in report.panes) / area
    out = sum(not pane.in_reach for pane in report.panes)
    made = [member.made for member in report.members]
    rows = [
        (
            "Panel",
            "{:.1f} × {:.1f} mm, {:.2f} mm thick".format(*report.size_mm, report.thickness_mm),
        ),
        ("Films", f"{report.films.count}{', all alike' if report.films.identical else ''}"),
        ("Panes", f"{len(report.panes)}, {out} out of reach"),
        ("Colour", f"mean ΔE00 {mean:.2f} by area"),
        ("Leading", f"{made.count('cut')} members cut, {made.count('printed')} printed"),
        ("Cover", f"least {report.registration.min_cover_mm:.2f} mm"),
    ]
    with tag("section", cls="card", aria_labelledby="word"):
        tag("h2", "What was made", id="word")
        with tag("table"), tag("tbody"):
            for name, text in rows:
                with tag("tr"):
                    tag("th", name, scope="row")
                    tag("td", text)
        decisions = [f for f in report.findings if f.severity == "decision"]
        if decisions:
            with tag("ul", cls="findings"):
                for finding in decisions:
                    with tag("li", cls="decision"):
                        tag("strong", "Decide: ")
                        tag("span", f"{finding.where}: {finding.what}")
        with tag("details"):
            tag("summary", "Before you cut, spray or wire")
            with tag("ul"):
                for caution in report.cautions:
                    tag("li", caution)


def _pictures(bench: Bench, report: Report) -> None:
    project = bench.session.record.id
    stamp = abs(hash(tuple(report.files_sha256.values()))) % 10**8
    with tag("section", cls="card", aria_labelledby="pages"):
        tag("h2", "Everything in it", id="pages")
        with tag("ul", cls="thumbs"):
            for name in sorted(report.files_sha256, key=_order):
                if name.endswith((".png", ".svg")):
                    look = f"/pack/{project}/{name}?look={name.endswith('.svg')}&of={stamp}"
                    dark = name.startswith("preview")
                    _thumb(f"/pack/{project}/{name}", look, name, dark=dark)
                elif name.endswith(".pdf"):
                    kind = name.removesuffix(".pdf")
                    pages = [one for one in bench.session.thumbs if one.split("-")[1] == kind]
                    for number, page in enumerate(pages, start=1):
                        look = f"/file/{project}/{page}.png?{stamp}"
                        title = f"{name}, page {number}"
                        _thumb(f"/pack/{project}/{name}", look, title, dark=False)


ORDER: Final = ("preview-lit", "preview", "films.pdf", "frames/", "films", "template", "guide")


def _order(name: str) -> tuple[int, str]:
    """The files as they are looked at: pictures first, then prints, cuts and papers."""
    rank = next((i for i, start in enumerate(ORDER) if name.startswith(start)), len(ORDER))
    return rank, name


def _thumb(href: str, source: str, name: str, *, dark: bool) -> None:
    with tag("li"), tag("figure"):
        with link("", href, download=True, aria_label=f"Save {name}"):
            tag("img", src=source, alt="", loading="lazy", cls="dark" if dark else None)
        tag("figcaption", name)


def _verified(report: Report) -> None:
    good = sum(check.ok for check in report.verified)
    with tag("section", cls="card", aria_labelledby="verified"):
        tag(
            "h2",
            f"Measured from outside: {good} of {len(report.verified)} checks hold",
            id="verified",
        )
        with (
            tag("div", cls="scroll", tabindex="0", role="region", aria_label="Table of checks"),
            tag("table"),
        ):
            with tag("thead"), tag("tr"):
                for name in ("check", "promised", "measured", "limit", ""):
                    tag("th", name or "verdict", scope="col")
            with tag("tbody"):
                for check in report.verified:
                    with tag("tr", cls=None if check.ok else "off"):
                        for text in (check.check, check.promised, check.measured, check.limit):
                            tag("td", text)
                        tag("td", "holds" if check.ok else "OFF")
