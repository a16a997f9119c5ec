"""The strip as printed: its file is opened with another program and measured."""

from __future__ import annotations

from collections import Counter
from itertools import product

import cv2
import numpy as np
import pypdfium2
import pytest

from glasswork.calibrate.byeye import eye_page
from glasswork.calibrate.strip import strip_code, strip_layout
from glasswork.calibrate.strip_page import MARGIN_MM, placing, strip_pages
from glasswork.errors import CalibrationError, SheetError
from glasswork.model.sheet import Document, Fill, Line, PageSize, Text
from glasswork.writers.pdf import write_pdf
from tests.calibrate.conftest import page_size, strip_pdf

DPI = 254.0
PX = DPI / 25.4


def rendered(pdf: bytes, page: int = 0) -> np.ndarray:
    picture = pypdfium2.PdfDocument(pdf)[page].render(scale=DPI / 72.0).to_pil()
    return np.asarray(picture.convert("RGB"))


@pytest.mark.parametrize("steps", [3, 4, 5])
def test_lattice_is_whole_and_ramps_lie_between(steps: int) -> None:
    layout = strip_layout(strip_code(steps=steps))
    levels = [round(255 * i / (steps - 1)) / 255 for i in range(steps)]
    printed = {patch.device for patch in layout.patches}
    assert set(product(levels, repeat=3)) <= printed
    uses = Counter(patch.use for patch in layout.patches)
    assert uses["node"] == steps**3 - 1
    assert uses["clear"] == 25
    for axis in range(3):
        alone = {
            p.device[axis]
            for p in layout.patches
            if all(v == 1.0 for i, v in enumerate(p.device) if i != axis)
        }
        assert len(alone) >= 2 * steps - 1
    greys = {p.device[0] for p in layout.patches if len(set(p.device)) == 1}
    assert len(greys) >= 2 * steps + 2


def test_clear_patches_lie_all_over_the_block() -> None:
    layout = strip_layout(strip_code())
    spots = np.array([p.box.centre for p in layout.patches if p.use == "clear"])
    block = np.array([p.box.centre for p in layout.patches])
    assert (spots.min(axis=0) == block.min(axis=0)).all()
    assert (spots.max(axis=0) == block.max(axis=0)).all()
    for spot in block:
        assert np.linalg.norm(spots - spot, axis=1).min() < 30.0


def test_order_is_scattered_and_named_by_the_code() -> None:
    one, same, other = (strip_layout(strip_code(order=n)) for n in (17, 17, 18))
    assert one == same
    assert one.patches != other.patches
    grey = [(p.device[0], p.box.left) for p in one.patches if len(set(p.device)) == 1]
    inked = np.array([g for g in grey if g[0] < 1.0])
    # A ramp that lay in order would lean with the light: rank correlation with place stays low.
    assert abs(np.corrcoef(inked.T)[0, 1]) < 0.6


@pytest.mark.parametrize("page", ["a4", "letter"])
@pytest.mark.parametrize("quick", [False, True])
def test_printed_patches_hold_their_device_values(page: str, quick: bool) -> None:
    layout = strip_layout(strip_code(quick=quick))
    size = page_size(page)
    picture = rendered(strip_pdf(quick=quick, page=page))
    assert abs(picture.shape[1] / PX - size.width_mm) < 0.15
    place = placing(layout, size)
    for patch in layout.patches:
        x, y = place.apply(patch.box.centre)
        seen = picture[round(y * PX), round(x * PX)]
        assert np.abs(seen - 255 * np.array(patch.device)).max() <= 1, patch.name


def test_everything_stays_inside_the_printable_page() -> None:
    for page in ("a4", "letter"):
        size = page_size(page)
        for layout in (strip_layout(strip_code()), strip_layout(strip_code(quick=True))):
            for item in strip_pages(layout, size)[0].items:
                points = (
                    [p for r in item.area for p in r.outer]
                    if isinstance(item, Fill)
                    else list(item.points)
                    if isinstance(item, Line)
                    else [item.at]  # type: ignore[union-attr]
                )
                for x, y in points:
                    assert MARGIN_MM <= x <= size.width_mm - MARGIN_MM
                    assert MARGIN_MM <= y <= size.height_mm - MARGIN_MM


