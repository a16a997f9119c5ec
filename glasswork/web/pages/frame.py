"""Frame: what it drops into, what it is cut from, where it is weak."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from glasswork.model.words import counted
from glasswork.web.pages.frame_settings import FrameSettings
from glasswork.web.pages.shell import Bench, head, refused
from glasswork.web.parts import findings_list, picture, tag
from glasswork.web.picture import hex_of
from glasswork.web.picture_frame import exploded_svg, places_svg, section_svg, sheet_svg
from glasswork.web.session import quietly
from glasswork.web.sketch import FrameSketch, Shelf, Sketch


async def build(bench: Bench) -> None:
    """Fill the step's place."""
    bench.on_change = lambda _names: _again(bench)
    await refresh(bench)


def _again(bench: Bench) -> None:
    with bench.body:
        ui.timer(0.01, lambda: refresh(bench), once=True)


async def refresh(bench: Bench) -> None:
    """Plan the frame and show it."""
    session, newest = bench.session, bench.turn()
    sketch, text = await quietly(session.sketch())
    usable = sketch is not None and sketch.usable
    frame, worse = await quietly(session.frame()) if usable else (None, "")
    shelf, _ = await quietly(session.shelf()) if usable else (None, "")
    if not newest():
        return
    bench.body.clear()
    with bench.body:
        head(
            "Frame",
            "The leading as board: how it fits, where it is weak, how it is cut.",
            bench=bench,
            onward=frame is not None,
        )
        with tag("div", cls="two flip"):
            with tag("div", cls="side"):
                FrameSettings(bench).show()
                if frame is not None:
                    _layers(frame)
            with tag("div", cls="side"):
                if frame is None or sketch is None:
                    refused(text or worse or "The drawing does not make a window yet.", bench)
                else:
                    _show(session, sketch, frame, shelf)
    bench.run("bench.refocus")


def _show(session: Any, sketch: Sketch, frame: FrameSketch, shelf: Shelf | None) -> None:
    fills = dict.fromkeys((pane.id for pane in sketch.panes), "#c9b48a")
    if shelf is not None:
        looks = shelf.looks[frame.films]
        for pane in sketch.panes:
            look = looks.get(session.project.glass.get(pane.id, pane.glass))
            if look is not None:
                fills[pane.id] = hex_of(look.lit)
    with tag("section", cls="card", aria_labelledby="apart"):
        tag("h2", "The layers pulled apart", id="apart")
        picture(exploded_svg(sketch, frame, fills))
    with tag("section", cls="card", aria_labelledby="depth"):
        tag("h2", f"{frame.thickness_mm:.2f} mm thick", id="depth")
        picture(section_svg(frame))
        if frame.recess_mm is not None and frame.spare_mm is not None:
            spare = frame.spare_mm
            tag(
                "p",
                f"Recess {frame.recess_mm:g} mm: "
                + (f"{spare:.2f} mm to spare." if spare >= 0 else f"{-spare:.2f} mm too thick."),
                cls="calm" if spare >= 0 else "off",
            )
        with tag("details"):
            tag("summary", "Layer by layer, front to back")
            with tag("table"), tag("tbody"):
                for name, mm in frame.stack:
                    with tag("tr"):
                        tag("td", name)
                        tag("td", f"{mm:g} mm")
    with tag("section", cls="card", aria_labelledby="places"):
        tag("h2", "Weak and exposed places", id="places")
        picture(places_svg(sketch, frame))
        with tag("ul", cls="legend", aria_label="Colours of the picture"):
            for kind, name in (
                ("weak", "weak: narrow, pointed or slender board"),
                ("exposed", "exposed: too little cover"),
                ("printed", "printed on the film"),
                *((("opening", "edge of the opening"),) if frame.opening else ()),
            ):
                with tag("li"):
                    tag("i", cls=kind)
                    tag("span", name)
        tag(
            "p",
            f"{len(frame.weak)} weak, {len(frame.exposed)} exposed. Least cover "
            f"{frame.cover_mm:.2f} mm; films and frame may differ by {frame.rss_mm:.2f} mm in all "
            f"likelihood, {frame.worst_mm:.2f} mm at worst.",
        )
        if frame.weak or frame.exposed:
            with tag("details"):
                tag("summary", "The list")
                with tag("ul"):
                    for (x, y), what in (*frame.weak, *frame.exposed)[:80]:
                        tag("li", f"at {x:.1f}, {y:.1f} mm: {what}")
    with tag("section", cls="card", aria_labelledby="sheets"):
        tag("h2", "Sheets for the cutter", id="sheets")
        with tag("div", cls="sheets"):
            for sheet in frame.sheets:
                with tag("figure", style="margin:0"):
                    picture(sheet_svg(sheet))
                    tag(
                        "figcaption",
                        f"Sheet {sheet.number}, {sheet.board}: "
                        f"{counted(len(sheet.parts), 'part')}, "
                        f"{100 * sheet.used:.0f} % used",
                        cls="soft",
                    )
    with tag("section", cls="card", aria_labelledby="remarks"):
        tag("h2", "Remarks", id="remarks")
        findings_list(frame.findings, empty="Nothing stands in the way.")


def _layers(frame: FrameSketch) -> None:
    with tag("section", cls="card", aria_labelledby="layers"):
        tag("h2", "Layers", id="layers")
        cut = sum(how == "cut" for how, _ in frame.made.values())
        tag("p", f"{cut} members cut, {len(frame.made) - cut} printed.")
        with tag("table"):
            with tag("thead"), tag("tr"):
                for name in ("layer", "board", "pieces", "narrowest"):
                    tag("th", name, scope="col")
            with tag("tbody"):
                for layer in frame.layers:
                    with tag("tr"):
                        tag("td", layer.file.rsplit("/", 1)[-1])
                        tag("td", f"{layer.board}, {layer.thickness_mm:g} mm")
                        tag("td", str(layer.pieces))
                        tag("td", f"{layer.min_web_mm:.2f} mm")
