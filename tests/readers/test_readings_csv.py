"""Readings in plain tables, exported or typed in."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.calibrate.strip import strip_layout
from glasswork.errors import GlassworkError
from glasswork.readers.readings_csv import read_readings_csv

PLAIN = b"R,G,B,XYZ_X,XYZ_Y,XYZ_Z\n255,255,255,90,92,80\n0,0,0,1,1,1\n"


def test_separators_and_decimal_commas_agree() -> None:
    want = read_readings_csv(PLAIN, where="a").values
    for other in (
        PLAIN.replace(b",", b";"),
        PLAIN.replace(b",", b"\t"),
        PLAIN.replace(b",", b";").replace(b";1;1;1", b";1,0;1,0;1,0"),
        b"\xef\xbb\xbf# a comment\n\n" + PLAIN.replace(b"\n", b"\r\n"),
    ):
        assert np.allclose(read_readings_csv(other, where="a").values, want)


def test_typed_densities_by_patch_name() -> None:
    """A hand densitometer: patch names of the strip and three Status A densities."""
    layout = strip_layout("GLASSWORK F5 17")
    clear = next(p for p in layout.patches if p.use == "clear")
    dark = next(p for p in layout.patches if p.device == (0.0, 0.0, 0.0))
    data = (
        "# strip: GLASSWORK F5 17\npatch;red;green;blue\n"
        f"{clear.name};0,04;0,05;0,06\n{dark.name.lower()};1,24;1,35;1,46\n"
    ).encode()
    readings = read_readings_csv(data, where="typed.csv", layout_of_code=strip_layout)
    assert readings.kind == "density"
    assert readings.strip == layout.code
    assert readings.device.tolist() == [[1, 1, 1], [0, 0, 0]]
    assert np.allclose(readings.values[1], [1.2, 1.3, 1.4])


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no rows"),
        (b"R,G,B\n", "no rows"),
        (b"abc\n1\n", "one column"),
        (PLAIN + b"1,2,3\n", "3 values for 6 columns"),
        (PLAIN.replace(b"90,92", b"90,x"), "is not a number"),
        (b"patch,red,green,blue\nA1,0,0,0\n", "which strip"),
        (b"# strip: GLASSWORK F5 17\npatch,red,green,blue\nZ9,0,0,0\n", 'no patch "Z9"'),
        (b"# strip: NONSENSE\npatch,red,green,blue\nA1,0,0,0\n", "is not the code"),
        (b"red,green,blue\n0,0,0\n", "neither device values nor patch names"),
    ],
)
def test_bad_input_is_named(data: bytes, says: str) -> None:
    with pytest.raises(GlassworkError, match=says):
        read_readings_csv(data, where="typed.csv", layout_of_code=strip_layout)
