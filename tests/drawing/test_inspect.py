"""What an inspection sees, one fault a drawing, and what repair mends."""

from __future__ import annotations

import io

import pytest

from glasswork.drawing.inspect import Limits, inspect_drawing
from glasswork.drawing.repair import repair
from glasswork.model.finding import Finding, Severity
from glasswork.model.window import LineArt, Sizing
from glasswork.readers.svg import read_svg
from glasswork.writers.inspection import write_inspection_png, write_inspection_svg
from glasswork.writers.line_art import write_line_art_svg

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
    '<g fill="none" stroke="#000" stroke-width="2">'
)
FRAME = '<rect x="1.5" y="1.5" width="57" height="77" stroke-width="3"/>'


def art(body: str, frame: str = FRAME) -> LineArt:
    return read_svg(f"{HEAD}{frame}{body}</g></svg>".encode(), name="reeds.svg")


def findings(body: str, frame: str = FRAME, **limits: float) -> tuple[Finding, ...]:
    return inspect_drawing(
        art(body, frame), roles={}, sizing=Sizing(), limits=Limits(**limits)
    ).findings


CASES = {
    "near miss": ('<path d="M1 40H56.2"/>', "stops short: 0.80 mm", (56.2, 40.0)),
    "lead ends in a pane": (
        '<path d="M1 40H30"/>',
        "ends in the middle of a pane, 27.00 mm",
        (30.0, 40.0),
    ),
    "drawn twice": ('<path d="M1 40H59"/><path d="M59 40H1"/>', "drawn twice", (30.0, 40.0)),
    "overlapping": (
        '<path d="M1 40H59"/><path d="M1 41.2H59"/>',
        "middles run 1.20 mm apart, their widths need 2.00 mm",
        (30.0, 40.0),
    ),
    "sliver": (
        '<path d="M1 40H59"/><path d="M1 42.5H59"/>',
        "a sliver: 0.50 mm at its widest, 0.8 mm is least",
        (30.0, 41.25),
    ),
    "small pane": (
        '<rect x="20" y="20" width="3.1" height="3.1"/><path d="M1 21.5H20M23 21.5H59"/>',
        "a small pane: 1.21 mm², 1.5 mm² is least",
        (21.55, 21.55),
    ),
    "thin lead": (
        '<path d="M1 40H59" stroke-width="0.4"/>',
        "0.40 mm wide, 1 mm can be cut",
        (30.0, 40.0),
    ),
    "free lead": (
        '<circle cx="30" cy="40" r="8"/>',
        "leads of 18.0 × 18.0 mm hang free in the pane",
        (30.0, 40.0),
    ),
}


FILLED = '<path fill-rule="evenodd" stroke="none" fill="#000" d="M0 0H60V80H0Z{}"/>'
HELD_AT_ONE_END = {
    "a spur": (
        FILLED.format("M3 3H57V77H31V40H29V77H3Z"),
        "a lead of 37.0 mm ends in the middle of a pane: 1 of its ends is joined, 2 are least",
        (30.0, 58.5),
    ),
    "a ring on a stem": (
        FILLED.format("M3 3H57V77H31V60H40V40H20V60H29V77H3ZM22 42V58H38V42Z"),
        "all that hangs on a lead of 17.0 × 2.0 mm is held at 1 joint, 2 are least",
        (30.0, 68.5),
    ),
}


@pytest.mark.parametrize("case", HELD_AT_ONE_END)
def test_leads_held_at_one_end(case: str) -> None:
    body, said, place = HELD_AT_ONE_END[case]
    (found,) = [f for f in findings("", frame=body) if "2 are least" in f.what]
    assert found.what == said
    assert found.place == pytest.approx(place, abs=0.06)
    assert found.hint


def test_a_ring_on_two_stems_is_held() -> None:
    body = '<circle cx="30" cy="40" r="8"/><path d="M1 40H22M38 40H59"/>'
    assert not [f for f in findings(body) if "2 are least" in f.what]


def test_a_cusp_is_no_lead_that_ends() -> None:
    body = FILLED.format("M3 3H57V77H34L30 40L26 77H3Z")
    assert not [f for f in findings("", frame=body) if "2 are least" in f.what]


@pytest.mark.parametrize("case", CASES)
def test_each_fault_is_told_with_place_and_limit(case: str) -> None:
    body, said, place = CASES[case]
    (found,) = [f for f in findings(body) if said in f.what]
    assert found.place == pytest.approx(place, abs=0.06)
    assert found.hint


def test_an_acute_corner() -> None:
    found = [f for f in findings('<path d="M1 40L59 48M1 40L59 36"/>') if "a corner of" in f.what]
    assert [f for f in found if "a corner of 12°, 20° is the sharpest" in f.what]


