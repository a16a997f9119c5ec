"""Scans of invented windows against the windows themselves, with every fault a scan has.

The pages are painted by resvg, a renderer that is not ours; the limits are those of the project.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.drawing.make import drawn_window
from glasswork.drawing.sizing import at_size
from glasswork.drawing.trace import trace_scan
from glasswork.drawing.trace_ink import ink_grey
from glasswork.drawing.trace_sheet import find_sheet, homography, side_ratio
from glasswork.model.geometry import ring_area_mm2
from glasswork.model.window import Role, Scan, Sizing, Window
from tests.bench.designs import SyntheticWindow
from tests.bench.scans import INK, MARGIN_MM, PAPER, Drawn, Faults, scanned
from tests.drawing.tiling import tiling_error

Floats = NDArray[np.float64]
A4_MM = (190.0, 277.0)
WORN: dict[str, Any] = {"noise": 8.0, "shade": 0.4, "turn_deg": 2.0, "gaps": 0.02}
"""Noise, gradient light, turned by 2°, 1 mm gaps in 2 % of the lines."""


def _window(drawn: Drawn) -> Window:
    traced = trace_scan(drawn.scan)
    window, _ = drawn_window(traced.art, roles={})
    sizing = Sizing() if traced.art.sized else Sizing(width_mm=drawn.truth.size_mm[0])
    return at_size(window, sizing)[0]


def _area_errors(window: Window, truth: SyntheticWindow) -> Floats:
    """Share by which the pane that holds each true pane's middle is too large or too small; 1 for
    a true pane whose middle no pane holds.
    """
    tree = shapely.STRtree([shapely.Polygon(pane.region.outer) for pane in window.panes])
    middles = np.array([np.mean(np.array(true), axis=0) for true in truth.panes])
    held = np.full(len(middles), -1)
    which, pane = tree.query(shapely.points(middles), "within")
    held[which] = pane
    areas = np.array([pane.region.area_mm2 for pane in window.panes])
    true = np.array([abs(ring_area_mm2(pane)) for pane in truth.panes])
    return np.where(held < 0, 1.0, np.abs(areas[held] - true) / true)


def _centre_errors(window: Window, truth: SyntheticWindow) -> Floats:
    """How far places along the leads lie from the nearest true middle; the border left out, and
    as much about crossings as a lead is wide.
    """
    grid = truth.corners
    rows, columns = grid.shape[:2]
    lines = [grid[i, [j, j + 1]] for i in range(rows) for j in range(columns - 1)]
    lines += [grid[[i, i + 1], j] for i in range(rows - 1) for j in range(columns)]
    places = np.concatenate(
        [
            _along(np.array(member.centreline))
            for member in window.members
            if member.role is Role.LEAD and len(member.centreline) > 1
        ]
    )
    inside = truth.border_mm + truth.lead_mm
    within = ((places > inside) & (places < np.array(truth.size_mm) - inside)).all(axis=1)
    crossings = shapely.STRtree(shapely.points(grid.reshape(-1, 2)))
    middles = shapely.STRtree(shapely.linestrings(lines))
    clear = places[within & (_nearest(crossings, places) >= truth.lead_mm)]
    return _nearest(middles, clear)


def _nearest(tree: shapely.STRtree, places: Floats) -> Floats:
    """How far each place is from what lies nearest in a tree."""
    (which, _), far = tree.query_nearest(
        shapely.points(places), return_distance=True, all_matches=False
    )
    found = np.empty(len(places))
    found[which] = far
    return found


def _along(points: Floats) -> Floats:
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    spots = np.linspace(0.02, 0.98, 9) * at[-1]
    return np.stack([np.interp(spots, at, points[:, k]) for k in (0, 1)], axis=1)


@pytest.mark.parametrize(("panes", "dpi"), [(60, 300), (400, 300), (60, 600), (400, 600)])
def test_worn_scans_give_every_pane_in_its_place(panes: int, dpi: int) -> None:
    drawn = scanned(panes, Faults(dpi=dpi, **WORN), fit_mm=A4_MM)
    assert drawn.broken >= 2
    window = _window(drawn)
    assert len(window.panes) == panes
    assert tiling_error(window) < 1e-6
    assert np.quantile(_area_errors(window, drawn.truth), 0.95) <= 0.01
    off = _centre_errors(window, drawn.truth)
    assert len(off) > 3 * panes
    assert off.max() <= 0.1
    assert window.size_mm == pytest.approx(drawn.truth.size_mm, abs=0.05)


@pytest.mark.parametrize("dpi", [300, 600])
def test_three_thousand_panes(dpi: int) -> None:
    """Within A4: lines of 3.6 and 7.2 px."""
    drawn = scanned(3000, Faults(dpi=dpi, **WORN), fit_mm=A4_MM)
    assert drawn.broken > 100
    window = _window(drawn)
    assert len(window.panes) == pytest.approx(3000, rel=0.005)
    assert np.quantile(_area_errors(window, drawn.truth), 0.95) <= 0.01
    off = _centre_errors(window, drawn.truth)
    assert len(off) > 12 * 3000
    assert off.max() <= 0.1


@pytest.mark.parametrize(
    ("faults", "lead_mm"),
    [
        (Faults(dpi=150, **WORN), 0.8),
        (Faults(dpi=150, noise=5.0, turn_deg=1.0), 0.34),  # lines of 2 px
        (Faults(dpi=300, noise=5.0, creases=2), 0.8),
        (Faults(dpi=300, noise=5.0, pencil=True), 0.8),
        (Faults(dpi=300, noise=5.0, pencil=True, creases=2), 0.8),
        (Faults(dpi=300, noise=5.0, ground=(150, 120, 80)), 0.8),
        (Faults(dpi=300, noise=5.0, ground=(90, 120, 170)), 0.8),
        (Faults(dpi=600, noise=5.0, pencil=True, creases=2), 0.8),
        (Faults(dpi=600, noise=5.0, turn_deg=1.0), 0.085),  # lines of 2, 3, 4.5 px
        (Faults(dpi=600, noise=5.0, turn_deg=1.0), 0.127),
        (Faults(dpi=600, noise=5.0, turn_deg=1.0), 0.190),
        (Faults(dpi=1200, **WORN), 0.8),
    ],
    ids=[
        "150dpi",
        "2px",
        "creases",
        "pencil",
        "both",
        "kraft",
        "blue",
        "both600",
        "2px600",
        "3px600",
        "4.5px600",
        "1200dpi",
    ],
)
def test_single_faults(faults: Faults, lead_mm: float) -> None:
    drawn = scanned(60, faults, lead_mm=lead_mm)
    window = _window(drawn)
    assert len(window.panes) == 60
    assert np.quantile(_area_errors(window, drawn.truth), 0.95) <= 0.01
    off = _centre_errors(window, drawn.truth)
    # at 150 dpi a pixel is 0.17 mm wide
    assert np.quantile(off, 0.99 if faults.dpi < 300 else 1.0) <= 0.1
    assert {pane.fill for pane in window.panes} == {None}


@pytest.mark.parametrize("panes", [400, 3000])
def test_creases_and_pencil(panes: int) -> None:
    """Within A4."""
    faults = Faults(dpi=400 if panes == 3000 else 300, noise=5.0, pencil=True, creases=2)
    drawn = scanned(panes, faults, fit_mm=A4_MM)
    window = _window(drawn)
    assert len(window.panes) == panes
    assert np.quantile(_area_errors(window, drawn.truth), 0.95) <= 0.01
    assert _centre_errors(window, drawn.truth).max() <= 0.1


@pytest.mark.parametrize(("panes", "tilt"), [(60, 8.0), (60, 14.0), (60, 20.0), (400, 14.0)])
def test_a_photo_of_the_sheet_is_laid_flat(panes: int, tilt: float) -> None:
    faults = Faults(noise=5.0, tilt_deg=tilt, shade=0.3, turn_deg=3.0)
    drawn = scanned(panes, faults, fit_mm=A4_MM if panes == 400 else None)
    window = _window(drawn)
    assert len(window.panes) == panes
    assert window.size_mm == pytest.approx(drawn.truth.size_mm, rel=0.001)
    assert np.quantile(_area_errors(window, drawn.truth), 0.95) <= 0.01
    assert _centre_errors(window, drawn.truth).max() <= 0.1


def test_a_sheet_on_a_dark_lid_keeps_its_size() -> None:
    """Seen square, a sheet does not lose the resolution's millimetres."""
    drawn = scanned(60, Faults(noise=5.0, tilt_deg=1e-3, turn_deg=12.0))
    traced = trace_scan(drawn.scan)
    assert traced.art.sized
    window = _window(drawn)
    assert window.size_mm == pytest.approx(drawn.truth.size_mm, abs=0.1)
    assert len(window.panes) == 60


