"""Invented windows as scans: the drawing of `designs` on a sheet, with the faults that scans have.

Geometry is turned, tapered and cut before it is rendered, so that the truth stays exact; lines are
painted by the fill of polygons at a multiple of the resolution and averaged.
"""

from __future__ import annotations

import io
import random

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.model.window import Scan
from tests.bench.designs import SyntheticWindow, synthetic_window

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

PAPER, INK, PENCIL = 236.0, 34.0, 150.0
MARGIN_MM = 8.0
_STRIP = 1024


class Faults(Struct, frozen=True, kw_only=True):
    """What the scan suffers from.

    noise : standard deviation of the grey · shade : share of the light lost from left to right
    gaps : share of the lines that are broken, gap_mm wide each · creases : folds across the sheet
    pencil : construction lines under the ink · tilt_deg : the sheet lies on a dark table and is
    seen aslant, tilted about its middle left to right and half as much up and down
    """

    dpi: float = 300.0
    turn_deg: float = 0.0
    noise: float = 0.0
    shade: float = 0.0
    gaps: float = 0.0
    gap_mm: float = 1.0
    creases: int = 0
    pencil: bool = False
    tilt_deg: float = 0.0
    ground: tuple[int, int, int] | None = None
    blur_px: float = 0.5


class Drawn(Struct, frozen=True, kw_only=True):
    """A scan and the window that it shows, in panel mm at the scan's scale."""

    scan: Scan
    truth: SyntheticWindow
    broken: int


def scanned(
    panes: int, faults: Faults, *, seed: int = 7, fit_mm: tuple[float, float] | None = None,
    lead_mm: float = 0.8,
) -> Drawn:  # fmt: skip
    """The invented window on its sheet. fit_mm : shrunk to fit, as onto an A4 sheet"""
    truth = synthetic_window(panes, seed, lead_mm=lead_mm)
    if fit_mm is not None:
        wide, high = truth.size_mm
        truth = shrunk(truth, min(fit_mm[0] / wide, fit_mm[1] / high))
    wide, high = (side + 2.0 * MARGIN_MM for side in truth.size_mm)
    place, size = _placed(wide, high, faults)
    cover = _cover(truth, place, size)
    cut = _broken_lines(truth, faults, seed)
    for quad in cut:
        _rub_out(cover, mapped(place, quad))
    page = np.full(size, PAPER, np.float32)
    if faults.tilt_deg:
        sheet = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
        page = 70.0 + (PAPER - 70.0) * _filled([sheet - MARGIN_MM], place, size)
    if faults.pencil:
        page = np.minimum(page, _pencil(truth, place, size))
    page = page + cover * (INK - page)
    page *= 1.0 - faults.shade * np.linspace(0.0, 1.0, size[1], dtype=np.float32)[None]
    for number in range(faults.creases):
        page *= _crease(size, number, faults.dpi)
    if faults.blur_px:
        page = np.asarray(cv2.GaussianBlur(page, (0, 0), faults.blur_px))
    page += _noise(size, faults.noise, seed)
    grey = np.clip(page, 0.0, 255.0).astype(np.uint8)
    rgb = None
    if faults.ground is not None:
        tint = np.array(faults.ground, np.float32) / 255.0
        rgb = (grey[:, :, None] * tint).astype(np.uint8)
        grey = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY))
    scan = Scan(name="invented.png", grey=grey, mm_per_px=25.4 / faults.dpi, rgb=rgb)
    return Drawn(scan=scan, truth=truth, broken=len(cut))


def _noise(size: tuple[int, int], deviation: float, seed: int) -> NDArray[np.float32]:
    rng = np.random.default_rng(seed)
    found = rng.standard_normal(size, dtype=np.float32)
    found *= np.float32(deviation)
    return found


def shrunk(window: SyntheticWindow, factor: float) -> SyntheticWindow:
    return SyntheticWindow(
        corners=window.corners * factor,
        cells=tuple(tuple((x * factor, y * factor) for x, y in cell) for cell in window.cells),
        lead_mm=window.lead_mm * factor,
        border_mm=window.border_mm * factor,
        size_mm=(window.size_mm[0] * factor, window.size_mm[1] * factor),
    )


def _placed(wide: float, high: float, faults: Faults) -> tuple[Floats, tuple[int, int]]:
    """The 3 × 3 map from the window's mm to px, and the picture's rows and columns."""
    px = faults.dpi / 25.4
    spare = 1.0 + 0.35 * bool(faults.tilt_deg)
    turn = np.radians(faults.turn_deg)
    cos, sin = np.cos(turn), np.sin(turn)
    columns = round((wide * cos + high * abs(sin)) * spare * px)
    rows = round((high * cos + wide * abs(sin)) * spare * px)
    middle = np.array([[1, 0, -(wide / 2 - MARGIN_MM)], [0, 1, -(high / 2 - MARGIN_MM)], [0, 0, 1]])
    turned = np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1.0]])
    # a camera of square pixels over the sheet's middle, its focal length 0.8 of the long side
    far = 0.8 * max(columns, rows) / px
    one, two = np.radians(faults.tilt_deg), np.radians(faults.tilt_deg / 2.0)
    over = np.array([[1, 0, 0], [0, np.cos(one), -np.sin(one)], [0, np.sin(one), np.cos(one)]])
    yaw = np.array([[np.cos(two), 0, np.sin(two)], [0, 1, 0], [-np.sin(two), 0, np.cos(two)]])
    spun = yaw @ over
    aslant = np.array([spun[0], spun[1], spun[2] / far])
    aslant[:, 2] = (0.0, 0.0, 1.0)
    back = np.array([[px, 0, columns / 2], [0, px, rows / 2], [0, 0, 1.0]])
    return back @ aslant @ turned @ middle, (rows, columns)


