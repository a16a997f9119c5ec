"""Scans against the drawing they were made from."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from glasswork.drawing.make import make_window
from glasswork.drawing.trace import trace_scan
from glasswork.drawing.trace_follow import followed
from glasswork.drawing.trace_gaps import close_gaps, line_ends
from glasswork.drawing.trace_ink import find_ink
from glasswork.errors import DrawingError
from glasswork.model.geometry import Region
from glasswork.model.window import Scan, Sizing, Window
from glasswork.planar import Area

DPI = 300
PX = DPI / 25.4
COLUMNS, ROWS, PANE_MM, LEAD_MM, BORDER_MM = 4, 5, 15.0, 1.2, 3.0
WIDE = BORDER_MM * 2 + COLUMNS * PANE_MM + (COLUMNS - 1) * LEAD_MM
HIGH = BORDER_MM * 2 + ROWS * PANE_MM + (ROWS - 1) * LEAD_MM


def _grid(
    *, turn_deg: float = 0.0, gap_mm: float = 0.0, noise: float = 0.0, shade: float = 0.0
) -> Scan:
    """A grid of leads on paper, with the faults that a scan has."""
    rng = np.random.default_rng(7)
    margin = 10.0
    size = (round((HIGH + 2 * margin) * PX), round((WIDE + 2 * margin) * PX))
    page = np.full(size, 235.0, np.float32)

    def box(x0: float, y0: float, x1: float, y1: float, value: float) -> None:
        left, top, right, bottom = (round((v + margin) * PX) for v in (x0, y0, x1, y1))
        page[top:bottom, left:right] = value

    box(0, 0, WIDE, HIGH, 30.0)
    for row in range(ROWS):
        for column in range(COLUMNS):
            x = BORDER_MM + column * (PANE_MM + LEAD_MM)
            y = BORDER_MM + row * (PANE_MM + LEAD_MM)
            box(x, y, x + PANE_MM, y + PANE_MM, 235.0)
    if gap_mm:
        x = BORDER_MM + PANE_MM
        box(x - 0.1, BORDER_MM + 6.0, x + LEAD_MM + 0.1, BORDER_MM + 6.0 + gap_mm, 235.0)
    height, width = page.shape
    if turn_deg:
        turn = cv2.getRotationMatrix2D((width / 2, height / 2), turn_deg, 1.0)
        turned = cv2.warpAffine(page, turn, (width, height), borderValue=(235.0,))
        page = np.asarray(turned, np.float32)
    page *= 1.0 - shade * np.linspace(0, 1, width, dtype=np.float32)[None]
    page += rng.normal(0, noise, page.shape).astype(np.float32)
    grey = np.clip(page, 0, 255).astype(np.uint8)
    return Scan(name="grid.png", grey=grey, mm_per_px=25.4 / DPI)


def _window(scan: Scan) -> Window:
    return make_window(scan, roles={}, sizing=Sizing())[0]


@pytest.mark.parametrize(
    "faults",
    [
        {},
        {"noise": 8.0},
        {"shade": 0.4, "noise": 4.0},
        {"turn_deg": 2.0},
        {"gap_mm": 1.0},
        {"turn_deg": -1.5, "noise": 6.0, "shade": 0.3, "gap_mm": 1.0},
    ],
)
def test_a_grid_of_known_size(faults: dict[str, float]) -> None:
    window = _window(_grid(**faults))
    assert len(window.panes) == COLUMNS * ROWS
    assert window.size_mm == pytest.approx((WIDE, HIGH), abs=0.25)
    areas = np.sort([pane.region.area_mm2 for pane in window.panes])
    assert np.median(areas) == pytest.approx(PANE_MM**2, rel=0.01)
    assert areas == pytest.approx(np.full(len(areas), PANE_MM**2), rel=0.02)
    widths = [m.width_mm for m in window.members if m.role == "lead"]
    assert np.median(widths) == pytest.approx(LEAD_MM, abs=0.1)


def test_panes_and_members_tile_the_outline() -> None:
    window = _window(_grid(noise=6.0, turn_deg=1.0))
    whole = Area.of([window.outline])
    parts: list[Region] = [pane.region for pane in window.panes]
    parts += [region for member in window.members for region in member.area]
    total = sum(region.area_mm2 for region in parts)
    assert total == pytest.approx(whole.area_mm2, rel=1e-6)
    assert (whole - Area.of(parts)).area_mm2 <= 1e-6 * whole.area_mm2


def test_ink_is_told_from_paper_in_uneven_light() -> None:
    scan = _grid(shade=0.5)
    ink = find_ink(scan.grey, mm_per_px=25.4 / DPI)
    assert ink is not None
    plain = find_ink(_grid().grey, mm_per_px=25.4 / DPI)
    assert plain is not None
    assert (ink.lines != plain.lines).mean() < 1e-4
    paper = scan.grey[5:40, 5:-5]
    assert int(paper.min()) < 130 < int(paper.max())


def _closed(lines: NDArray[np.uint8], *, width_px: float, gap_px: float) -> int:
    found = followed(lines)
    ends = line_ends(found.dense(np.arange(len(found))), width_px=width_px)
    return close_gaps(lines, ends, gap_px=gap_px)


def test_a_gap_is_bridged_by_a_line_no_wider_than_the_line() -> None:
    lines = np.zeros((60, 200), np.uint8)
    lines[25:35, 10:90] = 255
    lines[25:35, 100:190] = 255
    assert _closed(lines, width_px=10.0, gap_px=15.0) == 1
    assert lines[30, 10:190].all()
    assert lines[:24].sum() == 0
    assert lines[36:].sum() == 0


def test_a_line_is_carried_on_to_the_line_before_it() -> None:
    lines = np.zeros((200, 200), np.uint8)
    lines[:, 150:160] = 255
    lines[95:105, 10:141] = 255
    assert _closed(lines, width_px=10.0, gap_px=15.0) == 1
    assert lines[100, 10:160].all()
    assert lines[:94, :149].sum() == 0
    assert lines[106:, :149].sum() == 0


def test_short_pieces_that_face_each_other_are_joined() -> None:
    """Across a gap between two crossings, each only a line's width from its own."""
    lines = np.zeros((120, 200), np.uint8)
    lines[20:30] = lines[90:100] = 255
    lines[30:42, 100:110] = lines[78:90, 100:110] = 255
    assert _closed(lines, width_px=10.0, gap_px=40.0) == 1
    assert lines[30:90, 105].all()
    assert lines[30:90, :99].sum() == 0
    assert lines[30:90, 111:].sum() == 0


