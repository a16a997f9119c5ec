"""SVG to panes beside a plain union of the stroked leads, in one run.

The peer does less: it unites the buffered lead lines with shapely and stops; ours reads the SVG,
finds panes, leads, widths, middles, roles, ids and colours, and checks the tiling. Python looks
round for rings of unused objects as seldom as in a command (`cli/memory.py`).
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

import pytest
import shapely

from glasswork.cli.memory import LOOK_ROUND_EVERY
from glasswork.drawing.make import make_window
from glasswork.model.window import LineArt, Sizing
from glasswork.readers.svg import read_svg
from tests.bench.designs import PANES_ALONE, STYLES, synthetic_window_svg

GOAL = 1.0


def _peer(art: LineArt) -> float:
    """Seconds of shapely's union of the same lead lines, already read."""
    lines = [
        (shapely.LineString((*p, p[0]) if closed else p), mark.width_mm / 2.0)
        for mark in art.marks
        if mark.stroke is not None
        for p, closed in mark.paths
    ]
    # each length between two joints on its own, as the leads of a window are
    pieces = [
        (shapely.LineString(pair), radius)
        for line, radius in lines
        for pair in zip(line.coords, line.coords[1:], strict=False)
    ]
    started = time.perf_counter()
    areas = shapely.buffer(
        [line for line, _ in pieces], [radius for _, radius in pieces], cap_style="square"
    )
    union = shapely.union_all(areas)
    assert len(union.interiors) > 10
    return time.perf_counter() - started


def _best(work: Callable[[], object], times: int = 15) -> float:
    best = float("inf")
    for _ in range(times):
        started = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - started)
    return best


@pytest.mark.parametrize("panes", [400, 3000])
@pytest.mark.parametrize("style", [*STYLES, PANES_ALONE])
def test_svg_to_panes(
    panes: int, style: str, benchmark: Callable[..., object], capsys: pytest.CaptureFixture[str]
) -> None:
    data = synthetic_window_svg(panes, style, seed=3)
    lines = read_svg(synthetic_window_svg(panes, "strokes", seed=3), name="invented.svg")
    peer = min(_peer(lines) for _ in range(15))

    def work() -> object:
        return make_window(read_svg(data, name="invented.svg"), roles={}, sizing=Sizing())

    before = gc.get_threshold()
    gc.set_threshold(LOOK_ROUND_EVERY)
    ours = _best(work)
    gc.set_threshold(*before)
    benchmark.pedantic(work, rounds=1)  # type: ignore[attr-defined]
    with capsys.disabled():
        print(
            f"\n{panes} panes, {style}: {1e3 * ours:.0f} ms, union of the leads "
            f"{1e3 * peer:.0f} ms, ratio {ours / peer:.2f}"
        )
    if style in STYLES:
        assert ours <= GOAL * peer