def test_rules_measure_100_mm_on_both_axes() -> None:
    """The ends of each rule are found in the rendered page: 100 ± 0.05 mm."""
    layout = strip_layout(strip_code())
    size = page_size("a4")
    dark = rendered(strip_pdf())[:, :, 1] < 128
    left, top = placing(layout, size).apply((0.0, layout.block.bottom + 6.0))
    across = dark[round((top + 2.5) * PX)]
    ends = np.flatnonzero(across[round((left + 35) * PX) : round((left + 145) * PX)])
    assert abs((ends[-1] - ends[0]) / PX - 100.0) < 0.15
    down = dark[:, round((left + 5.5) * PX)]
    ends = np.flatnonzero(down[round((top - 3) * PX) : round((top + 104) * PX)])
    assert abs((ends[-1] - ends[0]) / PX - 100.0) < 0.15
    long = [
        item.points
        for item in strip_pages(layout, size)[0].items
        if isinstance(item, Line) and len(item.points) == 2
    ]
    spans = [np.hypot(b[0] - a[0], b[1] - a[1]) for a, b in long]
    assert sum(abs(span - 100.0) < 1e-9 for span in spans) == 2


@pytest.mark.parametrize("quick", [False, True])
def test_code_is_read_by_opencv(quick: bool) -> None:
    text, *_ = cv2.QRCodeDetector().detectAndDecode(rendered(strip_pdf(quick=quick)))
    assert text == strip_code(quick=quick)


def test_copies_register_and_say_which_they_are() -> None:
    layout = strip_layout(strip_code())
    pages = strip_pages(layout, page_size("a4"), films=2)
    assert len(pages) == 2

    def drawn(number: int) -> list[object]:
        return [i for i in pages[number].items if not isinstance(i, Text)]

    assert drawn(0) == drawn(1)
    words = [" ".join(i.text for i in p.items if isinstance(i, Text)) for p in pages]
    assert "film 1 of 2" in words[0]
    assert "film 2 of 2" in words[1]
    assert len(write_pdf(Document(title="strip", pages=pages, created="2026-01-02"))) > 10_000


def test_sheet_by_eye_fits_and_covers_what_it_says() -> None:
    """The share of a row that its lines cover is the share it is named for."""
    for page in ("a4", "letter"):
        sheet = eye_page(page_size(page))
        size = page_size(page)
        for item in sheet.items:
            if isinstance(item, Fill):
                for region in item.area:
                    box = region.box
                    assert box.left >= 4.0
                    assert box.right <= size.width_mm - 4.0
                    assert box.bottom <= size.height_mm - 7.0
    lines = [
        i
        for i in sheet.items
        if isinstance(i, Fill) and i.area[0].box.width > 150 and i.colour == (0, 255, 255)
    ]
    tops = sorted(i.area[0].box.top for i in lines)
    pitch = min(np.diff(tops))
    heights = sorted({round(i.area[0].box.height / pitch, 3) for i in lines})
    assert heights == [0.25, 0.5, 0.75]


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: strip_code(steps=7), "no strip with 7 steps"),
        (lambda: strip_code(order=1000), "order 1000"),
        (lambda: strip_layout("HELLO"), "is not the code of a calibration strip"),
        (lambda: strip_pages(strip_layout(strip_code()), page_size("a4"), films=4), "4 films"),
        (
            lambda: strip_pages(
                strip_layout(strip_code()),
                PageSize(name="a5", title="A5", width_mm=148, height_mm=210),
            ),
            "does not fit",
        ),
    ],
)
def test_what_cannot_be_is_refused(make, says: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises((CalibrationError, SheetError), match=says):
        make()
