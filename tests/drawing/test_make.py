"""Small drawings with a known answer, one habit of makers each."""

from __future__ import annotations

from math import pi

import pytest

from glasswork.drawing.areas import leaded_by_area
from glasswork.drawing.inks import Roles
from glasswork.drawing.lines import leaded_by_lines
from glasswork.drawing.make import drawn_window
from glasswork.model.finding import Finding
from glasswork.model.window import LineArt, Role, Window
from glasswork.readers.svg import read_svg
from tests.bench.designs import synthetic_window, synthetic_window_svg
from tests.drawing.tiling import tiling_error


def art(body: str) -> LineArt:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
        f'<g fill="none" stroke="#000" stroke-width="2">{body}</g></svg>'
    )
    return read_svg(svg.encode(), name="a.svg")


def window(body: str) -> tuple[Window, tuple[Finding, ...]]:
    found = drawn_window(art(body), roles={})
    assert tiling_error(found[0]) < 1e-9
    return found


FRAME = '<rect x="1.5" y="1.5" width="57" height="77" stroke-width="3"/>'


def areas(found: Window) -> list[float]:
    return sorted(round(pane.region.area_mm2, 4) for pane in found.panes)


@pytest.mark.parametrize(
    "bar",
    [
        '<path d="M1.5 40H58.5"/>',
        '<path d="M2.5 40H57.5"/>',
        '<path d="M3 40H57"/>',
        '<path d="M0 40H60"/>',
        '<path d="M0.2 40H59.8" stroke-linecap="round"/>',
        '<path d="M1.5 39h57v2h-57z" stroke="none" fill="#000"/>',
        '<path d="M1.5 40H30M58.5 40H30"/>',
        '<path d="M1.5 40H40"/><path d="M20 40H58.5"/>',
        '<path d="M1.5 39.5H58.5" stroke-width="1"/><path d="M1.5 40.5H58.5" stroke-width="1"/>',
    ],
)
def test_a_bar_may_be_drawn_in_many_ways(bar: str) -> None:
    """However its ends are drawn, the bar parts the glass into two halves of 54 × 36 mm."""
    found, _ = window(FRAME + bar)
    assert areas(found) == [1944.0, 1944.0]


def test_lines_and_painted_surface_agree() -> None:
    drawing = read_svg(synthetic_window_svg(60, "strokes", 5), name="a.svg")
    roles = Roles({}, where="a.svg")
    by_lines = leaded_by_lines(drawing, roles, [])
    by_area = leaded_by_area(drawing, roles, [])
    assert by_lines is not None
    assert by_area is not None
    ours, theirs = (sorted(p.area_mm2 for p in way.panes) for way in (by_lines, by_area))
    assert ours == pytest.approx(theirs, rel=1e-6)
    assert len(by_lines.leads) == len(by_area.leads)
    assert sum(x.width_mm for x in by_lines.leads) == pytest.approx(
        sum(x.width_mm for x in by_area.leads), rel=0.01
    )


def test_gaps_between_bright_panes_are_leads() -> None:
    truth = synthetic_window(60, 5)
    svg = synthetic_window_svg(60, "filled-panes", 5).decode()
    start = svg.index("<rect")
    bare = svg[:start] + svg[svg.index("\n", start) :]
    found, findings = drawn_window(read_svg(bare.encode(), name="a.svg"), roles={})
    assert tiling_error(found) < 1e-9
    assert len(found.panes) == len(truth.panes)
    (said,) = [f.what for f in findings if "no lead is drawn" in f.what]
    assert "0.80 mm" in said
    assert {m.role for m in found.members} == {Role.BORDER, Role.LEAD}


def test_a_free_ring_is_a_pane_in_a_pane() -> None:
    found, _ = window(FRAME + '<circle cx="30" cy="40" r="10"/>')
    inner, outer = areas(found)
    assert inner == pytest.approx(pi * 81.0, rel=1e-3)
    assert outer == pytest.approx(54.0 * 74.0 - pi * 121.0, rel=1e-3)


def test_dark_blots_are_paint() -> None:
    found, findings = window(FRAME + '<circle cx="30" cy="40" r="3" fill="#000" stroke="none"/>')
    assert areas(found) == [54.0 * 74.0]
    (blot,) = found.paint
    assert sum(r.area_mm2 for r in blot.area) == pytest.approx(9.0 * pi, rel=1e-2)
    assert any("painted on the glass" in f.what for f in findings)