def test_a_drawing_up_to_the_picture_s_edge_is_no_sheet() -> None:
    drawn = scanned(60, Faults())
    grey = drawn.scan.grey
    tight = grey[95:-95, 95:-95]
    assert find_sheet(tight) is None
    assert find_sheet(grey) is None


@pytest.mark.parametrize("dpi", [300, 600])
@pytest.mark.parametrize("beside_px", [-3, 0, 6])
def test_a_scan_cut_off_along_the_border_keeps_its_outer_panes(dpi: int, beside_px: int) -> None:
    drawn = scanned(60, Faults(dpi=dpi, noise=4.0, shade=0.3))
    cut = round(MARGIN_MM * dpi / 25.4) - beside_px
    scan = replace(drawn.scan, grey=np.ascontiguousarray(drawn.scan.grey[cut:-cut, cut:-cut]))
    window = _window(replace(drawn, scan=scan))
    assert len(window.panes) == 60
    lost = 2.0 * min(0, beside_px) * 25.4 / dpi
    wide, high = drawn.truth.size_mm
    assert window.size_mm == pytest.approx((wide + lost, high + lost), abs=0.2)


@pytest.mark.parametrize("ratio", [0.5, 0.7071, 1.0, 1.4142, 2.0])
def test_side_ratio_of_a_rectangle_seen_aslant(ratio: float) -> None:
    """A camera written down from the pinhole model, not from the formula under test."""
    f, far = 1400.0, 3.0
    a, b = np.radians(18.0), np.radians(-11.0)
    over = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    yaw = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    flat = np.array([(-ratio, -1, 0), (ratio, -1, 0), (ratio, 1, 0), (-ratio, 1, 0.0)]) / 2.0
    space = flat @ (yaw @ over).T + (0.05, -0.02, far)
    seen = f * space[:, :2] / space[:, 2:] + (1000.0, 750.0)
    assert side_ratio(seen, (1000.0, 750.0)) == pytest.approx(ratio, rel=1e-6)