def test_a_short_piece_by_itself_is_not_carried_on() -> None:
    """A point or a thorn on a lead is part of the drawing."""
    lines = np.zeros((120, 200), np.uint8)
    lines[20:30] = lines[90:100] = 255
    lines[30:37, 100:110] = 255
    before = lines.copy()
    assert _closed(lines, width_px=10.0, gap_px=70.0) == 0
    assert (lines == before).all()


def test_the_least_gap_is_closed() -> None:
    lines = np.zeros((200, 200), np.uint8)
    lines[:, 150:160] = 255
    lines[95:105, 10:149] = 255
    assert _closed(lines, width_px=10.0, gap_px=15.0) == 1
    assert lines[100, 10:160].all()


@pytest.mark.parametrize("dpi", [600, 1200])
@pytest.mark.parametrize("shift_px", [0.0, 0.25, 0.5, 1.0, 1.5])
@pytest.mark.parametrize("wide_px", [2.0, 2.5, 3.0, 4.0, 6.0, 8.0])
def test_thin_lines_along_rows_of_pixels(wide_px: float, shift_px: float, dpi: int) -> None:
    """Wherever they lie among pixels that are put together; they stop 4 px before the frame."""
    fine = np.zeros((3200, 3200), np.uint8)
    cv2.rectangle(fine, (208, 208), (2888, 2888), (255,), 32)
    for line in range(1, 5):
        first, last = (round(4 * (60 + 130 * line + shift_px + w)) for w in (0.0, wide_px))
        fine[first:last, 240:2856] = fine[240:2856, first:last] = 255
    ink = np.asarray(cv2.resize(fine, (800, 800), interpolation=cv2.INTER_AREA)) / 255.0
    page = np.asarray(cv2.GaussianBlur(236.0 - 202.0 * ink, (0, 0), 0.5))
    page += np.random.default_rng(3).normal(0.0, 5.0, page.shape)
    grey = np.clip(page, 0.0, 255.0).astype(np.uint8)
    assert len(_window(Scan(name="thin.png", grey=grey, mm_per_px=25.4 / dpi)).panes) == 25


