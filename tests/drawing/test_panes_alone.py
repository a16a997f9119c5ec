"""Panes drawn alone, the gaps between them the leads: random cells in a round and a square light.

The cells are Voronoi cells (by shapely), each drawn smaller all round by half the gap, so that the
leads' widths and the number of panes are known.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from glasswork.drawing.make import make_window
from glasswork.model.window import Role, Sizing
from glasswork.readers.svg import read_svg
from tests.drawing.tiling import tiling_error

GAP_MM = 1.0


def _panes(seed: int, light: shapely.Polygon) -> list[shapely.Polygon]:
    dice = np.random.default_rng(seed)
    steps = np.stack(np.meshgrid(np.arange(8.0), np.arange(8.0)), axis=-1).reshape(-1, 2)
    spots = 12.0 * (steps + dice.uniform(0.1, 0.9, steps.shape)) + 2.0
    cells = shapely.get_parts(shapely.voronoi_polygons(shapely.multipoints(spots)))
    inner = shapely.buffer(shapely.intersection(cells, light), -GAP_MM / 2.0, join_style="mitre")
    return [pane for pane in shapely.get_parts(inner) if pane.area > 1.0]


def _svg(panes: list[shapely.Polygon]) -> bytes:
    shapes = "".join(
        "<path d='M{}Z'/>".format(
            "L".join(f"{x:.5f} {y:.5f}" for x, y in pane.exterior.coords[:-1])
        )
        for pane in panes
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100"><g fill="#3a7ca5">{shapes}</g></svg>'
    ).encode()


@pytest.mark.parametrize("light", ["round", "square"])
@pytest.mark.parametrize("seed", range(6))
def test_gaps_are_the_leads(seed: int, light: str) -> None:
    round_ = shapely.Point(50.0, 50.0).buffer(46.0, quad_segs=32)
    panes = _panes(seed, round_ if light == "round" else shapely.box(4.0, 4.0, 96.0, 96.0))
    window, findings = make_window(
        read_svg(_svg(panes), name="cells.svg"), roles={}, sizing=Sizing()
    )
    assert len(window.panes) == len(panes)
    assert any("the gaps of 1.00 mm" in finding.what for finding in findings)
    assert tiling_error(window) < 1e-6
    found = sum(pane.region.area_mm2 for pane in window.panes)
    assert found == pytest.approx(sum(pane.area for pane in panes), rel=1e-6)
    leads = [m for m in window.members if m.role is Role.LEAD and len(m.centreline) == 2]
    long = [m.width_mm for m in leads if np.hypot(*np.subtract(*map(np.array, m.centreline))) > 5.0]
    assert len(long) > 30
    assert np.median(long) == pytest.approx(GAP_MM, abs=1e-3)
    # a border as wide as the gaps, set round them
    border = [m.width_mm for m in window.members if m.role is Role.BORDER]
    assert np.median(border) == pytest.approx(GAP_MM, rel=0.05)
