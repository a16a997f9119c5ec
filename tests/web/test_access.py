"""The page by keys alone, by axe-core, and as wide as a phone.

axe-core 4 comes with axe-playwright-python (MPL-2.0, for tests only).
"""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest

from tests.web.browser import (
    SIGNS,
    Server,
    begin,
    begin_small,
    begin_to_make,
    fill_of,
    needs_browser,
    panes_of,
    shot,
)

pytestmark = needs_browser


def serious(page: Any) -> list[str]:
    """What axe-core finds serious or critical."""
    pytest.importorskip("axe_playwright_python")
    page.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8"))
    found = page.evaluate("async () => (await axe.run()).violations")
    return [
        f"{one['id']}: {node['html'][:160]}: {node['failureSummary'][:300]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def test_axe_finds_nothing_serious_on_any_page(page: Any, server: Server) -> None:
    address = begin_small(page, server, step="pack")
    with server.held():
        begin_to_make(page, server)
        assert serious(page) == []
    page.wait_for_selector("#save-zip")
    assert serious(page) == []
    for step in ("printer", "frame", "glass"):
        page.goto(f"{address}/{step}")
        page.wait_for_selector(SIGNS[step])
        assert serious(page) == [], step
    page.get_by_role("button", name="By day").click()
    page.wait_for_selector(".stage.unlit")
    assert serious(page) == []
    begin(page, server)  # of the small window there is nothing to repair
    assert serious(page) == []
    page.locator("[data-member]").first.dispatch_event("click")
    page.wait_for_selector("#member-made")
    page.get_by_role("button", name="Show a repair").click()
    page.wait_for_selector("#repair")
    assert serious(page) == []


def test_axe_finds_nothing_serious_on_the_start_page(page: Any, server: Server) -> None:
    server.clear()
    begin_small(page, server)
    page.goto(server.address)
    page.wait_for_selector("[data-sample]")
    page.get_by_role("button", name="Remove Small window").first.click()
    page.get_by_role("alert").wait_for()
    assert serious(page) == []
    page.click("#draw")
    page.wait_for_selector("svg.drawn")
    page.fill("#draw-lights", "9")
    page.wait_for_selector("#draw-lights[aria-invalid=true]")
    assert serious(page) == []


def test_axe_does_find_a_fault_that_is_there(page: Any, server: Server) -> None:
    page.goto(server.address)
    page.evaluate(
        "document.body.append(Object.assign(new Image(), {src: '/sample/kelp-rose.svg'}))"
    )
    assert any(text.startswith("image-alt") for text in serious(page))


def tab_to(page: Any, selector: str) -> None:
    """Press Tab until the element has the focus."""
    for _ in range(140):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement?.matches(s) ?? false", selector):
            return
    raise AssertionError(f"{selector} is not reached by Tab")


def test_from_sample_to_pack_by_keys_alone(page: Any, server: Server) -> None:
    server.clear()
    page.goto(server.address)
    page.wait_for_selector("[data-sample]")
    tab_to(page, "[data-sample=salt-works]")
    page.keyboard.press("Enter")
    page.wait_for_selector("svg.drawing")
    tab_to(page, "[data-member]")
    page.keyboard.press("Enter")
    page.wait_for_selector("#member-made")
    tab_to(page, "a.btn.main")
    page.keyboard.press("Enter")
    page.wait_for_selector("svg.window")
    tab_to(page, "[data-glass=ruby]")
    page.keyboard.press("Space")
    page.wait_for_selector("[data-glass=ruby][aria-pressed=true]")
    page.reload()
    page.wait_for_selector("svg.window")
    tab_to(page, "[data-pane]")
    first = page.evaluate("document.activeElement.dataset.pane")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    pane = page.evaluate("document.activeElement.dataset.pane")
    assert pane != first
    before = fill_of(page, pane)
    page.keyboard.press("Enter")
    page.wait_for_selector(f"#p-{pane}[aria-selected=true]")
    tab_to(page, "[data-glass=ruby]")
    page.keyboard.press("Enter")
    page.wait_for_function(
        "p => /pilot-flag ruby/i.test(document.getElementById('p-' + p).ariaLabel)", arg=pane
    )
    assert fill_of(page, pane) != before
    page.wait_for_function("/ruby/i.test(document.getElementById('status').textContent)")
    for sign in ("#set-printer", "svg.exploded", "text=Make the pack"):
        tab_to(page, "a.btn.main")
        page.keyboard.press("Enter")
        page.wait_for_selector(sign)
    tab_to(page, "button.btn.main")
    page.keyboard.press("Enter")
    page.wait_for_selector("#save-zip")
    tab_to(page, "#save-zip")
    with page.expect_download() as waiting:
        page.keyboard.press("Enter")
    assert waiting.value.suggested_filename == "Salt-works.zip"


def test_a_window_is_drawn_by_keys_alone(page: Any, server: Server) -> None:
    server.clear()
    page.goto(server.address)
    tab_to(page, "#draw")
    page.keyboard.press("Enter")
    page.wait_for_selector("svg.drawn")
    tab_to(page, "#draw-kind")
    page.keyboard.type("wheel")
    page.wait_for_selector("svg.drawn[aria-label^='Wheel']")
    tab_to(page, "#draw-petals")
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    page.wait_for_selector("svg.drawing")
    assert "wheel: petals 12" in next(
        text
        for path in (server.home / "projects").glob("*/project.toml")
        if "wheel" in (text := path.read_text())
    )


def test_every_page_fits_a_phone(browser: Any, server: Server) -> None:
    tab = browser.new_page()
    tab.set_viewport_size({"width": 390, "height": 844})
    tab.goto(server.address)
    tab.click("#draw")
    tab.wait_for_selector("svg.drawn")
    assert tab.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    shot(tab, "phone-start")
    address = begin(tab, server)
    for step in ("drawing", "glass", "frame", "printer"):
        if step != "drawing":
            tab.goto(f"{address}/{step}")
            tab.wait_for_selector(SIGNS[step])
        over = tab.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 0, step
        shot(tab, f"phone-{step}")
    box = tab.locator("#up-strip").bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 390
    tab.close()


def test_panes_say_their_glass(page: Any, server: Server) -> None:
    begin(page, server, step="glass")
    labels = [page.get_attribute(f"#p-{pane}", "aria-label") for pane in panes_of(page)]
    assert len(labels) == 68
    assert all("," in label for label in labels)