def test_a_wider_gap_stays_open() -> None:
    lines = np.zeros((60, 200), np.uint8)
    lines[25:35, 10:80] = 255
    lines[25:35, 120:190] = 255
    before = lines.copy()
    assert _closed(lines, width_px=10.0, gap_px=15.0) == 0
    assert (lines == before).all()


def test_coloured_panes_keep_their_colour() -> None:
    scan = _grid()
    rgb = np.repeat(scan.grey[:, :, None], 3, axis=2)
    rgb[(rgb[:, :, 0] > 200) & (np.arange(rgb.shape[1])[None] < 500)] = (40, 90, 190)
    coloured = Scan(name="c.png", grey=scan.grey, mm_per_px=scan.mm_per_px, rgb=rgb)
    fills = {pane.fill for pane in _window(coloured).panes}
    assert fills == {None, "#285abe"}


def test_a_scan_without_size_needs_one() -> None:
    scan = _grid()
    bare = Scan(name="g.png", grey=scan.grey, mm_per_px=None)
    with pytest.raises(DrawingError, match="size"):
        make_window(bare, roles={}, sizing=Sizing())
    window, _ = make_window(bare, roles={}, sizing=Sizing(width_mm=80.0))
    assert window.size_mm[0] == pytest.approx(80.0)


@pytest.mark.parametrize("value", [255, 128])
def test_an_empty_page_is_refused(value: int) -> None:
    blank = Scan(name="b.png", grey=np.full((300, 300), value, np.uint8), mm_per_px=0.1)
    with pytest.raises(DrawingError):
        make_window(blank, roles={}, sizing=Sizing())


@pytest.mark.parametrize("high", [4, 5, 6, 7, 8, 12])
@pytest.mark.parametrize("dpi", [150, 300, 600])
def test_a_narrow_pane_keeps_its_four_corners(high: int, dpi: int) -> None:
    """A slot of few pixels, or of twice as many that are put together two by two."""
    scale = 2 if dpi == 600 else 1
    grey = np.full((120 * scale, 200 * scale), 235, np.uint8)
    grey[20 * scale : 80 * scale, 20 * scale : 180 * scale] = 30
    grey[40 * scale : (40 + high) * scale, 40 * scale : 150 * scale] = 235
    traced = trace_scan(Scan(name="slot.png", grey=grey, mm_per_px=25.4 / dpi))
    (lead,) = traced.art.marks[-1].area
    (pane,) = lead.holes
    assert len(pane) == 4
    px2 = Region(pane).area_mm2 / (25.4 / dpi) ** 2
    assert px2 == pytest.approx(high * 110 * scale**2, rel=0.03)


def test_a_thin_line_alone_encloses_nothing() -> None:
    """Dark somewhere, but nowhere dark enough to be followed."""
    grey = np.full((300, 300), 235, np.uint8)
    cv2.line(grey, (20, 30), (270, 200), (150,), 1)
    with pytest.raises(DrawingError):
        trace_scan(Scan(name="faint.png", grey=grey, mm_per_px=25.4 / 600))
