"""Page files, the shipped ones against the standards."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.errors import Faults, ProfileError
from glasswork.readers.page import read_page

PAGES = Path(__file__).parents[2] / "profiles" / "pages"

ISO_216_A4 = (210.0, 297.0)
"""ISO 216 [iso216]."""
LETTER = (8.5 * 25.4, 11.0 * 25.4)
"""8.5 x 11 in [us-letter]."""


@pytest.mark.parametrize(("name", "size"), [("a4", ISO_216_A4), ("letter", LETTER)])
def test_shipped_pages_have_the_standard_size(name: str, size: tuple[float, float]) -> None:
    page = read_page((PAGES / f"{name}.toml").read_bytes(), where=name)
    assert page.name == name
    assert (page.width_mm, page.height_mm) == pytest.approx(size, abs=1e-9)


def test_every_wrong_value_is_told_at_once() -> None:
    data = b'name = ""\ntitle = "x"\nwidth_mm = 20\nheight_mm = 9000\n'
    with pytest.raises(Faults) as caught:
        read_page(data, where="odd.toml")
    assert [fault.where for fault in caught.value.each()] == [
        "odd.toml, width_mm",
        "odd.toml, height_mm",
        "odd.toml, name",
    ]
    assert "20 mm is not between 50 and 5000" in str(caught.value)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b'name = "x"\ntitle = "x"\nwidth_mm = 200\nheight = 300\n', "height_mm"),
        (b'name = "x"\ntitle = "x"\nwidth_mm = "A4"\nheight_mm = 300\n', "width_mm"),
        (b'name = "x"\ntitle = "x"\nwidth_mm = nan\nheight_mm = 300\n', "not a finite number"),
        (b"name = \n", "not TOML"),
    ],
)
def test_a_wrong_file_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(ProfileError, match=said):
        read_page(data, where="odd.toml")