def mapped(place: Floats, points: Floats) -> Floats:
    flat = np.concatenate([points, np.ones((len(points), 1))], axis=1) @ place.T
    return np.asarray(flat[:, :2] / flat[:, 2:])


def _filled(shapes: list[Floats], place: Floats, size: tuple[int, int]) -> NDArray[np.float32]:
    """How much of each pixel the shapes cover, even-odd, 0 to 1; painted by resvg in strips."""
    rows, columns = size
    found = np.empty(size, np.float32)
    rings = [mapped(place, shape) for shape in shapes]
    for top in range(0, rows, _STRIP):
        high = min(_STRIP, rows - top)
        near = [r for r in rings if r[:, 1].max() >= top - 2 and r[:, 1].min() <= top + high + 2]
        found[top : top + high] = _painted(near, (0, top), (columns, high))
    return found


def _painted(
    rings: list[Floats], corner: tuple[int, int], size: tuple[int, int]
) -> NDArray[np.float32]:
    """How much of each pixel rings in px cover; corner : the first pixel · size : width, height"""
    import resvg_py
    from PIL import Image

    (left, top), (wide, high) = corner, size
    paths = "".join(
        "M" + "L".join(f"{x - left:.4f} {y - top:.4f}" for x, y in ring.tolist()) + "Z"
        for ring in rings
    )
    png = resvg_py.svg_to_bytes(
        svg_string=f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" '
        f'height="{high}"><path d="{paths}" fill-rule="evenodd"/></svg>',
        background="#ffffff",
        skip_system_fonts=True,
    )
    picture = Image.open(io.BytesIO(png)).getchannel(0)
    return 1.0 - np.asarray(picture) / np.float32(255.0)


def _rub_out(cover: NDArray[np.float32], ring: Floats) -> None:
    """Nothing is left of the cover where a ring is, px."""
    rows, columns = cover.shape
    left, top = np.maximum(np.floor(ring.min(axis=0)).astype(int) - 1, 0)
    right, bottom = np.minimum(np.ceil(ring.max(axis=0)).astype(int) + 1, (columns, rows))
    part = cover[top:bottom, left:right]
    gone = _painted([ring], (left, top), (right - left, bottom - top))
    np.minimum(part, 1.0 - gone, out=part)


def _cover(truth: SyntheticWindow, place: Floats, size: tuple[int, int]) -> NDArray[np.float32]:
    wide, high = truth.size_mm
    outer = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
    return _filled([outer, *(np.array(pane) for pane in truth.panes)], place, size)


def _broken_lines(truth: SyntheticWindow, faults: Faults, seed: int) -> list[Floats]:
    """Quads that rub a stretch out of some lines."""
    grid = truth.corners
    rows, columns = grid.shape[0] - 1, grid.shape[1] - 1
    lines = [grid[i, [j, j + 1]] for i in range(1, rows) for j in range(columns)]
    lines += [grid[[i, i + 1], j] for i in range(rows) for j in range(1, columns)]
    dice = random.Random(seed + 5)
    found = []
    for line in dice.sample(lines, round(faults.gaps * len(lines))):
        along = line[1] - line[0]
        length = float(np.hypot(*along))
        along = along / length
        across = np.array([-along[1], along[0]]) * truth.lead_mm
        room = max(0.0, length - faults.gap_mm - 2.0 * truth.lead_mm)
        start = line[0] + along * (truth.lead_mm + dice.random() * room)
        end = start + along * faults.gap_mm
        found.append(np.array([start - across, end - across, end + across, start + across]))
    return found


def _pencil(truth: SyntheticWindow, place: Floats, size: tuple[int, int]) -> NDArray[np.float32]:
    """Diagonals and overshooting construction lines, grey, a third of a millimetre wide."""
    wide, high = truth.size_mm
    page = np.full(size, PAPER, np.float32)
    lines = [((-5.0, -5.0), (wide + 5.0, high + 5.0)), ((wide + 4.0, -3.0), (-4.0, high + 2.0))]
    lines += [((-6.0, high * k / 3.0 + 1.7), (wide + 6.0, high * k / 3.0 + 1.1)) for k in (1, 2)]
    thick = max(1, round(0.3 * float(np.hypot(*place[:2, 0]))))
    for a, b in lines:
        ends = np.round(mapped(place, np.array([a, b]))).astype(int)
        cv2.line(page, tuple(ends[0].tolist()), tuple(ends[1].tolist()), (PENCIL,), thick,
                 cv2.LINE_AA)  # fmt: skip
    return page


def _crease(size: tuple[int, int], number: int, dpi: float) -> NDArray[np.float32]:
    """A fold: darker on one side of a line, bright on the ridge."""
    rows, columns = size
    slope = 0.05 * (number + 1)
    px_mm = np.float32(25.4 / dpi)
    down = (np.arange(rows, dtype=np.float32) - rows * (number + 1.0) / 3.3) * px_mm
    across = slope * px_mm * np.arange(columns, dtype=np.float32)
    lit = np.ones((rows, columns), np.float32)
    near = np.flatnonzero((down > -4.0) & (down < across[-1] + 40.0))  # beyond, less than 1e-4
    off = down[near, None] - across
    lit[near] -= 0.22 * np.exp(-np.maximum(off, 0.0) / 4.0) * (off >= 0.0)
    lit[near] += 0.05 * np.exp(-((off / 0.4) ** 2))
    return lit
