"""Unit factors against their definitions."""

from __future__ import annotations

import pytest

from glasswork.errors import ReadError
from glasswork.units import mm_to_pt, mm_to_px, parse_length_mm, pt_to_mm, px_to_mm


def test_points_of_standard_pages() -> None:
    # A4 is 210 x 297 mm [ISO 216]; 595.276 x 841.890 pt by 1/72 in [ISO 32000-1]; computed.
    assert mm_to_pt(210) == pytest.approx(595.276, abs=5e-4)
    assert mm_to_pt(297) == pytest.approx(841.890, abs=5e-4)
    assert pt_to_mm(612) == pytest.approx(215.9)


def test_pixels_there_and_back() -> None:
    assert mm_to_px(25.4, dpi=600) == 600
    assert px_to_mm(mm_to_px(12.3, dpi=300), dpi=300) == pytest.approx(12.3)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("120", 120), ("12cm", 120), (" 1 in ", 25.4), ("72pt", 25.4), ("96px", 25.4), ("6pc", 25.4)],
)
def test_lengths(text: str, mm: float) -> None:
    # CSS Values and Units: 1in = 2.54cm = 96px = 72pt = 6pc.
    assert parse_length_mm(text, where="t") == pytest.approx(mm)


@pytest.mark.parametrize("text", ["", "mm", "12 feet", "1e400q x", "nan", "1,5mm", "1e400"])
def test_not_a_length(text: str) -> None:
    with pytest.raises(ReadError, match="is not a length"):
        parse_length_mm(text, where="t")
