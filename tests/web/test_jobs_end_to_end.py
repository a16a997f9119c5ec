"""The whole job in a real browser."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

from tests.web.browser import (
    ROOT,
    Server,
    begin_small,
    begin_to_make,
    fill_of,
    needs_browser,
    panes_of,
    save_zip,
    serving,
    shot,
)

pytestmark = needs_browser
RUBY = "[data-glass=ruby]"


def test_from_a_sample_to_the_zip_and_the_command_line_makes_the_same(
    page: Any, server: Server, tmp_path: Path
) -> None:
    page.goto(server.address)
    page.wait_for_function(
        "[...document.querySelectorAll('[data-sample] img')].every("
        "i => { i.loading = 'eager'; return i.complete && i.naturalWidth; })"
    )
    shot(page, "start")
    page.click("[data-sample=pilot-station]")
    page.wait_for_selector("svg.drawing")
    address = page.url.rsplit("/", 1)[0]
    shot(page, "drawing")
    page.goto(f"{address}/glass")
    page.click(RUBY)
    pane = panes_of(page)[5]
    before = fill_of(page, pane)
    page.click(f"#p-{pane}")
    page.wait_for_function(
        "([p, c]) => document.getElementById('p-' + p).getAttribute('fill') != c",
        arg=[pane, before],
    )
    shot(page, "glass", whole=False)
    for step, sign in (("frame", "svg.exploded"), ("printer", "#set-printer")):
        page.goto(f"{address}/{step}")
        page.wait_for_selector(sign)
        shot(page, step)
    archive = save_zip(page, address)
    page.wait_for_selector("text=checks hold")
    shot(page, "pack")
    archive.extractall(tmp_path / "out")
    made = json.loads((tmp_path / "out/pack/report.json").read_text())
    assert next(p for p in made["panes"] if p["id"] == pane)["glass"] == "ruby"
    assert all(check["ok"] for check in made["verified"])

    subprocess.run(
        [sys.executable, "-m", "glasswork", "compose", "--project", "project.toml", "-o", "again"],
        cwd=tmp_path / "out",
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": "1700000000"},
        capture_output=True,
    )
    first, second = tmp_path / "out/pack", tmp_path / "out/again"
    names = {p.relative_to(first).as_posix() for p in first.rglob("*") if p.is_file()}
    assert names == {p.relative_to(second).as_posix() for p in second.rglob("*") if p.is_file()}
    for name in names - {"report.json"}:
        assert (first / name).read_bytes() == (second / name).read_bytes(), name
    again = json.loads((second / "report.json").read_text())
    assert {**made, "timings_s": 0} == {**again, "timings_s": 0}


def test_an_own_drawing_with_a_fault_is_repaired_coloured_and_composed(
    page: Any, server: Server, faulty: Path
) -> None:
    page.goto(server.address)
    page.set_input_files("#up-drawing", faulty)
    page.wait_for_selector("svg.drawing")
    assert page.locator(".findings .warning, .findings .decision").count() >= 1
    assert page.locator(".pin").count() >= 1
    before = page.locator(".paper-panes path").count()
    shot(page, "drawing-fault")
    page.get_by_role("button", name="Show a repair").click()
    page.wait_for_selector("text=after:")
    shot(page, "drawing-repair")
    page.get_by_role("button", name="Take the repaired drawing").click()
    page.wait_for_function(
        "n => document.querySelectorAll('svg.drawing .paper-panes path').length > n", arg=before
    )
    address = page.url.rsplit("/", 1)[0]
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    assert len(panes_of(page)) == before + 1 == 5
    page.click("[data-glass=cobalt]")
    for pane in panes_of(page):
        page.click(f"#p-{pane}")
    page.wait_for_function(
        "[...document.querySelectorAll('[data-pane]')].every("
        "p => /obalt/.test(p.getAttribute('aria-label')))"
    )
    report = json.loads(save_zip(page, address).read("pack/report.json"))
    assert {pane["glass"] for pane in report["panes"]} == {"cobalt"}


def test_a_project_is_removed_when_it_is_said_twice(
    browser: Any, page: Any, server: Server
) -> None:
    address = begin_small(page, server)
    folder = server.home / "projects" / address.rsplit("/", 1)[1]
    other = browser.new_page()
    other.goto(f"{address}/glass")
    other.wait_for_selector("svg.window")
    page.bring_to_front()  # a tab behind another draws no frames, and waits for each
    page.goto(server.address)
    mine = page.locator("li", has=page.locator(f"a[href='/bench/{folder.name}/drawing']"))
    mine.get_by_role("button", name="Remove Small window", exact=True).click()
    mine.get_by_role("button", name="Keep").click()
    mine.get_by_role("button", name="Remove Small window", exact=True).click()
    mine.get_by_role("button", name="for good").click()
    mine.wait_for(state="detached")
    assert not folder.exists()
    other.bring_to_front()
    other.click("[data-glass=ruby]")
    other.locator("[data-pane]").first.dispatch_event("click")
    other.wait_for_function("/removed/.test(document.getElementById('status').textContent)")
    assert not folder.exists()
    other.close()


def test_two_tabs_show_one_project(browser: Any, page: Any, server: Server) -> None:
    address = begin_small(page, server, step="glass")
    other = browser.new_page()
    other.goto(f"{address}/glass")
    other.wait_for_selector("svg.window")
    pane = panes_of(page)[3]
    page.bring_to_front()
    page.click(RUBY)
    page.click(f"#p-{pane}")
    wait = "([p, c]) => document.getElementById('p-' + p).getAttribute('fill') == c"
    page.wait_for_function(
        "p => /ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    other.bring_to_front()
    other.wait_for_function(wait, arg=[pane, fill_of(page, pane)])
    other.keyboard.press("Control+z")
    page.bring_to_front()
    page.wait_for_function(
        "p => !/pilot-flag ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    other.bring_to_front()
    other.wait_for_function(wait, arg=[pane, fill_of(page, pane)])
    other.close()


def test_killed_in_the_middle_nothing_is_lost(page: Any, tmp_path: Path) -> None:
    with serving(tmp_path / "home") as server:
        address = begin_small(page, server, step="glass")
        page.click(RUBY)
        chosen = panes_of(page)[:7]
        for pane in chosen:
            page.click(f"#p-{pane}")
        page.wait_for_function(
            "ps => ps.every(p => /pilot-flag/i.test(document.getElementById('p-' + p).ariaLabel))",
            arg=chosen,
        )
        page.goto(f"{address}/pack")
        with server.held():
            begin_to_make(page, server)
            server.kill()
        server.start()
        folder = next((tmp_path / "home" / "projects").glob("[0-9a-f]*"))
        assert not (folder / "pack").exists()
        page.get_by_role("button", name="Make the pack").wait_for()  # the tab comes back by itself
        page.goto(f"{address}/glass")
        page.wait_for_selector("svg.window")
        for pane in chosen:
            label = page.get_attribute(f"#p-{pane}", "aria-label")
            assert "Pilot-flag ruby" in label
        page.keyboard.press("Control+z")
        page.wait_for_function(
            "p => !/pilot-flag ruby/i.test(document.getElementById('p-' + p).ariaLabel)",
            arg=chosen[-1],
        )
        assert zipfile.ZipFile.namelist(save_zip(page, address))


def test_a_pack_in_the_making_is_stopped(page: Any, server: Server) -> None:
    """Its workers are held still, so that it cannot be done before the click."""
    address = begin_small(page, server, step="pack")
    with server.held():
        begin_to_make(page, server)
        page.get_by_role("button", name="Stop").click()
        page.wait_for_selector("text=stopped; nothing was written")
    folder = server.home / "projects" / address.rsplit("/", 1)[1]
    assert not (folder / "pack").exists()


def test_the_button_to_stop_stays_the_same_from_stage_to_stage(page: Any, server: Server) -> None:
    """A click on one that is drawn anew with a stage would go nowhere."""
    begin_small(page, server, step="pack")
    with server.held():
        begin_to_make(page, server)
        page.wait_for_selector("text=Now: waiting for a worker")
        stop = page.get_by_role("button", name="Stop").element_handle()
        while page.locator("text=Now: waiting for a worker").count():
            server.signal_workers(signal.SIGCONT)
            page.wait_for_timeout(50)
            server.signal_workers(signal.SIGSTOP)
            page.wait_for_timeout(500)  # the page looks for another stage four times a second
        assert page.locator("progress").get_attribute("value") != "0"
        stop.click()
        page.wait_for_selector("text=stopped; nothing was written")


def test_an_exported_project_comes_back_in(page: Any, server: Server, tmp_path: Path) -> None:
    address = begin_small(page, server, step="glass")
    page.click(RUBY)
    pane = panes_of(page)[2]
    page.click(f"#p-{pane}")
    page.wait_for_function(
        "p => /pilot-flag ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    page.goto(f"{address}/pack")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Save the project").click()
    file = tmp_path / "project.zip"
    waiting.value.save_as(file)
    page.goto(server.address)
    page.get_by_text("Bring in a project").click()
    page.set_input_files("#up-project", file)
    page.wait_for_selector("svg.drawing")
    fresh = page.url.rsplit("/", 1)[0]
    assert fresh != address
    page.goto(f"{fresh}/glass")
    page.wait_for_selector("svg.window")
    assert "Pilot-flag ruby" in page.get_attribute(f"#p-{pane}", "aria-label")
