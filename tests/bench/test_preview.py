"""Previews and glass pictures, timed beside cairosvg in one run.

Goals: the plain fill at most 0.3 of cairosvg for the same 400 panes at 1600 px; the whole lit
preview of 400 panes under 0.4 s on an idle machine of two cores.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from glasswork.colour.finish.glaze import Glazing, glaze
from glasswork.colour.finish.pictures import film_pictures, lit_picture
from glasswork.colour.glazing import choose_glass
from glasswork.colour.separate import separate
from glasswork.drawing.make import make_window
from glasswork.drawing.neighbours import colour_groups
from glasswork.framing.plan import plan_frame
from glasswork.model.film import Separation
from glasswork.model.finish import FinishSettings
from glasswork.model.frame import FramePlan
from glasswork.model.window import Sizing, Window
from glasswork.readers.board import read_board
from glasswork.readers.cutter import read_cutter
from glasswork.readers.light import read_light
from glasswork.readers.palette import read_palette
from glasswork.readers.printer import read_printer
from glasswork.readers.svg import read_svg
from glasswork.writers.png import RowPacker
from glasswork.writers.preview import preview_lit
from glasswork.writers.scene import camera_for
from glasswork.writers.seen import flat_film
from tests.bench.designs import synthetic_window_svg

PROFILES = Path(__file__).parents[2] / "profiles"


def _profile(path: str) -> bytes:
    return (PROFILES / path).read_bytes()


@cache
def _job(panes: int) -> tuple[Window, Separation, FramePlan, Glazing]:
    palette = read_palette(
        _profile("palettes/harbour.toml"), where="harbour", sibling=lambda n: _profile(n)
    )
    printer = read_printer(_profile("printers/dye-film.toml"), where="dye-film")
    light = read_light(
        _profile("lights/led-b3.toml"), where="led-b3", sibling=lambda n: _profile(n)
    )
    art = read_svg(synthetic_window_svg(panes), name="window")
    window, _ = make_window(art, roles={}, sizing=Sizing(width_mm=190.0))
    window, _ = choose_glass(window, palette, chosen={}, groups=colour_groups(window))
    separation, _ = separate(window, palette, printer, light, films=2)
    board = read_board(_profile("boards/chipboard-2.toml"), where="board")
    cutter = read_cutter(_profile("cutters/laser.toml"), where="cutter")
    plan, _ = plan_frame(window, board, cutter, printer=printer, films=2)
    glazing = glaze(
        window,
        palette,
        separation,
        plan,
        profile=printer,
        light=light,
        settings=FinishSettings(),
    )
    return window, separation, plan, glazing


def _best(work: Callable[[], object], rounds: int = 5) -> float:
    times = []
    for _ in range(rounds):
        started = time.perf_counter()
        work()
        times.append(time.perf_counter() - started)
    return sorted(times)[len(times) // 2]


def test_plain_fill_beside_cairosvg(benchmark) -> None:  # type: ignore[no-untyped-def]
    import cairosvg

    window, separation, plan, _ = _job(400)
    camera, shape = camera_for(plan.outline, width_px=1600)
    film = flat_film(window, separation, plan, lit=True)
    svg = _plain_svg(window, camera.px_per_mm)
    benchmark(lambda: film(camera, shape))
    ours = benchmark.stats.stats.median
    peer = _best(lambda: cairosvg.svg2png(svg, output_width=shape[1], output_height=shape[0]))
    print(
        f"\nplain fill {1e3 * ours:.1f} ms, cairosvg {1e3 * peer:.1f} ms: {ours / peer:.3f} (0.3)"
    )
    assert ours <= 0.3 * peer


def test_lit_preview(benchmark) -> None:  # type: ignore[no-untyped-def]
    window, separation, plan, glazing = _job(400)
    glass = lit_picture(glazing, px_per_mm=7.0)
    benchmark(lambda: preview_lit(window, separation, plan, glass=glass))
    print(f"\nlit preview of 400 panes {1e3 * benchmark.stats.stats.median:.0f} ms (400)")


@pytest.mark.parametrize("panes", [400, 3000])
def test_glass_pictures_at_600_dpi(benchmark, panes: int) -> None:  # type: ignore[no-untyped-def]
    _, _, _, glazing = _job(panes)
    one, other = film_pictures(glazing, RowPacker)
    benchmark(lambda: film_pictures(glazing, RowPacker))
    size, seconds = one.rows * one.columns / 1e6, benchmark.stats.stats.median
    print(
        f"\n{panes} panes, {size:.1f} Mpx for two films: {seconds:.3f} s, packed to "
        f"{len(one.data) / 1e6:.1f} MB"
    )
    assert one is other
    assert 0.05 < len(one.data) / (3e6 * size) < 0.5


def _plain_svg(window: Window, px_per_mm: float) -> bytes:
    """The panes as paths, nothing else."""
    wide, high = (side * px_per_mm for side in window.size_mm)
    paths = "".join(
        f'<path fill="{pane.fill or "#888888"}" d="M'
        + "L".join(f"{x * px_per_mm:.2f} {y * px_per_mm:.2f}" for x, y in pane.region.outer)
        + 'Z"/>'
        for pane in window.panes
    )
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.1f}" height="{high:.1f}">'
    return f"{head}{paths}</svg>".encode()
