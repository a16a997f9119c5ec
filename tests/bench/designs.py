"""Invented windows whose panes, leads and areas are known exactly, as SVG in several styles.

The window: a rectangle with a border, divided into rows of slanting quarries whose corners are
moved at random. Every lead has the same width; panes are the quarries inset by half of it.
"""

from __future__ import annotations

import random
from math import ceil, sqrt

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Point = tuple[float, float]

STYLES = ("strokes", "outlined", "filled-leads", "filled-panes")
"""strokes: lead lines · outlined: filled panes with a stroke each · filled-leads: one dark shape
with holes · filled-panes: bright panes on a dark ground."""

PANES_ALONE = "panes-alone"
"""Bright panes with gaps between them and nothing else: its border is as wide as a gap."""

GLASSES = ("#b3122d", "#1d3f94", "#e8a317", "#2f7d4f", "#efe6c8", "#7fb7d9", "#7a3b8f", "#d96f32")


class SyntheticWindow(Struct, frozen=True, kw_only=True):
    """The truth of one invented window.

    corners : (rows + 1, columns + 1, 2), mm, where centrelines meet
    cells : corners of each pane's cell by its middles of leads, clockwise on paper
    """

    corners: NDArray[np.float64]
    cells: tuple[tuple[Point, ...], ...]
    lead_mm: float
    border_mm: float
    size_mm: tuple[float, float]

    @property
    def panes(self) -> tuple[tuple[Point, ...], ...]:
        """The glass of each cell: its edges moved inwards by half their lead."""
        rows, columns = self.corners.shape[0] - 1, self.corners.shape[1] - 1
        found = []
        for index, cell in enumerate(self.cells):
            row, column = divmod(index, columns)
            edge, inner = self.border_mm / 2.0, self.lead_mm / 2.0
            insets = (
                edge if row == 0 else inner,
                edge if column == columns - 1 else inner,
                edge if row == rows - 1 else inner,
                edge if column == 0 else inner,
            )
            found.append(_inset(cell, insets))
        return tuple(found)


def synthetic_window(
    panes: int, seed: int = 0, *, lead_mm: float = 0.8, rows: int | None = None
) -> SyntheticWindow:
    """A window of about as many panes, 10 mm wide each; the number is rows times columns."""
    if rows is None:
        rows = _rows_of(panes)
    columns = ceil(panes / rows)
    dice = random.Random(seed)
    pitch, border = 10.0, 3.0
    grid = np.zeros((rows + 1, columns + 1, 2))
    for i in range(rows + 1):
        for j in range(columns + 1):
            dx = dice.uniform(-0.22, 0.22) if 0 < j < columns else 0.0
            dy = dice.uniform(-0.22, 0.22) if 0 < i < rows else 0.0
            grid[i, j] = (border / 2 + pitch * (j + dx), border / 2 + pitch * (i + dy))
    grid = np.round(grid, 4)
    cells = tuple(
        tuple(
            (float(x), float(y))
            for x, y in (grid[i, j], grid[i, j + 1], grid[i + 1, j + 1], grid[i + 1, j])
        )
        for i in range(rows)
        for j in range(columns)
    )
    size = (pitch * columns + border, pitch * rows + border)
    return SyntheticWindow(
        corners=grid, cells=cells, lead_mm=lead_mm, border_mm=border, size_mm=size
    )


def _rows_of(panes: int) -> int:
    """A number of rows that divides the panes, near a square."""
    rows = max(2, round(sqrt(panes * 1.25)))
    while rows * ceil(panes / rows) != panes and rows > 2:
        rows -= 1
    return rows


def _inset(cell: tuple[Point, ...], insets: tuple[float, ...]) -> tuple[Point, ...]:
    """A clockwise (on paper) convex polygon, edge k from corner k moved inwards by insets[k]."""
    lines = []
    for k, (x0, y0) in enumerate(cell):
        x1, y1 = cell[(k + 1) % len(cell)]
        size = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        nx, ny = -(y1 - y0) / size, (x1 - x0) / size
        lines.append((nx, ny, nx * x0 + ny * y0 + insets[k]))
    found = []
    for k in range(len(cell)):
        (a, b, c), (d, e, f) = lines[k - 1], lines[k]
        det = a * e - b * d
        found.append(((c * e - b * f) / det, (a * f - c * d) / det))
    return tuple(found)


def synthetic_window_svg(
    panes: int, style: str = "outlined", seed: int = 0, *, rows: int | None = None
) -> bytes:
    """The invented window as an SVG in one of the STYLES, or as PANES_ALONE."""
    window = synthetic_window(panes, seed, rows=rows)
    body = {
        "strokes": _strokes,
        "outlined": _outlined,
        "filled-leads": _filled_leads,
        "filled-panes": _filled_panes,
        PANES_ALONE: _panes_alone,
    }[style](window, seed)
    w, h = window.size_mm
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w:g}mm" height="{h:g}mm" '
        f'viewBox="0 0 {w:g} {h:g}">\n<desc>Invented drawing: no real window.</desc>\n'
    )
    return f"{head}{body}</svg>\n".encode()


def _d(points: tuple[Point, ...], *, closed: bool = True) -> str:
    text = "L".join(f"{x:.6g} {y:.6g}" for x, y in points)
    return f"M{text}{'Z' if closed else ''}"


def _frame(window: SyntheticWindow) -> str:
    w, h = window.size_mm
    b = window.border_mm
    return (
        f'<rect id="border" x="{b / 2:g}" y="{b / 2:g}" width="{w - b:g}" height="{h - b:g}" '
        f'fill="none" stroke="#111" stroke-width="{b:g}"/>\n'
    )


def _strokes(window: SyntheticWindow, _seed: int) -> str:
    grid = window.corners
    rows, columns = grid.shape[0] - 1, grid.shape[1] - 1
    across = [tuple(map(tuple, grid[i].tolist())) for i in range(1, rows)]
    down = [tuple(map(tuple, grid[:, j].tolist())) for j in range(1, columns)]
    lines = "\n".join(f'<path d="{_d(line, closed=False)}"/>' for line in (*across, *down))
    group = f'<g fill="none" stroke="#111" stroke-width="{window.lead_mm:g}">'
    return f"{group}\n{lines}\n</g>\n{_frame(window)}"


def _outlined(window: SyntheticWindow, seed: int) -> str:
    dice = random.Random(seed + 1)
    cells = "\n".join(
        f'<path d="{_d(cell)}" fill="{dice.choice(GLASSES)}"/>' for cell in window.cells
    )
    group = f'<g stroke="#111" stroke-width="{window.lead_mm:g}">'
    return f"{group}\n{cells}\n</g>\n{_frame(window)}"


def _filled_leads(window: SyntheticWindow, _seed: int) -> str:
    w, h = window.size_mm
    holes = "".join(_d(pane) for pane in window.panes)
    return f'<path fill="#111" fill-rule="evenodd" d="M0 0H{w:g}V{h:g}H0Z{holes}"/>\n'


def _filled_panes(window: SyntheticWindow, seed: int) -> str:
    w, h = window.size_mm
    return f'<rect width="{w:g}" height="{h:g}" fill="#111"/>\n{_panes_alone(window, seed)}'


def _panes_alone(window: SyntheticWindow, seed: int) -> str:
    dice = random.Random(seed + 1)
    panes = "\n".join(
        f'<path d="{_d(pane)}" fill="{dice.choice(GLASSES)}"/>' for pane in window.panes
    )
    return f"{panes}\n"
