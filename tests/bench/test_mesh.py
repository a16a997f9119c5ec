"""Leads cut into triangles beside shapely's own triangulation of the same area, in one run.

The peer is `shapely.constrained_delaunay_triangles` (GEOS: holes joined to the outline, ears cut,
sides flipped) on the same corners, partners across the leads among them, and no more: ours also
tells which triangle lies across each side. What the whole step from SVG to panes would take with
the peer is worked out from the three figures.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

import numpy as np
import pytest
import shapely

from glasswork.cli.memory import LOOK_ROUND_EVERY
from glasswork.drawing.make import make_window
from glasswork.model.window import Sizing
from glasswork.planar import Area, mesh_of
from glasswork.readers.svg import read_svg
from tests.bench.designs import synthetic_window_svg


def _least(work: Callable[[], object], times: int) -> float:
    best = float("inf")
    before = gc.get_threshold()
    gc.set_threshold(LOOK_ROUND_EVERY)
    for _ in range(times):
        started = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - started)
    gc.set_threshold(*before)
    return best


def _same_corners(area: Area) -> shapely.Polygon:
    """The area with all corners of our triangles on its rings."""
    mesh = mesh_of(area)
    assert mesh is not None
    points = shapely.points(mesh.points)
    rings = shapely.get_rings(area.shape)
    which, ring = shapely.STRtree(rings).query(points, "dwithin", distance=1e-9)
    at = shapely.line_locate_point(rings[ring], points[which])
    made = [mesh.points[which[ring == k]][np.argsort(at[ring == k])] for k in range(len(rings))]
    return shapely.Polygon(made[0], made[1:])


@pytest.mark.parametrize("panes", [400, 3000])
def test_triangles_of_leads(
    panes: int, benchmark: Callable[..., object], capsys: pytest.CaptureFixture[str]
) -> None:
    data = synthetic_window_svg(panes, "filled-leads", seed=3)
    art = read_svg(data, name="invented.svg")
    (leads,) = [Area.of(mark.area) for mark in art.marks if mark.area]
    polygon = _same_corners(leads)
    times = 5 if panes == 400 else 2
    ours = _least(lambda: mesh_of(leads), times)
    theirs = _least(lambda: shapely.constrained_delaunay_triangles(polygon), times)
    whole = _least(
        lambda: make_window(
            read_svg(data, name="invented.svg"), roles={}, sizing=Sizing()
        ),
        times,
    )  # fmt: skip
    benchmark.pedantic(lambda: mesh_of(leads), rounds=1)  # type: ignore[attr-defined]
    with capsys.disabled():
        print(
            f"\n{panes} panes, {shapely.get_num_coordinates(polygon)} corners: triangles "
            f"{1e3 * ours:.0f} ms, shapely {1e3 * theirs:.0f} ms ({theirs / ours:.1f} ×); SVG to "
            f"panes {1e3 * whole:.0f} ms, with shapely's it would be "
            f"{(whole - ours + theirs) / whole:.1f} ×"
        )
