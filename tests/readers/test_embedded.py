"""Pictures within an SVG, read as scans when asked for."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
from PIL import Image

from glasswork.drawing.make import make_window
from glasswork.errors import ReadError
from glasswork.model.window import LineArt, Scan, Sizing
from glasswork.readers.design import read_design


def _picture(kind: str = "PNG") -> str:
    """A frame of 20 × 10 mm at 10 px a millimetre, parted down the middle."""
    page = np.full((140, 240), 240, np.uint8)
    page[20:120, 20:220] = 30
    page[30:110, 30:115] = 240
    page[30:110, 125:210] = 240
    kept = io.BytesIO()
    Image.fromarray(page).save(kept, kind, dpi=(72, 72))
    head = f"data:image/{kind.lower()};base64,"
    return head + base64.b64encode(kept.getvalue()).decode()


def _svg(body: str, size: str = 'width="48mm" height="28mm" viewBox="0 0 240 140"') -> bytes:
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"<svg {space} {size}>{body}</svg>".encode()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_has_the_size_it_has_in_the_drawing(kind: str) -> None:
    """Not the size its own resolution would give it: 240 px over 48 mm."""
    image = f'<image width="120" height="70" xlink:href="{_picture(kind)}"/>'
    data = _svg(f'<g transform="scale(2)">{image}</g><path d="M0 0H240" stroke="#000"/>')
    art = read_design(data, name="carrier.svg", embedded=True)
    assert isinstance(art, Scan)
    assert art.mm_per_px == pytest.approx(0.2)
    window, _ = make_window(art, roles={}, sizing=Sizing())
    assert len(window.panes) == 2
    assert window.size_mm == pytest.approx((40.0, 20.0), abs=0.1)


def test_unless_asked_the_lines_are_read() -> None:
    art = read_design(_svg(f'<image href="{_picture()}"/><path d="M0 0H9" stroke="#000"/>'),
                      name="carrier.svg")  # fmt: skip
    assert isinstance(art, LineArt)
    assert len(art.marks) == 1
    assert "--embedded" in art.notes[0]


def test_a_picture_in_a_drawing_without_size_has_none() -> None:
    art = read_design(_svg(f'<image href="{_picture()}"/>', ""), name="a.svg", embedded=True)
    assert isinstance(art, Scan)
    assert art.mm_per_px is None


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("", "0 pictures are embedded in it, 1 is read"),
        (2 * f'<image href="{_picture()}"/>', "2 pictures are embedded in it, 1 is read"),
        ('<image href="data:image/webp;base64,AAAA"/>', 'an embedded picture is "image/webp"'),
        ('<image href="data:image/png;base64,AAA"/>', "an embedded picture is cut short"),
        ('<image href="data:image/png;base64,AAAA"/>', "not a whole PNG or JPEG picture"),
        ('<image href="data:image/png"/>', 'an embedded picture is "image/png"'),
        ('<image href="elsewhere.png"/>', "it shows a picture from another file"),
    ],
)
def test_pictures_that_cannot_be_used(body: str, said: str) -> None:
    with pytest.raises(ReadError) as caught:
        read_design(_svg(body), name="a.svg", embedded=True)
    assert said in str(caught.value)
    assert caught.value.hint
