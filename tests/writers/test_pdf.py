"""PDF files, opened by poppler and pdfium."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from glasswork.errors import SheetError
from glasswork.model.geometry import Affine, Box, Region, mapped_regions
from glasswork.model.sheet import Document, Fill, Line, Page, Picture, Text
from glasswork.model.typeface import text_width_pt, written
from glasswork.writers.pdf import write_pdf

SQUARE = (Region(((20, 20), (80, 20), (80, 60), (20, 60)), (((30, 30), (40, 30), (40, 40)),)),)


def page(*items: Fill | Line | Text | Picture, size: tuple[float, float] = (210, 297)) -> Page:
    return Page(
        width_mm=size[0],
        height_mm=size[1],
        items=items,
        trim=Box(15, 12, 195, 280),
        bleed=Box(12, 9, 198, 283),
    )


def document(*pages: Page, created: str = "2024-05-17T09:30:00+02:00") -> Document:
    return Document(
        title="Kelp window: films", pages=pages, created=created, subject="s", keywords=("a", "b")
    )


def pdfium(data: bytes, *, dpi: float = 300.0, number: int = 0) -> np.ndarray:
    bitmap = pypdfium2.PdfDocument(data)[number].render(scale=dpi / 72.0, rev_byteorder=True)
    return np.ascontiguousarray(bitmap.to_numpy()[:, :, :3])


def poppler(data: bytes, folder: Path, *, dpi: int = 300) -> np.ndarray:
    (folder / "x.pdf").write_bytes(data)
    subprocess.run(
        ["pdftoppm", "-r", str(dpi), "-singlefile", "x.pdf", "x"], cwd=folder, check=True
    )
    return np.asarray(Image.open(folder / "x.ppm").convert("RGB"))


def at(picture: np.ndarray, x_mm: float, y_mm: float, *, dpi: float = 300.0) -> tuple[int, ...]:
    return tuple(picture[int(y_mm * dpi / 25.4), int(x_mm * dpi / 25.4)].tolist())


@pytest.mark.parametrize(
    ("size", "points"),
    [((210.0, 297.0), (595.276, 841.890)), ((215.9, 279.4), (612.0, 792.0))],
    ids=["A4", "Letter"],
)
def test_boxes_are_in_points_of_a_72nd_inch(
    size: tuple[float, float], points: tuple[float, float]
) -> None:
    """A4 and Letter in points: computed from ISO 216, 8.5 x 11 in and 1/72 in [iso32000]."""
    opened = pypdfium2.PdfDocument(write_pdf(document(page(size=size))))[0]
    assert opened.get_mediabox() == pytest.approx((0, 0, *points), abs=2e-3)
    to_pt, height = 72 / 25.4, points[1]
    trim = (15 * to_pt, max(0.0, height - 280 * to_pt), 195 * to_pt, height - 12 * to_pt)
    bleed = (12 * to_pt, max(0.0, height - 283 * to_pt), 198 * to_pt, height - 9 * to_pt)
    assert opened.get_trimbox() == pytest.approx(trim, abs=2e-3)
    assert opened.get_bleedbox() == pytest.approx(bleed, abs=2e-3), "boxes never leave the page"


def test_every_device_value_comes_through_two_readers_unchanged(tmp_path: Path) -> None:
    """All 256 values of each channel, as flat areas and as pixels of a picture."""
    items: list[Fill | Picture] = []
    for value in range(256):
        x, y = 5 + value % 16 * 10, 5 + value // 16 * 10
        ring = ((x, y), (x + 8, y), (x + 8, y + 8), (x, y + 8))
        items.append(Fill(area=(Region(ring),), colour=(value, 255 - value, value ^ 85)))
    values = np.arange(256, dtype=np.uint8).reshape(16, 16)
    pixels = np.stack([values, 255 - values, values ^ 85], axis=2)
    items.append(Picture(box=Box(5, 170, 105, 270), pixels=pixels))
    data = write_pdf(document(page(*items)))
    for picture in (pdfium(data, dpi=100), poppler(data, tmp_path, dpi=100)):
        for value in range(256):
            asked = (value, 255 - value, value ^ 85)
            flat = at(picture, 9 + value % 16 * 10, 9 + value // 16 * 10, dpi=100)
            pixel = at(
                picture, 5 + (value % 16 + 0.5) * 6.25, 170 + (value // 16 + 0.5) * 6.25, dpi=100
            )
            assert flat == asked
            assert pixel == asked


def test_no_profile_and_no_foreign_font() -> None:
    data = write_pdf(document(page(Text(at=(20, 20), text="Kelp", size_pt=9))))
    for word in (b"ICCBased", b"OutputIntent", b"CalRGB", b"DeviceCMYK", b"Helvetica"):
        assert word not in data
    assert data.count(b"/FontFile2") == 1


def test_the_same_document_gives_the_same_bytes() -> None:
    asked = document(
        page(Fill(area=SQUARE, colour=(9, 99, 199)), Text(at=(1, 9), text="a", size_pt=8))
    )
    first = write_pdf(asked)
    assert write_pdf(asked) == first
    assert write_pdf(document(*asked.pages, created="2024-05-18")) != first


def test_metadata_and_the_wish_to_be_printed_at_full_size() -> None:
    data = write_pdf(document(page()))
    opened = pypdfium2.PdfDocument(data)
    facts = opened.get_metadata_dict()
    assert facts["Title"] == "Kelp window: films"
    assert facts["Keywords"] == "a, b"
    assert facts["CreationDate"] == "D:20240517093000+02'00'"
    assert re.search(rb"/PrintScaling\s*/None", data)
    assert opened.get_version() == 14


def test_holes_stay_open_and_lines_have_their_width(tmp_path: Path) -> None:
    line = Line(points=((20, 100), (120, 100)), width_mm=2.0, colour=(0, 0, 255))
    data = write_pdf(document(page(Fill(area=SQUARE, colour=(200, 13, 77)), line)))
    for picture in (pdfium(data), poppler(data, tmp_path)):
        assert at(picture, 25, 25) == (200, 13, 77)
        assert at(picture, 37, 32) == (255, 255, 255)
        px = 300 / 25.4
        inked = 1.0 - picture[round(90 * px) : round(110 * px), :, 0] / 255.0
        assert inked.sum(axis=0)[round(60 * px)] / px == pytest.approx(2.0, abs=0.05)
        assert inked.sum() / px**2 == pytest.approx(200.0, rel=0.02)
        middle = (inked.sum(axis=1) * (np.arange(len(inked)) + 0.5)).sum() / inked.sum()
        assert (middle + round(90 * px)) / px == pytest.approx(100.0, abs=0.02)


@pytest.mark.parametrize(
    "place",
    [
        Affine(a=0.8, d=0.8, e=30.0, f=60.0),
        Affine(a=0.5, b=0.22, c=-0.1, d=1.0, e=40.0, f=90.0),
        Affine(a=-1.0, d=1.0, e=180.0, f=10.0),
    ],
    ids=["smaller", "slanted", "mirrored"],
)
def test_a_moved_area_lies_where_its_corners_do(place: Affine, tmp_path: Path) -> None:
    moved = Fill(area=SQUARE, colour=(200, 13, 77), to_page=place)
    mapped = Fill(area=mapped_regions(SQUARE, place), colour=(200, 13, 77))
    after = Fill(area=(Region(((10, 10), (14, 10), (14, 14))),), colour=(200, 13, 77))
    one, other = (write_pdf(document(page(item, after))) for item in (moved, mapped))
    for show in (pdfium, lambda data: poppler(data, tmp_path)):
        a, b = show(one).astype(int), show(other).astype(int)
        assert (b < 255).any()
        assert np.abs(a - b).max() <= 12


def test_a_picture_shows_only_inside_its_mask() -> None:
    pixels = np.full((4, 6, 3), (10, 200, 30), dtype=np.uint8)
    mask = (Region(((20, 100), (100, 100), (60, 150))),)
    shown = pdfium(
        write_pdf(document(page(Picture(box=Box(20, 100, 100, 150), pixels=pixels, mask=mask))))
    )
    assert at(shown, 60, 120) == (10, 200, 30)
    assert at(shown, 22, 148) == (255, 255, 255)


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_text_stands_at_its_anchor(anchor: str) -> None:
    text = Text(at=(100, 60), text="HHHH", size_pt=20, anchor=anchor)
    rows, columns = np.nonzero(pdfium(write_pdf(document(page(text)))).min(axis=2) < 128)
    px = 300 / 25.4
    width = text_width_pt("HHHH", 20) * 25.4 / 72
    left = {"start": 100.0, "middle": 100.0 - width / 2, "end": 100.0 - width}[anchor]
    assert columns.min() / px == pytest.approx(left, abs=0.8)
    assert columns.max() / px == pytest.approx(left + width, abs=0.8)
    assert rows.max() / px == pytest.approx(60.0, abs=0.15)


def test_mirrored_text_reads_through_the_film() -> None:
    plain = Text(at=(100, 60), text="FRONT 1", size_pt=20, anchor="middle")
    mirrored = Text(at=(100, 60), text="FRONT 1", size_pt=20, anchor="middle", mirrored=True)
    size = (200, 297)
    a = pdfium(write_pdf(document(page(plain, size=size)))).astype(int)
    b = pdfium(write_pdf(document(page(mirrored, size=size)))).astype(int)
    assert np.abs(a - b).max() > 200
    assert np.abs(a - b[:, ::-1]).mean() < 0.2


def test_characters_without_a_glyph_are_never_boxes() -> None:
    assert written("ΔE00 ≤ 3 × 2 − 1° ± ½") == "∆E00 ≤ 3 × 2 − 1° ± ½"
    assert written("ű Ş 漢") == "u Ş ?"
    data = write_pdf(document(page(Text(at=(10, 20), text="Varnholt ΔE00 šé", size_pt=9))))
    read = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert read.replace("∆", "Δ").strip() == "Varnholt ΔE00 šé"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (document(), "has no page"),
        (document(page(size=(0, 10))), "0 x 10 mm is no page"),
        (document(page(size=(9000, 10))), "5080"),
        (document(page(), created="today"), '"today" is not a date'),
    ],
)
def test_what_cannot_be_written_is_refused(asked: Document, said: str) -> None:
    with pytest.raises(SheetError, match=said):
        write_pdf(asked)
