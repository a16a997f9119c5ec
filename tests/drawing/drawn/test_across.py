"""Bars and transoms, quarries and glass borders, measured in the written drawing.

svgelements reads the paths; what a line is comes from the class of its group.
"""

from __future__ import annotations

from math import inf
from typing import Any, NamedTuple
from xml.etree import ElementTree

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import Path as SvgPath

from glasswork.drawing.drawn import KINDS, design, draw
from glasswork.drawing.drawn.arched import TRACERIES
from glasswork.drawing.drawn.patterns import PATTERNS
from glasswork.drawing.make import drawn_window
from glasswork.errors import DrawingError
from glasswork.model.window import Window
from glasswork.readers.svg import read_svg

SVG = "{http://www.w3.org/2000/svg}"
ARCHED = [name for name in KINDS if name not in ("rose", "wheel")]


class Level(NamedTuple):
    """A level line: its height, ends and width, mm."""

    y: float
    left: float
    right: float
    wide: float

    def gap(self, other: Level) -> float | None:
        """What lies free between two, below 0 where they overlap; None if not side by side."""
        if min(self.right, other.right) - max(self.left, other.left) < 1e-3:
            return None
        return abs(self.y - other.y) - (self.wide + other.wide) / 2.0


def levels(svg: bytes) -> dict[str, list[Level]]:
    """The level lines of each role."""
    found: dict[str, list[Level]] = {}
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        if "stroke-width" not in group.attrib:
            continue
        wide = float(group.attrib["stroke-width"])
        for item in group.iter(f"{SVG}path"):
            for segment in SvgPath(item.attrib["d"]):
                if type(segment).__name__ not in ("Line", "Close") or not segment.length():
                    continue
                (x0, y0), (x1, y1) = segment.start, segment.end
                if abs(y0 - y1) < 1e-6:
                    line = Level(y0, min(x0, x1), max(x0, x1), wide)
                    found.setdefault(group.attrib["class"], []).append(line)
    return found


def gap_to_rounds(bar: Level, svg: bytes) -> float:
    """What lies free between a bar and the nearest circle of lead."""
    tree = ElementTree.fromstring(svg)
    line = shapely.LineString([(bar.left, bar.y), (bar.right, bar.y)])
    gaps = [
        line.distance(shapely.Point(float(c.attrib["cx"]), float(c.attrib["cy"])))
        - float(c.attrib["r"])
        - (bar.wide + float(group.attrib["stroke-width"])) / 2.0
        for group in tree.iter(f"{SVG}g")
        for c in group.findall(f"{SVG}circle")
    ]
    return min(gaps, default=inf)


@settings(max_examples=25, deadline=None)
@given(
    kind=st.sampled_from(ARCHED),
    lights=st.integers(1, 4),
    across=st.integers(0, 3),
    bars=st.integers(1, 9),
    tracery=st.sampled_from(TRACERIES),
    pattern=st.sampled_from(list(PATTERNS)),
    strip=st.sampled_from([0.0, 3.0, 6.5]),
    roundel=st.sampled_from(["none", "plain"]),
    bar=st.sampled_from([0.7, 2.0, 3.5]),
    wide=st.floats(60.0, 220.0),
    tall=st.floats(1.2, 2.8),
)
def test_bars_keep_clear_of_what_lies_level(**drawn: Any) -> None:
    """Of transoms, heads, sill, roundels and each other by glass; rows of quarries they follow."""
    params = {"quarry_height_mm": 11.0}
    for name, word in (("strip", "glass_border_mm"), ("bar", "bar_mm"), ("wide", "width_mm"),
                       ("across", "transoms")):  # fmt: skip
        params[word] = drawn.pop(name)
    params["height_mm"] = params["width_mm"] * drawn.pop("tall")
    try:
        svg = draw(drawn.pop("kind"), **drawn, **params)
    except DrawingError:
        return
    lines = levels(svg)
    bars = lines.get("bar", [])
    free = max(params["bar_mm"], 0.25 * params["quarry_height_mm"]) - 1e-3
    for bar in bars:
        others = [*lines.get("mullion", []), *lines.get("border", [])]
        others += [other for other in bars if other.y != bar.y]
        if drawn["tracery"] in ("none", "intersecting"):  # others hold circles of their own
            assert gap_to_rounds(bar, svg) >= free
        gaps = [gap for other in others if (gap := bar.gap(other)) is not None]
        assert min(gaps) >= free
    if drawn["pattern"] in ("rectangular", "brick"):
        row = [line.y for line in lines.get("lead", [])]
        for bar in bars:
            assert min(abs(bar.y - y) for y in row) < 1e-3


