"""A window drawn from measures in the browser: live picture, faults in words, a project of it."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from glasswork.drawing.drawn import KINDS, draw
from glasswork.errors import PackError
from glasswork.web.crew import Crew, JobError
from glasswork.web.pages.draw import GROUPS
from glasswork.web.picture import drawn_svg
from glasswork.web.sketch import DrawnSketch
from tests.web.browser import Server, in_loop, needs_browser, shot


def drawn(kind: str, given: dict[str, str], *, limit_s: float = 20.0) -> DrawnSketch:
    """As the page asks for it: in a worker."""

    async def work() -> DrawnSketch:
        crew = Crew()
        try:
            made: DrawnSketch = await crew.run("draw_window", kind, given, limit_s=limit_s)
            return made
        finally:
            await crew.close()

    return in_loop(work())


def test_the_drawing_is_the_one_of_the_same_measures() -> None:
    made = drawn("rose", {"petals": "6", "diameter_mm": "8cm", "rings": "", "eye": "sexfoil"})
    assert made.svg == draw("rose", petals=6, diameter_mm=80.0, eye="sexfoil")
    assert made.said == "rose: petals 6, diameter 80, eye sexfoil"
    svg = drawn_svg(made)
    assert svg.count('fill="#') >= len(made.glass)
    assert "<script" not in svg


def test_every_fault_is_told_at_once_with_its_measure() -> None:
    with pytest.raises(JobError) as found:
        drawn("lancet", {"width_mm": "wide", "lights": "2.5", "bars": "99"})
    places = {one.where.rpartition(", ")[2] for one in found.value.each()}
    assert "width_mm" in places
    with pytest.raises(JobError) as found:
        drawn("lancet", {"lights": "2.5", "bars": "99", "lead_mm": "0.01"})
    assert {one.where.rpartition(", ")[2] for one in found.value.each()} == {
        "lights",
        "bars",
        "lead_mm",
    }
    assert str(found.value).count("\n") == 2


def test_a_window_without_end_is_stopped() -> None:
    huge = {"width_mm": "20000", "height_mm": "20000", "quarry_width_mm": "0.5"}
    with pytest.raises((PackError, JobError)):
        drawn("lancet", {**huge, "quarry_height_mm": "0.5"}, limit_s=3.0)


def test_every_measure_of_every_kind_has_its_group() -> None:
    grouped = {name for _, names in GROUPS for name in names}
    every = {setting.name for kind in KINDS.values() for setting in kind.settings}
    assert every == grouped


def opened(page: Any, server: Server) -> None:
    page.goto(server.address)
    page.click("#draw")
    page.wait_for_selector("svg.drawn")


def size_is(page: Any, text: str) -> None:
    page.wait_for_function("t => document.getElementById('draw-size')?.textContent == t", arg=text)


@needs_browser
def test_a_window_is_drawn_live_and_becomes_a_project(page: Any, server: Server) -> None:
    opened(page, server)
    size_is(page, "100.0 × 160.0 mm")
    page.fill("#draw-width_mm", "80")
    size_is(page, "80.0 × 160.0 mm")
    page.fill("#draw-height_mm", "15 cm")
    size_is(page, "80.0 × 150.0 mm")
    before = page.locator(".drawn .glazed path").count()
    page.select_option("#draw-pattern", "honeycomb")
    page.wait_for_function(
        "n => document.querySelectorAll('.drawn .glazed path').length != n", arg=before
    )
    shot(page, "start-draw")
    page.click("#draw-use")
    page.wait_for_selector("svg.drawing")
    assert "80.0 × 150.0 mm" in page.inner_text("#main")
    project = page.url.split("/")[-2]
    record = msgspec.json.decode((server.home / "projects" / project / "bench.json").read_bytes())
    present = record["history"]["present"]
    assert present["note"] == "drawn as lancet: width 80, height 150, pattern honeycomb"
    kept = server.home / "projects" / project / present["design"]
    assert kept.read_bytes() == draw("lancet", width_mm=80.0, height_mm=150.0, pattern="honeycomb")


@needs_browser
def test_the_list_shows_a_project_in_its_glass(page: Any, server: Server) -> None:
    opened(page, server)
    page.select_option("#draw-kind", "rose")
    size_is(page, "120.0 × 120.0 mm")
    page.click("#draw-use")
    page.wait_for_selector("svg.drawing")
    project = page.url.split("/")[-2]
    page.goto(page.url.rsplit("/", 1)[0] + "/glass")
    page.wait_for_selector("svg.window")
    page.click("[data-glass=ruby]")
    pane = page.get_attribute("[data-pane]", "data-pane")
    page.click(f"#p-{pane}")
    page.wait_for_function(
        "p => /ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    ruby = page.get_attribute(f"#p-{pane}", "fill")
    page.goto(server.address)
    page.wait_for_selector(f"img[src='/file/{project}/thumb.svg']")
    assert ruby in (server.home / "projects" / project / "thumb.svg").read_text()


@needs_browser
def test_what_does_not_fit_is_said_at_its_field(page: Any, server: Server) -> None:
    opened(page, server)
    page.fill("#draw-lights", "9")
    page.wait_for_selector("#draw-lights[aria-invalid=true]")
    assert "outside 1 to 4" in page.inner_text("#why-lights")
    page.wait_for_selector(".stage.stale")
    page.fill("#draw-width_mm", "wide")
    page.wait_for_selector("#draw-width_mm[aria-invalid=true]")
    shot(page, "start-draw-fault")
    page.click("#draw-use")
    page.wait_for_function("/mend/.test(document.getElementById('status').textContent)")
    assert page.url.rstrip("/") == server.address.rstrip("/")
    page.fill("#draw-width_mm", "")
    page.fill("#draw-lights", "2")
    page.wait_for_selector("#draw-lights[aria-invalid=false]")
    page.wait_for_function("!document.querySelector('.stage.stale')")
    assert page.inner_text("#why-lights") == "Openings side by side."


@needs_browser
def test_another_kind_keeps_the_measures_it_knows(page: Any, server: Server) -> None:
    opened(page, server)
    page.fill("#draw-lead_mm", "1.5")
    page.fill("#draw-lights", "2")
    page.select_option("#draw-kind", "rose")
    size_is(page, "120.0 × 120.0 mm")
    assert page.input_value("#draw-lead_mm") == "1.5"
    assert page.locator("#draw-lights").count() == 0
    page.select_option("#draw-scale", "1:12")
    page.fill("#draw-diameter_mm", "1.2 m")
    size_is(page, "100.0 × 100.0 mm")
