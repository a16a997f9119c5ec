"""Invented windows with known truth, in every style of drawing."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from glasswork.drawing.make import drawn_window
from glasswork.model.geometry import Point, ring_area_mm2
from glasswork.model.window import Role, Window
from glasswork.readers.svg import read_svg
from tests.bench.designs import STYLES, SyntheticWindow, synthetic_window, synthetic_window_svg
from tests.drawing.tiling import tiling_error

SIZES = (60, 400, 3000)


def _drawn(panes: int, style: str) -> tuple[Window, SyntheticWindow]:
    art = read_svg(synthetic_window_svg(panes, style, seed=7), name="invented.svg")
    window, _ = drawn_window(art, roles={})
    return window, synthetic_window(panes, 7)


def _by_place(window: Window, truth: SyntheticWindow) -> list[tuple[float, float]]:
    """Area found and true area of each true pane, matched by the pane that holds its middle."""
    seeds = np.array([pane.seed_point for pane in window.panes])
    found = []
    for true in truth.panes:
        middle = np.mean(np.array(true), axis=0)
        best = int(np.argmin(np.hypot(*(seeds - middle).T)))
        found.append((window.panes[best].region.area_mm2, abs(ring_area_mm2(true))))
    return found


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("panes", SIZES)
def test_panes_tile_and_have_their_areas(panes: int, style: str) -> None:
    window, truth = _drawn(panes, style)
    assert len(window.panes) == len(truth.panes)
    assert tiling_error(window) < 1e-9
    areas = np.array(_by_place(window, truth))
    error = np.abs(areas[:, 0] - areas[:, 1]) / areas[:, 1]
    assert np.quantile(error, 0.95) <= 1e-4
    assert window.size_mm == pytest.approx(truth.size_mm, abs=1e-6)


def _off(points: NDArray[np.float64], truth: SyntheticWindow) -> NDArray[np.float64]:
    """How far each point lies from the nearest true middle of a lead."""
    grid = truth.corners
    rows, columns = grid.shape[:2]
    lines = [grid[i, [j, j + 1]] for i in range(rows) for j in range(columns - 1)]
    lines += [grid[[i, i + 1], j] for i in range(rows - 1) for j in range(columns)]
    a = np.array([line[0] for line in lines])
    way = np.array([line[1] for line in lines]) - a
    size = (way**2).sum(axis=1)
    best = np.full(len(points), np.inf)
    for at, one in enumerate(points):
        share = np.clip(((one - a) * way).sum(axis=1) / size, 0.0, 1.0)
        best[at] = np.hypot(*(a + share[:, None] * way - one).T).min()
    return best


def _along(line: tuple[Point, ...]) -> NDArray[np.float64]:
    """Places along a centreline, its joints left out."""
    points = np.array(line)
    steps = np.hypot(*np.diff(points, axis=0).T)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    spots = np.linspace(0.15, 0.85, 5) * at[-1]
    return np.stack([np.interp(spots, at, points[:, k]) for k in (0, 1)], axis=1)


@pytest.mark.parametrize("style", STYLES)
def test_middles_of_leads_are_where_they_were_drawn(style: str) -> None:
    window, truth = _drawn(60, style)
    for member in window.members:
        if member.role is Role.LEAD:
            assert _off(_along(member.centreline), truth).max() <= 0.005, member.id
            assert member.width_mm == pytest.approx(truth.lead_mm, rel=0.02), member.id


@pytest.mark.parametrize("style", STYLES)
def test_the_outermost_ring_is_the_border(style: str) -> None:
    window, truth = _drawn(60, style)
    rows, columns = truth.corners.shape[0] - 1, truth.corners.shape[1] - 1
    border = [m for m in window.members if m.role is Role.BORDER]
    leads = [m for m in window.members if m.role is Role.LEAD]
    assert len(border) == 2 * (rows - 1) + 2 * (columns - 1)
    assert len(leads) == rows * (columns - 1) + columns * (rows - 1)
    for member in border:
        assert member.width_mm == pytest.approx(truth.border_mm, rel=0.05)


def test_glass_colours_come_from_the_fills() -> None:
    art = read_svg(synthetic_window_svg(60, "outlined", seed=7), name="invented.svg")
    window, _ = drawn_window(art, roles={})
    other = read_svg(synthetic_window_svg(60, "filled-panes", seed=7), name="invented.svg")
    again, _ = drawn_window(other, roles={})
    fills = {mark.fill for mark in art.marks} - {None}
    assert len(fills) > 4
    assert [p.fill for p in window.panes] == [p.fill for p in again.panes]
    assert {p.fill for p in window.panes} == fills


@pytest.mark.parametrize("style", STYLES)
def test_every_style_gives_the_same_ids(style: str) -> None:
    window, _ = _drawn(400, style)
    first, _ = _drawn(400, STYLES[0])
    assert [p.id for p in window.panes] == [p.id for p in first.panes]