def test_bars_lie_at_even_places_between_transoms() -> None:
    """100 x 160 mm, borders of 4 and a transom of 3: one bar in the middle of each part."""
    svg = draw("casement", lights=2, transoms=1, bars=2, pattern="none")
    lines = levels(svg)
    transom = lines["mullion"][0].y
    heights = sorted({line.y for line in lines["bar"]})
    even = [(4.0 + transom - 1.5) / 2.0, (transom + 1.5 + 156.0) / 2.0]
    assert heights == pytest.approx(even, abs=0.5)
    assert len(lines["bar"]) == 2 * 2


def test_bars_without_room_are_left_out_and_told() -> None:
    found = design("casement", transoms=2, bars=12, roundel="plain", quarry_height_mm=20.0)
    drawn = {line.y for line in levels(found.svg())["bar"]}
    assert f"{12 - len(drawn)} of 12 saddle bars have no room" in " ".join(found.notes)
    assert 0 < len(drawn) < 12


def test_transoms_that_leave_no_glass_are_refused() -> None:
    with pytest.raises(DrawingError, match="between 4 transoms the glass would be"):
        draw("casement", transoms=4, height_mm=40.0, mullion_mm=4.0)
    assert draw("casement", transoms=4, height_mm=60.0, mullion_mm=4.0)


# -- glass borders --------------------------------------------------------------------------------


def _window(**params: Any) -> Window:
    return drawn_window(read_svg(draw("casement", **params), name="drawn.svg"), roles={})[0]


@pytest.mark.parametrize("strip", [2.0, 14.0, 24.0, 26.0, 28.0, 28.4])
@pytest.mark.parametrize("pattern", ["diamond", "rectangular", "brick", "honeycomb"])
def test_quarries_beside_a_wide_glass_border_stay_whole(strip: float, pattern: str) -> None:
    """Two lights of 64.5 mm: a border of 28 mm leaves half of a quarry 14 mm wide."""
    wide, high, lead = 14.0, 12.7, 0.9
    window = _window(lights=2, width_mm=140.0, quarry_width_mm=wide, glass_border_mm=strip,
                     pattern=pattern)  # fmt: skip
    left = 64.5 - 2.0 * (strip + lead)
    cell = min(wide * 1.5, left) * high
    whole = cell * {"diamond": 0.5, "honeycomb": 0.75}.get(pattern, 1.0)
    near = strip + lead - 1e-3
    quarries = [
        pane.region.area_mm2
        for pane in window.panes
        for box in (pane.region.box,)
        if box.left > 4.0 + near
        and box.right < 68.5 - near
        # those that head and sill cut may join
        and box.top > 4.0 + near + high
        and box.bottom < 156.0 - near
    ]
    assert len(quarries) > 4
    assert max(quarries) < whole


def test_a_glass_border_too_wide_is_told_how_wide_it_may_be() -> None:
    params: dict[str, Any] = {"lights": 2, "width_mm": 140.0, "quarry_width_mm": 14.0}
    with pytest.raises(DrawingError, match="a glass border of 31 mm leaves a light no room") as no:
        draw("casement", glass_border_mm=31.0, **params)
    limit = float(no.value.hint.removeprefix("make it at most ").removesuffix(" mm wide"))
    assert draw("casement", glass_border_mm=limit, **params)
    with pytest.raises(DrawingError, match="leaves a light no room"):
        draw("casement", glass_border_mm=limit + 0.1, **params)
