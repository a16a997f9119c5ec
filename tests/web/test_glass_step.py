"""The Glass step in a real browser: glass, surfaces, views, undo."""

from __future__ import annotations

import json
import re
from typing import Any

from tests.web.browser import (
    Server,
    begin,
    begin_small,
    fill_after,
    fill_of,
    needs_browser,
    panes_of,
    save_zip,
    shot,
)

pytestmark = needs_browser
RUBY = "[data-glass=ruby]"


def test_views_films_and_brightness_show_other_colours(page: Any, server: Server) -> None:
    begin(page, server, step="glass")
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
    begin(page, server, step="glass")
    swatch = "document.querySelector('[data-glass=cobalt] i').style.backgroundColor"
    two = page.evaluate(swatch)
    page.click("[data-glass=cobalt]")
    page.wait_for_selector("[data-glass=cobalt][aria-pressed=true]")
    page.get_by_role("button", name="1 film").click()
    page.wait_for_function(f"c => {swatch} != c", arg=two)
    page.wait_for_selector("[data-glass=cobalt][aria-pressed=true]")
    assert page.locator(".glass.out").count() > 0


def test_undo_and_redo_by_button_and_key(page: Any, server: Server) -> None:
    begin_small(page, server, step="glass")
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
    begin(page, server, step="glass")
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


def test_printed_leads_are_grey_on_one_film(page: Any, server: Server) -> None:
    begin_small(page, server, step="glass")
    lead = page.locator(".leading path[fill='var(--ink)']").first
    brightness = {}
    for films in ("1", "2", "3"):
        page.get_by_role("button", name=f"{films} film").click()
        page.wait_for_function(
            "n => /through/.test(document.getElementById('status').textContent) "
            "&& document.getElementById('status').textContent.includes(n + ' film')",
            arg=films,
        )
        seen = lead.evaluate("e => getComputedStyle(e).fill")
        brightness[films] = sum(int(v) for v in re.findall(r"\d+", seen)[:3]) / 3
    assert brightness["1"] > 60 > 30 > brightness["2"] >= brightness["3"]


def test_a_pane_several_and_all_alike_get_a_surface(page: Any, server: Server) -> None:
    address = begin_small(page, server, step="glass")
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
