"""Pens as SVG draws them: a corner sharper than the mitre limit is cut square across.

Against cairo, which draws strokes by the same rule: area of ink at 40 px a mm.
"""

from __future__ import annotations

from io import BytesIO
from math import cos, pi, sin

import numpy as np
import pytest
from PIL import Image

from glasswork.model.geometry import Region
from glasswork.planar import Area, AreaSet, Pen, drawn

_STAR = [
    (30.0 + r * cos(i * pi / 5.0), 30.0 + r * sin(i * pi / 5.0))
    for i, r in enumerate([25.0, 6.0] * 5)
]
_LINES = {
    "hairpin": ([(5.0, 8.0), (50.0, 10.0), (5.0, 12.0)], False),
    "two hairpins": ([(5.0, 8.0), (50.0, 9.0), (5.0, 10.0), (20.0, 40.0), (22.0, 12.0)], False),
    "star": (_STAR, True),
    "star, other start": (_STAR[3:] + _STAR[:3], True),
    "square": ([(10.0, 10.0), (40.0, 10.0), (40.0, 40.0), (10.0, 40.0)], True),
    "open corner": ([(10.0, 40.0), (25.0, 10.0), (40.0, 40.0)], False),
}


def _ink_mm2(points: list[tuple[float, float]], closed: bool, limit: float) -> float:
    import cairosvg

    data = "M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in points) + ("Z" if closed else "")
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60" height="60" viewBox="0 0 60 60">'
        f'<rect width="60" height="60" fill="#fff"/><path d="{data}" fill="none" stroke="#000" '
        f'stroke-width="2" stroke-miterlimit="{limit}"/></svg>'
    )
    png = cairosvg.svg2png(bytestring=svg.encode(), output_width=2400, output_height=2400)
    grey = np.asarray(Image.open(BytesIO(png)).convert("L"), dtype=np.float64)
    return float((1.0 - grey / 255.0).sum() / 40.0**2)


@pytest.mark.parametrize("limit", [1.0, 2.0, 4.0, 10.0])
@pytest.mark.parametrize("name", _LINES)
def test_corners_are_mitred_up_to_the_limit_and_cut_beyond(name: str, limit: float) -> None:
    points, closed = _LINES[name]
    area = drawn([(points, closed)], [Pen(width_mm=2.0, mitre_limit=limit)])[0]
    assert area.area_mm2 == pytest.approx(_ink_mm2(points, closed, limit), rel=2e-3)


def test_a_hairpin_ends_where_its_bevel_ends() -> None:
    points, closed = _LINES["hairpin"]
    area = drawn([(points, closed)], [Pen(width_mm=2.0)])[0]
    assert area.bounds.right == pytest.approx(50.0, abs=0.05)


@pytest.mark.parametrize("apart", [1e-8, 5e-7, 3e-6])
def test_a_corner_told_twice_is_grown_as_one(apart: float) -> None:
    """A sharp corner keeps its mitre: the grown triangle is similar to the plain one's."""
    plain = Region(((0.0, 0.0), (20.0, 0.0), (10.0, -14.0)))
    twice = Region(((0.0, 0.0), (20.0, 0.0), (10.0, -14.0), (0.0, -apart)))
    wanted = Area.of([plain]).grown(1.0)
    assert Area.of([twice]).grown(1.0).area_mm2 == pytest.approx(wanted.area_mm2, abs=1e-3)
    (grown,) = AreaSet.of_regions([twice]).grown([1.0]).regions()
    assert Area.of(grown).area_mm2 == pytest.approx(wanted.area_mm2, abs=1e-3)