def test_two_colours_without_a_lead() -> None:
    body = (
        '<rect x="0" y="0" width="30" height="80" fill="#7fb7d9" stroke="none"/>'
        '<rect x="30" y="0" width="30" height="80" fill="#e8a317" stroke="none"/>'
    )
    svg = f"{HEAD}{body}{FRAME}</g></svg>".encode()
    seen = inspect_drawing(read_svg(svg, name="a.svg"), roles={}, sizing=Sizing())
    (found,) = [f for f in seen.findings if "two colours in one pane" in f.what]
    assert "50 %" in found.what


def test_an_open_outline_is_a_decision_with_its_gap() -> None:
    seen = findings("", frame='<path d="M1 1H59V79H1V9" stroke-width="3"/>')
    assert seen[0].severity is Severity.DECISION
    assert any("gap of 8.00 mm" in f.what for f in seen)


def test_a_clean_drawing_has_no_finding() -> None:
    assert findings('<path d="M1 40H59M30 1V79"/>') == ()


def test_places_are_on_the_panel() -> None:
    """Sized to twice the drawing, the place is twice as far."""
    seen = inspect_drawing(
        art('<path d="M1 40H30"/>'), roles={}, sizing=Sizing(width_mm=120.0)
    ).findings
    (found,) = [f for f in seen if "middle of a pane" in f.what]
    assert found.place == pytest.approx((60.0, 80.0))


def test_repair_lists_each_change_and_leaves_no_such_fault() -> None:
    body = (
        '<path d="M1 40H56.2"/><path d="M1 20H59"/><path d="M59 20H1"/><path d="M30 60h0.3"/>'
        '<path d="M1 60H30"/>'
    )
    before = art(body)
    mended, changes = repair(before, roles={})
    assert [c.what.split(": ", 1)[1].split(" of ")[0].split(" by ")[0] for c in changes] == [
        "a line drawn twice is left out once",
        "a speck",
        "a line is drawn on",
    ]
    again = read_svg(write_line_art_svg(mended), name="reeds.svg")
    left = inspect_drawing(again, roles={}, sizing=Sizing()).findings
    assert not [f for f in left if "stops short" in f.what or "twice" in f.what]
    assert [f for f in left if "ends in the middle of a pane" in f.what], "not safe to mend"


def test_lines_drawn_twice_in_different_marks_are_left_once() -> None:
    """The wider of two is kept; a ring is the same wherever it begins."""
    drawn = art(
        '<path d="M1 40H59"/><path d="M59 40H1M20 1V79" stroke-width="1"/>'
        '<path d="M40 20h9v9h-9Z"/><path d="M49 29v-9h-9v9Z"/>'
    )
    mended, changes = repair(drawn, roles={})
    assert [change.what for change in changes] == [
        "repaired: a line drawn twice is left out once"
    ] * 2
    assert changes[0].place == (59.0, 40.0)
    left = [(path[0], mark.width_mm) for mark in mended.marks for path in mark.paths]
    assert len(left) == 4
    assert (((1.0, 40.0), (59.0, 40.0)), 2.0) in left
    again, none = repair(mended, roles={})
    assert (again, none) == (mended, ())


def test_nothing_is_mended_that_needs_no_mending() -> None:
    clean = art('<path d="M1 40H59M30 1V79"/>')
    mended, changes = repair(clean, roles={})
    assert changes == ()
    assert mended == clean


def test_the_picture_marks_every_place() -> None:
    import xml.etree.ElementTree as ET

    from PIL import Image

    seen = inspect_drawing(art('<path d="M1 40H30"/>'), roles={}, sizing=Sizing())
    svg = write_inspection_svg(seen.art, seen.window, seen.findings)
    circles = ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}circle")
    places = {(float(c.get("cx", 0)), float(c.get("cy", 0))) for c in circles}
    assert places == {f.place for f in seen.findings if f.place is not None}
    picture = Image.open(io.BytesIO(write_inspection_png(seen.art, seen.window, seen.findings)))
    assert picture.width == 1800
    colours = picture.convert("RGB").getcolors(1 << 24)
    assert any(colour == (0xE0, 0x7B, 0x00) for _, colour in colours or []), "a warning's ring"


def test_line_art_is_read_back_equal() -> None:
    first = art('<circle cx="30" cy="40" r="8" fill="#7fb7d9"/><path d="M1 40H20L20 60"/>')
    again = read_svg(write_line_art_svg(first), name="reeds.svg")
    strokes = [m for m in again.marks if m.stroke is not None]
    assert len(strokes) == len([m for m in first.marks if m.stroke is not None])
    for one, two in zip([m for m in first.marks if m.stroke], strokes, strict=True):
        assert two.width_mm == pytest.approx(one.width_mm, abs=1e-5)
        for (p, c), (q, d) in zip(one.paths, two.paths, strict=True):
            assert c == d
            assert [x for xy in q for x in xy] == pytest.approx([x for xy in p for x in xy])
