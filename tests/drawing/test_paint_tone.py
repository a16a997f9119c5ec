"""Painted marks: dark ones are opaque trace lines, paler ones shades matted over the glass."""

from __future__ import annotations

import pytest

from glasswork.drawing.inks import paint_tone
from glasswork.drawing.make import make_window
from glasswork.model.window import Sizing
from glasswork.readers.svg import read_svg

DRAWING = b"""<svg xmlns="http://www.w3.org/2000/svg"
 width="60mm" height="60mm" viewBox="0 0 60 60">
<rect x="1" y="1" width="58" height="58" fill="#8fc0e8" stroke="#000" stroke-width="2"/>
<path d="M30 1V59" stroke="#000" stroke-width="2"/>
<path class="trace" d="M8 10L20 20" stroke="#111111" stroke-width="0.6"/>
<rect class="shade" x="36" y="8" width="14" height="40" fill="#808080"/>
</svg>"""


@pytest.mark.parametrize(
    ("colour", "tone"),
    [("#000000", 1.0), ("#111111", 1.0), (None, 1.0), ("#808080", 0.498), ("#ffffff", 0.05)],
)
def test_the_paler_the_paint_the_thinner(colour, tone) -> None:
    assert paint_tone(colour) == pytest.approx(tone, abs=0.005)


def test_marks_with_the_role_paint_keep_their_tone_and_leave_the_glass_its_colour() -> None:
    art = read_svg(DRAWING, name="paint.svg")
    window, _ = make_window(art, roles={"trace": "paint", "shade": "paint"}, sizing=Sizing())
    assert sorted(round(stroke.tone, 2) for stroke in window.paint) == [0.5, 1.0]
    assert {pane.fill for pane in window.panes} == {"#8fc0e8"}