def test_homography_takes_corners_to_corners() -> None:
    here = np.array([(1.0, 2.0), (11.0, 1.0), (12.0, 9.0), (0.0, 8.0)])
    there = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 7.0), (0.0, 7.0)])
    flat = np.concatenate([here, np.ones((4, 1))], axis=1) @ homography(here, there).T
    assert flat[:, :2] / flat[:, 2:] == pytest.approx(there, abs=1e-9)


def test_coloured_paper_is_no_coloured_glass() -> None:
    drawn = scanned(60, Faults(ground=(150, 120, 80), noise=4.0))
    assert int(ink_grey(drawn.scan).max()) > 130
    assert all(mark.fill == "#000000" for mark in trace_scan(drawn.scan).art.marks)


@pytest.mark.parametrize("wash", [(58, 92, 38), (40, 30, 78), (92, 46, 40)], ids=str)
def test_dark_washes_are_glass_not_ink(wash: tuple[int, int, int]) -> None:
    """Half of the window painted dark, on paper that stays bright on the other half."""
    drawn = scanned(60, Faults(noise=4.0, shade=0.2))
    assert drawn.scan.mm_per_px is not None
    ink = np.clip((PAPER - drawn.scan.grey.astype(np.float64)) / (PAPER - INK), 0.0, 1.0)[..., None]
    ground = np.full((*drawn.scan.grey.shape, 3), PAPER)
    rim = round(9.0 / drawn.scan.mm_per_px)
    ground[rim:-rim, ground.shape[1] // 2 : -rim] = wash
    rgb = (ground * (1.0 - ink) + INK * ink).astype(np.uint8)
    scan = Scan(name="washed.png", grey=rgb.max(axis=2), mm_per_px=drawn.scan.mm_per_px, rgb=rgb)
    window = _window(Drawn(scan=scan, truth=drawn.truth, broken=0))
    assert len(window.panes) == 60
    assert np.quantile(_area_errors(window, drawn.truth), 0.95) <= 0.01
    assert _centre_errors(window, drawn.truth).max() <= 0.1
    assert sum(pane.fill is not None for pane in window.panes) >= 24
