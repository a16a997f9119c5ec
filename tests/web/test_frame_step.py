"""Members, frame and opening in a real browser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.web.browser import (
    Server,
    begin,
    begin_small,
    needs_browser,
    save_zip,
    shot,
)

pytestmark = needs_browser


def test_a_member_is_printed_and_its_role_changed_by_choosing_it(page: Any, server: Server) -> None:
    address = begin(page, server)
    page.locator(".member.border").first.dispatch_event("click")
    page.select_option("#member-made", "printed")
    page.wait_for_selector(".member.border.printed")
    member = page.locator(".member.lead").first.get_attribute("data-member")
    others = page.locator(".member.lead").count()
    page.locator(f"#m-{member}").dispatch_event("click")
    page.wait_for_selector(f"h2:text-is('Lead {member}')")
    page.focus("#member-own-role")
    page.select_option("#member-own-role", "bar")
    page.wait_for_selector(f"#m-{member}.bar.chosen")
    assert page.locator(".member.bar:not(.printed), .member.bar.printed").count() >= 1
    assert page.locator(".member.lead").count() == others - 1
    page.wait_for_selector(f"h2:text-is('Bar {member}')")
    page.wait_for_selector("#member-own-role:focus")
    shot(page, "drawing-member")
    label = page.locator("label:has(#member-role) span").inner_text()
    assert "drawn like it" in label
    page.select_option("#member-role", "mullion")
    page.wait_for_function(
        "n => document.querySelectorAll('.member.lead').length < n - 1", arg=others
    )
    assert "bar" in page.get_attribute(f"#m-{member}", "class")
    project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
    assert f'[member_roles]\n{member} = "bar"' in project.read_text()
    page.keyboard.press("Escape")
    page.locator("h1").click()
    for _ in range(2):
        page.keyboard.press("Control+z")
    page.wait_for_selector(f"#m-{member}.lead")


def put(page: Any, field: str, text: str) -> None:
    """Enter a text and leave the field."""
    page.fill(field, text)
    page.press(field, "Tab")


def test_the_frame_is_what_its_settings_say(page: Any, server: Server) -> None:
    address = begin_small(page, server, step="frame")
    page.select_option("#set-outer-board", "chipboard-1")
    page.wait_for_selector("td:text-is('chipboard-1, 1 mm')")
    put(page, "#set-step", "0.7")
    page.wait_for_function("document.getElementById('set-step')?.value == '0.7'")
    put(page, "#set-rebate", "1.5")
    page.check("#set-jig")
    page.wait_for_selector("td:has-text('jig')")
    page.select_option("#set-layer-mullion", "inner")
    page.wait_for_function("document.getElementById('set-layer-mullion')?.value == 'inner'")
    put(page, "#set-width-bar", "3mm")
    put(page, "#set-recess", "9")
    page.wait_for_selector("text=Recess 9 mm:")
    page.wait_for_function("document.getElementById('set-recess')?.value == '9'")
    shot(page, "frame-settings")
    put(page, "#set-step", "wide")
    page.wait_for_function("/wide/.test(document.getElementById('status').textContent)")
    project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
    text = project.read_text()
    for line in (
        'outer_board = "chipboard-1"',
        "step = 0.7",
        "rebate = 1.5",
        "jig = true",
        "recess = 9.0",
        '[layers]\nmullion = "inner"',
        "[widths]\nbar = 3.0",
    ):
        assert line in text
    report = json.loads(save_zip(page, address).read("pack/report.json"))
    made = {one["file"]: one for one in report["frames"]}
    assert made["frames/front-outer.svg"]["board"] == "chipboard-1"
    assert any("jig" in name for name in made)
    assert all(check["ok"] for check in report["verified"])


def test_a_drawn_opening_is_taken_and_left_again(page: Any, server: Server, tmp_path: Path) -> None:
    hole = tmp_path / "niche.svg"
    hole.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="120mm" '
        'viewBox="0 0 80 120"><path d="M1 119V41A39 39 0 0 1 79 41V119Z"/></svg>'
    )
    bad = tmp_path / "open.svg"
    bad.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="120mm" '
        'viewBox="0 0 80 120"><path d="M1 119V41" stroke="#000"/></svg>'
    )
    address = begin(page, server, step="frame")
    before = page.inner_text("#depth")
    page.get_by_text("It is no rectangle").click()
    page.set_input_files("#up-opening", bad)
    page.wait_for_function(
        "/closed outline/.test(document.getElementById('said-opening').textContent)"
    )
    page.set_input_files("#up-opening", hole)
    page.wait_for_selector("#drawn-opening")
    page.wait_for_selector("path.opening")
    assert page.inner_text("#depth") == before
    project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
    assert 'niche.svg"' in project.read_text()
    report = json.loads(save_zip(page, address).read("pack/report.json"))
    assert report["size_mm"][0] <= 78.0
    page.goto(f"{address}/frame")
    page.get_by_role("button", name="Give width and height instead").click()
    page.wait_for_selector("#set-opening-w")
    assert "opening_drawing" not in project.read_text()
