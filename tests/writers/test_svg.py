"""Cut files as SVG."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from defusedxml import ElementTree
from PIL import Image

from glasswork.model.frame import CutPath
from glasswork.writers.svg import write_cut_svg, write_outline_svg

SVG = "{http://www.w3.org/2000/svg}"
SQUARE = ((10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0))


def test_a_user_unit_is_a_millimetre() -> None:
    root = ElementTree.fromstring(write_cut_svg((), (123.4, 56.0), title="reeds & <salt>"))
    assert root.get("width") == "123.4mm"
    assert root.get("height") == "56mm"
    assert root.get("viewBox") == "0 0 123.4 56"
    assert root.find(f"{SVG}title").text == "reeds & <salt>"


def test_one_named_group_an_operation_inside_before_outside() -> None:
    paths = [
        CutPath(operation=name, points=SQUARE)
        for name in ("outline", "inside", "score", "hole", "engrave")
    ]
    root = ElementTree.fromstring(write_cut_svg(paths, (40.0, 40.0), title="t"))
    names = [group.get("id") for group in root.iter(f"{SVG}g")]
    assert names == ["cut", "engrave", "score", "holes", "inside", "outline"]
    text = write_cut_svg(paths, (40.0, 40.0), title="t").decode()
    assert "#" not in text
    assert text.count("stroke=") == 1  # colour says nothing


def test_arcs_stay_arcs_and_run_the_right_way() -> None:
    """A half circle bulging from x towards y, drawn by an independent renderer."""
    import resvg_py

    path = CutPath(operation="outline", points=((10.0, 20.0), (30.0, 20.0)), bulges=(1.0, 0.0))
    data = write_cut_svg((path,), (40.0, 40.0), title="t").decode()
    assert data.count("A10 10 0 0 1 30 20") == 1
    png = resvg_py.svg_to_bytes(
        svg_string=data.replace('fill="none"', 'fill="black"'), dpi=254, background="#ffffff"
    )
    grey = np.asarray(Image.open(BytesIO(bytes(png))).convert("L"))
    # from (10, 20) to (30, 20) turning from x towards y goes clockwise on paper: over the top
    assert grey[120, 200] < 128
    assert grey[280, 200] > 128


def test_the_same_paths_give_the_same_bytes() -> None:
    paths = (CutPath(operation="hole", points=SQUARE),)
    assert write_cut_svg(paths, (1.0, 1.0), title="t") == write_cut_svg(
        paths, (1.0, 1.0), title="t"
    )


def test_open_paths_are_not_closed() -> None:
    path = CutPath(operation="score", points=((0.0, 0.0), (5.0, 5.0)), closed=False)
    assert b'd="M0 0L5 5"' in write_cut_svg((path,), (9.0, 9.0), title="t")


def test_outlines_are_written_as_they_are() -> None:
    from glasswork.model.geometry import Region

    hole = ((15.0, 15.0), (20.0, 15.0), (20.0, 20.0))
    data = write_outline_svg((Region(SQUARE, (hole,)),), (40.0, 40.0), title="t").decode()
    assert data.index('id="holes"') < data.index('id="outline"')
    assert "M15 15L20 15L20 20Z" in data


@pytest.mark.parametrize("value", [1e-9, -1e-9])
def test_no_minus_zero_and_no_exponents(value: float) -> None:
    path = CutPath(operation="score", points=((value, 0.0), (1e6 / 3, 1.0)), closed=False)
    text = write_cut_svg((path,), (9.0, 9.0), title="t").decode()
    assert "M0 0L333333.33333 1" in text
