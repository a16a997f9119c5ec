"""A pane click to the new picture at 400 panes, measured in the browser.

Goal: median at most 150 ms, 95th percentile at most 400 ms. From the click's own event to the
frame that shows the new colour (two animation frames after it was set). Beside it the browser's
own floor: the same colour set by a script of the page, no server asked.
"""

from __future__ import annotations

import statistics
from pathlib import Path

from tests.bench.designs import synthetic_window_svg
from tests.web.browser import browsing, needs_browser, panes_of, serving

pytestmark = needs_browser

CLICK = """([pane]) => new Promise(done => {
  const shape = document.getElementById('p-' + pane);
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - begun)));
  });
  seen.observe(shape, {attributes: true, attributeFilter: ['fill']});
  const begun = performance.now();
  shape.dispatchEvent(new MouseEvent('click', {bubbles: true}));
})"""

FLOOR = """([pane]) => new Promise(done => {
  const begun = performance.now();
  document.getElementById('p-' + pane).setAttribute('fill', '#' +
    Math.floor(Math.random() * 0xffffff).toString(16).padStart(6, '0'));
  requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - begun)));
})"""


def test_click_to_picture(benchmark, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    drawing = tmp_path / "quarries.svg"
    drawing.write_bytes(synthetic_window_svg(400, "strokes", 1))
    with serving(tmp_path / "home") as server, browsing() as context:
        page = context.new_page()
        page.goto(server.address)
        page.set_input_files("#up-drawing", drawing)
        page.wait_for_selector("svg.drawing")
        page.goto(page.url.rsplit("/", 1)[0] + "/glass")
        page.wait_for_selector("svg.window")
        panes = panes_of(page)
        assert len(panes) >= 390
        page.wait_for_timeout(2000)
        times: list[float] = []
        for glass in ("ruby", "cobalt"):
            page.click(f"[data-glass={glass}]")
            page.wait_for_selector(f"[data-glass={glass}][aria-pressed=true]")
            times += [page.evaluate(CLICK, [pane]) for pane in panes[40:140]]
        floor = [page.evaluate(FLOOR, [pane]) for pane in panes[200:260]]
        rest = iter(panes[140:])
        page.click("[data-glass=clear]")
        benchmark.pedantic(lambda: page.evaluate(CLICK, [next(rest)]), rounds=30)
    median, p95 = statistics.median(times), statistics.quantiles(times, n=20)[-1]
    least = statistics.median(floor)
    print(
        f"\n{len(panes)} panes, {len(times)} clicks: median {median:.0f} ms, p95 {p95:.0f} ms; "
        f"the browser alone {least:.0f} ms, ratio {median / least:.1f}"
    )
    assert median <= 150.0
    assert p95 <= 400.0


ENTRY = """([id, text]) => new Promise(done => {
  const stage = document.querySelector('.stage.drawn');
  const field = document.getElementById(id);
  const seen = new MutationObserver(() => {
    if (!document.querySelector('svg.drawn')?.getAttribute('aria-label').includes(text)) return;
    seen.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - begun)));
  });
  seen.observe(stage, {childList: true, subtree: true, attributes: true});
  const begun = performance.now();
  field.value = text;
  field.dispatchEvent(new Event('input', {bubbles: true}));
})"""


def test_a_measure_to_the_picture(benchmark, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """A measure entered to the window drawn anew: goal 300 ms at the median."""
    with serving(tmp_path / "home") as server, browsing() as context:
        page = context.new_page()
        page.goto(server.address)
        page.click("#draw")
        page.wait_for_selector("svg.drawn")
        told = []
        for kind in ("lancet", "four-centred", "rose"):
            page.select_option("#draw-kind", kind)
            field = "draw-diameter_mm" if kind == "rose" else "draw-width_mm"
            page.wait_for_selector(f"#{field}")
            page.wait_for_timeout(600)
            sizes = [f"{70 + i}.5" for i in range(30)]
            times = [page.evaluate(ENTRY, [field, size]) for size in sizes]
            told.append((kind, statistics.median(times), statistics.quantiles(times, n=20)[-1]))
        rest = (f"{120 + i}.5" for i in range(10))
        benchmark.pedantic(lambda: page.evaluate(ENTRY, ["draw-diameter_mm", next(rest)]), rounds=8)
    for kind, median, p95 in told:
        print(f"\n{kind}: median {median:.0f} ms, p95 {p95:.0f} ms", end="")
        assert median <= 300.0


def test_open_the_glass_step(benchmark, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """From the address to the window, 400 panes, everything worked out before."""
    drawing = tmp_path / "quarries.svg"
    drawing.write_bytes(synthetic_window_svg(400, "strokes", 1))
    with serving(tmp_path / "home") as server, browsing() as context:
        page = context.new_page()
        page.goto(server.address)
        page.set_input_files("#up-drawing", drawing)
        page.wait_for_selector("svg.drawing")
        address = page.url.rsplit("/", 1)[0] + "/glass"

        def opened() -> None:
            page.goto(address)
            page.wait_for_selector("svg.window")

        opened()
        benchmark.pedantic(opened, rounds=5)
