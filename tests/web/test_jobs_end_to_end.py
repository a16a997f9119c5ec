"""The whole job in a real browser."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

from tests.web.browser import (
    ROOT,
    Server,
    begin,
    fill_after,
    fill_of,
    needs_browser,
    panes_of,
    serving,
    shot,
)

pytestmark = needs_browser
RUBY = "[data-glass=ruby]"


def save_zip(page: Any, address: str) -> zipfile.ZipFile:
    """Make the pack and save it."""
    page.goto(f"{address}/pack")
    page.get_by_role("button", name="Make").click()
    with page.expect_download() as waiting:
        page.click("#save-zip")
    return zipfile.ZipFile(io.BytesIO(Path(waiting.value.path()).read_bytes()))


def test_from_a_sample_to_the_zip_and_the_command_line_makes_the_same(
    page: Any, server: Server, tmp_path: Path
) -> None:
    page.goto(server.address)
    page.wait_for_function(
        "[...document.querySelectorAll('[data-sample] img')].every("
        "i => { i.loading = 'eager'; return i.complete && i.naturalWidth; })"
    )
    shot(page, "start")
    address = begin(page, server)
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


def test_views_films_and_brightness_show_other_colours(page: Any, server: Server) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    pane = panes_of(page)[20]
    seen = {"lit": fill_of(page, pane)}
    last = seen["lit"]
    for view in ("By day", "From the back", "Printed by hand"):
        page.get_by_role("button", name=view).click()
        page.wait_for_selector(f".seg button[aria-pressed=true]:has-text('{view}')")
        seen[view] = last = fill_after(page, pane, last)
        shot(page, f"glass-{view.lower().replace(' ', '-')}", whole=False)
    assert seen["From the back"] == seen["lit"]
    assert len({seen["lit"], seen["By day"], seen["Printed by hand"]}) == 3
    page.get_by_role("button", name="Lit", exact=True).click()
    last = fill_after(page, pane, last)
    assert last == seen["lit"]
    for name in ("1 film", "3 films"):
        page.get_by_role("button", name=name).click()
        seen[name] = last = fill_after(page, pane, last)
    assert len({seen["lit"], seen["1 film"], seen["3 films"]}) == 3
    page.fill("input[type=range]", "0.5")
    dark = fill_after(page, pane, last)
    assert int(dark[1:3], 16) <= int(seen["3 films"][1:3], 16)
    assert dark != seen["3 films"]


def test_the_palette_is_seen_through_the_films_that_are_shown(page: Any, server: Server) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    swatch = "document.querySelector('[data-glass=cobalt] i').style.backgroundColor"
    two = page.evaluate(swatch)
    page.click("[data-glass=cobalt]")
    page.wait_for_selector("[data-glass=cobalt][aria-pressed=true]")
    page.get_by_role("button", name="1 film").click()
    page.wait_for_function(f"c => {swatch} != c", arg=two)
    page.wait_for_selector("[data-glass=cobalt][aria-pressed=true]")
    assert page.locator(".glass.out").count() > 0


def test_a_project_is_removed_when_it_is_said_twice(
    browser: Any, page: Any, server: Server
) -> None:
    address = begin(page, server, "kelp-rose")
    folder = server.home / "projects" / address.rsplit("/", 1)[1]
    other = browser.new_page()
    other.goto(f"{address}/glass")
    other.wait_for_selector("svg.window")
    page.goto(server.address)
    mine = page.locator("li", has=page.locator(f"a[href='/bench/{folder.name}/drawing']"))
    mine.get_by_role("button", name="Remove").click()
    mine.get_by_role("button", name="Keep").click()
    mine.get_by_role("button", name="Remove").click()
    mine.get_by_role("button", name="Remove").click()
    mine.wait_for(state="detached")
    assert not folder.exists()
    other.click("[data-glass=ruby]")
    other.locator("[data-pane]").first.dispatch_event("click")
    other.wait_for_function("/removed/.test(document.getElementById('status').textContent)")
    assert not folder.exists()
    other.close()


def put(page: Any, field: str, text: str) -> None:
    """Enter a text and leave the field."""
    page.fill(field, text)
    page.press(field, "Tab")


def test_the_frame_is_what_its_settings_say(page: Any, server: Server) -> None:
    address = begin(page, server, "salt-works")
    page.goto(f"{address}/frame")
    page.wait_for_selector("svg.exploded")
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
    address = begin(page, server)
    page.goto(f"{address}/frame")
    page.wait_for_selector("svg.exploded")
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


def test_undo_and_redo_by_button_and_key(page: Any, server: Server) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    pane = panes_of(page)[0]
    before = fill_of(page, pane)
    page.click(RUBY)
    page.click(f"#p-{pane}")
    wait = "([p, c, same]) => (document.getElementById('p-' + p).getAttribute('fill') == c) == same"
    page.wait_for_function(wait, arg=[pane, before, False])
    ruby = fill_of(page, pane)
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function(wait, arg=[pane, before, True])
    page.get_by_role("button", name="Redo").click()
    page.wait_for_function(wait, arg=[pane, ruby, True])
    page.keyboard.press("Control+z")
    page.wait_for_function(wait, arg=[pane, before, True])
    page.reload()
    page.wait_for_selector("svg.window")
    page.keyboard.press("Control+Shift+z")
    page.wait_for_function(wait, arg=[pane, ruby, True])


def test_several_panes_and_all_alike(page: Any, server: Server) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    first, second, *_ = panes_of(page)
    page.click(f"#p-{first}")
    page.click(f"#p-{second}", modifiers=["Shift"])
    page.wait_for_function(
        "document.querySelectorAll('[data-pane][aria-selected=true]').length == 2"
    )
    page.click(RUBY)
    page.wait_for_function(
        "ps => ps.every(p => /ruby/i.test(document.getElementById('p-' + p).ariaLabel))",
        arg=[first, second],
    )
    alike = page.locator("[data-pane][aria-label*='uby']").count()
    page.check("#alike")
    page.click(f"#p-{first}")
    page.wait_for_function(
        "document.querySelectorAll('[data-pane][aria-selected=true]').length > 1"
    )
    assert page.locator("[data-pane][aria-selected=true]").count() <= alike


def test_two_tabs_show_one_project(browser: Any, page: Any, server: Server) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    other = browser.new_page()
    other.goto(f"{address}/glass")
    other.wait_for_selector("svg.window")
    pane = panes_of(page)[3]
    page.click(RUBY)
    page.click(f"#p-{pane}")
    wait = "([p, c]) => document.getElementById('p-' + p).getAttribute('fill') == c"
    page.wait_for_function(
        "p => /ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    other.wait_for_function(wait, arg=[pane, fill_of(page, pane)])
    other.keyboard.press("Control+z")
    page.wait_for_function(
        "p => !/pilot-flag ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    other.wait_for_function(wait, arg=[pane, fill_of(page, pane)])
    other.close()


def test_killed_in_the_middle_nothing_is_lost(page: Any, tmp_path: Path) -> None:
    with serving(tmp_path / "home") as server:
        address = begin(page, server)
        page.goto(f"{address}/glass")
        page.wait_for_selector("svg.window")
        page.click(RUBY)
        chosen = panes_of(page)[:7]
        for pane in chosen:
            page.click(f"#p-{pane}")
        page.wait_for_function(
            "ps => ps.every(p => /pilot-flag/i.test(document.getElementById('p-' + p).ariaLabel))",
            arg=chosen,
        )
        page.goto(f"{address}/pack")
        page.get_by_role("button", name="Make").click()
        page.wait_for_selector("progress")
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
    address = begin(page, server)
    page.goto(f"{address}/pack")
    page.get_by_role("button", name="Make").click()
    page.get_by_role("button", name="Stop").click()
    page.wait_for_selector("text=stopped; nothing was written")
    folder = server.home / "projects" / address.rsplit("/", 1)[1]
    assert not (folder / "pack").exists()


def test_an_exported_project_comes_back_in(page: Any, server: Server, tmp_path: Path) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
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


def test_a_pane_several_and_all_alike_get_a_surface(page: Any, server: Server) -> None:
    address = begin(page, server)
    page.goto(f"{address}/glass")
    page.wait_for_selector("svg.window")
    first, second, *_ = panes_of(page)
    said = "([p, word]) => document.getElementById('p-' + p).ariaLabel.endsWith(', ' + word)"
    page.click("[data-surface=seedy]")
    page.wait_for_selector("[data-surface=seedy][aria-pressed=true]")
    page.click(f"#p-{first}")
    page.wait_for_function(said, arg=[first, "seedy"])
    assert "coat-seedy" in page.get_attribute(f"[data-coat={first}]", "fill")
    page.click("#let-go")
    page.wait_for_selector("[data-surface=seedy][aria-pressed=false]")
    page.click(f"#p-{first}")
    page.click(f"#p-{second}", modifiers=["Shift"])
    page.wait_for_function(
        "document.querySelectorAll('[data-pane][aria-selected=true]').length == 2"
    )
    page.click("[data-surface=hammered]")
    for pane in (first, second):
        page.wait_for_function(said, arg=[pane, "hammered"])
    page.click(RUBY)
    for pane in (first, second):
        page.wait_for_function(
            "p => /ruby, hammered/.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
        )
    page.keyboard.press("Escape")
    page.wait_for_function("!document.querySelector('[data-pane][aria-selected=true]')")
    page.check("#alike")
    page.click(f"#p-{first}")
    page.wait_for_function(
        "document.querySelectorAll('[data-pane][aria-selected=true]').length >= 2"
    )
    alike = page.locator("[data-pane][aria-label*='Pilot-flag ruby']").count()
    assert page.locator("[data-pane][aria-selected=true]").count() == alike
    page.click("[data-surface=streaky]")
    page.wait_for_function(
        "n => document.querySelectorAll('[data-coat][fill*=streaky]').length == n", arg=alike
    )
    page.click("#let-go")
    page.wait_for_function("!document.querySelector('[data-pane][aria-selected=true]')")
    page.evaluate("scrollTo(0, 0)")
    shot(page, "glass-surfaces", whole=False)
    page.keyboard.press("Control+z")
    page.wait_for_function(said, arg=[first, "hammered"])
    page.reload()
    page.wait_for_selector("svg.window")
    assert page.locator("[data-coat]").count() == 2
    project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
    assert f'{first} = "hammered"' in project.read_text()
    report = json.loads(save_zip(page, address).read("pack/report.json"))
    finishes = {pane["id"]: pane["finish"] for pane in report["panes"]}
    assert {p for p, finish in finishes.items() if finish == "hammered"} == {first, second}
    assert set(finishes.values()) == {"hammered", "clear"}