def test_what_lies_outside_is_left_out_and_told() -> None:
    ink = '<path d="M64 2h4v4h-4z" fill="#000" stroke="none"/>'
    found, findings = window(FRAME + '<path d="M1 40H59" stroke-dasharray="4 1"/>' + ink)
    assert found.size_mm == pytest.approx((60.0, 80.0))
    assert any("outside the window's outline" in f.what for f in findings)


def test_dashes_are_drawn_as_dashes() -> None:
    found, _ = window(FRAME + '<path d="M1.5 40H58.5" stroke-dasharray="4 4"/>')
    assert len(found.panes) == 1, "a dashed line parts nothing"
    assert found.paint


def test_light_paint_hides_leads_under_it() -> None:
    found, _ = window(
        FRAME + '<path d="M1.5 40H58.5"/><rect x="20" y="30" width="20" height="20" fill="#e8a317" '
        'stroke="none"/>'
    )
    assert len(found.panes) == 1
    assert areas(found) == [54.0 * 74.0 - 2 * 17.0 * 2.0]


def test_strokes_of_any_colour_count_where_none_is_dark() -> None:
    body = FRAME + '<path d="M1.5 40H58.5"/>'
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
        f'<g fill="none" stroke="#c08040" stroke-width="2">{body}</g></svg>'
    )
    found, findings = drawn_window(read_svg(svg.encode(), name="a.svg"), roles={})
    assert areas(found) == [1944.0, 1944.0]
    assert [f.what for f in findings] == ["no line is dark: every stroke counts as a lead"]


def test_dark_letters_are_no_window() -> None:
    """The largest dark shape has no opening: the pale line round the sheet makes the window."""
    found, findings = window(
        '<rect x="2" y="2" width="56" height="76" stroke="#808080" stroke-width="4"/>'
        '<path d="M10 10h40v8h-40z" fill="#333" stroke="none"/>'
        '<path d="M20 40h10v20h-10zM22 42v16h6v-16z" fill="#333" stroke="none"/>'
    )
    assert areas(found) == [96.0, 52.0 * 72.0 - 200.0]
    assert any(f.what == "no dark line encloses glass: every stroke is a lead" for f in findings)


@pytest.mark.parametrize("stroke", ["", ' stroke="none"'])
def test_a_border_with_a_thick_side_is_the_border(stroke: str) -> None:
    """Halfway round, the middle of the lead lies in the thick part, far from the edge."""
    found, _ = window(
        '<path d="M6 8h48v60h-48z" stroke-width="0.5"/>'
        f'<path d="M2 2h56v7h-56z" fill="#000"{stroke}/>'
    )
    assert [member.role for member in found.members] == [Role.BORDER]


@pytest.mark.parametrize(
    ("join", "corner"), [("miter", 0.0), ("round", (1 - pi / 4) * 2.25), ("bevel", 1.125)]
)
def test_the_outline_has_the_pens_corners(join: str, corner: float) -> None:
    found, _ = window(FRAME.replace("<rect", f'<rect stroke-linejoin="{join}"'))
    assert found.outline.area_mm2 == pytest.approx(60 * 80 - 4 * corner, abs=0.03)


def test_filled_leads_give_their_middles_back() -> None:
    """A cross of leads 2 mm wide in a border of 3 mm, drawn as one dark shape with four holes."""
    holes = "".join(f"M{x} {y}h26v36h-26z" for x in (3, 31) for y in (3, 41))
    found, _ = window(
        f'<path d="M0 0H60V80H0Z{holes}" fill="#111" fill-rule="evenodd" stroke="none"/>'
    )
    leads = [m for m in found.members if m.role is Role.LEAD]
    assert len(leads) == 4
    for lead in leads:
        assert lead.width_mm == pytest.approx(2.0, abs=1e-6)
        (ax, ay), (bx, by) = lead.centreline[0], lead.centreline[-1]
        assert (ax, bx) == pytest.approx((30.0, 30.0), abs=0.005) or (ay, by) == pytest.approx(
            (40.0, 40.0), abs=0.005
        )
        middle = {(round(x, 2), round(y, 2)) for x, y in ((ax, ay), (bx, by))}
        assert (30.0, 40.0) in middle, "all four meet in the middle"
