"""The frame as a whole: layers that coincide, hold together and cover the glass."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from glasswork.errors import FrameError
from glasswork.framing.files import layer_drawings, sheet_drawings, trim_drawing
from glasswork.model.finding import Severity
from glasswork.model.frame import Face, Level, Made
from glasswork.model.window import Role, Window
from glasswork.planar import Area

from windows import circle, cutter, quarries, rectangle, tiled, two_light  # isort: skip


def test_four_boards_of_two_mm_make_eight_with_films_and_glue_on_top(plan) -> None:
    """Common practice: inner and outer layer of 2 mm on both faces, two films."""
    made, _ = plan(two_light(), films=2)
    boards = [mm for name, mm in made.fit.layers_mm if "inner" in name or "outer" in name]
    boards = [mm for mm in boards if mm >= 1.0]
    assert boards == [2.0] * 4
    assert sum(boards) == 8.0
    films = [mm for name, mm in made.fit.layers_mm if name.startswith("film")]
    assert films == [0.1, 0.1]
    assert made.fit.thickness_mm == pytest.approx(sum(mm for _, mm in made.fit.layers_mm))
    assert made.fit.thickness_mm > 8.2


def test_front_and_back_coincide_once_mirrored(plan) -> None:
    made, _ = plan(two_light())
    front = {layer.level: layer for layer in made.layers if layer.face is Face.FRONT}
    back = {layer.level: layer for layer in made.layers if layer.face is Face.BACK}
    for level in (Level.INNER, Level.OUTER):
        assert not front[level].panel_to_file.mirrors
        assert back[level].panel_to_file.mirrors
        for one, other in zip(front[level].pieces, back[level].pieces, strict=True):
            a, b = front[level].panel_to_file, back[level].panel_to_file
            seen = Area.of((other.mapped(b).mapped(b.inverse()),))
            assert Area.of((one.mapped(a).mapped(a.inverse()),)).apart_mm(seen) < 1e-9


def test_pin_holes_stand_at_the_same_place_on_every_layer_and_film(plan) -> None:
    made, _ = plan(two_light())
    for layer in made.layers:
        if layer.level is Level.RETAINER:
            continue
        whole = Area.of(layer.pieces)
        holes = whole.filled() - whole
        for ear in made.ears:
            assert holes.holds(ear.hole_centre)
    film = Area.of((made.film_trim,))
    assert len(made.film_trim.holes) == 3
    for ear in made.ears:
        assert not film.holds(ear.hole_centre)
        assert film.filled().holds(ear.hole_centre)


@pytest.mark.parametrize(
    "window",
    [
        two_light(),
        tiled(circle(50.0), [], border_mm=6.0),
        tiled(rectangle(60.0, 60.0), [], border_mm=5.0),
    ],
    ids=["arch", "circle", "square"],
)
def test_pins_fit_one_way_only(plan, window: Window) -> None:
    """A triangle with three different sides maps onto itself by no turn and no flip."""
    made, _ = plan(window)
    (ax, ay), (bx, by), (cx, cy) = (ear.hole_centre for ear in made.ears)
    sides = sorted(
        ((px - qx) ** 2 + (py - qy) ** 2) ** 0.5
        for px, py, qx, qy in ((ax, ay, bx, by), (bx, by, cx, cy), (cx, cy, ax, ay))
    )
    diameter = made.ears[0].hole_diameter_mm
    assert sides[1] - sides[0] >= diameter
    assert sides[2] - sides[1] >= diameter


def test_narrow_leads_are_printed_and_wide_ones_cut(plan) -> None:
    window = two_light()
    made, _ = plan(window)
    how = {item.member: item.made for item in made.made}
    for member in window.members:
        assert how[member.id] is (Made.CUT if member.width_mm >= 1.0 else Made.PRINTED)
    thin = next(m for m in window.members if m.width_mm < 1.0)
    black = Area.of(made.printed)
    assert (Area.of(thin.area) - black).area_mm2 < 1e-9
    assert not Area.of(made.cut).holds(Area.of(thin.area).inner_point())


def test_wishes_win_and_wrong_ones_are_refused(plan) -> None:
    window = two_light()
    made, _ = plan(window, members={"m3": "printed"})
    assert {i.member: i.made for i in made.made}["m3"] is Made.PRINTED
    with pytest.raises(FrameError, match=r"no such member; near names: m3"):
        plan(window, members={"m33": "cut"})
    with pytest.raises(FrameError, match='"glued" is no way'):
        plan(window, members={"m3": "glued"})


def test_loose_members_are_printed(plan) -> None:
    """A wide cross hung on hair-thin leads is tied to nothing that is cut."""
    leads = [
        (((30.0, 50.0), (70.0, 50.0)), 3.0, Role.LEAD),
        (((-5.0, 50.0), (105.0, 50.0)), 0.5, Role.LEAD),
        (((50.0, -5.0), (50.0, 105.0)), 0.5, Role.LEAD),
    ]
    made, findings = plan(tiled(rectangle(100.0, 100.0), leads, border_mm=6.0))
    how = {item.member: item for item in made.made}
    assert how["m1"].made is Made.PRINTED
    assert "ties it to the border" in how["m1"].why
    assert any("hanging on nothing cut" in f.what for f in findings)
    inner = next(layer for layer in made.layers if layer.level is Level.INNER)
    assert len(inner.pieces) == 1


@settings(max_examples=25, deadline=None)
@given(
    columns=st.integers(1, 6),
    rows=st.integers(1, 6),
    lead=st.floats(0.3, 3.0),
    border=st.floats(3.0, 9.0),
    board_name=st.sampled_from(["chipboard-1", "chipboard-2", "card-0.3"]),
    cutter_name=st.sampled_from(["laser", "drag-blade"]),
)
def test_ink_stays_under_its_own_half_of_each_lead(
    plan, columns, rows, lead, border, board_name, cutter_name
) -> None:
    window = quarries(130.0, 170.0, columns=columns, rows=rows, lead_mm=lead, border_mm=border)
    made, _ = plan(window, board_name=board_name, cutter_name=cutter_name)
    limits = dict(made.glass_limit)
    bleed = made.registration.bleed_mm
    assert bleed >= made.registration.worst_case_mm
    total = 0.0
    for pane in window.panes:
        area = Area.of(limits[pane.id])
        assert (Area.of((pane.region,)) - area).area_mm2 < 1e-9
        grown = Area.of((pane.region,)).grown(bleed)
        assert (area - grown).area_mm2 < 1e-6
        total += area.area_mm2
    # none overlap: the sum of the areas is the area of the union
    assert Area.of(r for limit in limits.values() for r in limit).area_mm2 == pytest.approx(total)
    for layer in made.layers:
        assert len(layer.pieces) == 1
        assert Area.of(layer.pieces).is_one_valid()
    for drawing in (*layer_drawings(made, cutter(cutter_name)), trim_drawing(made)):
        for path in drawing.paths:
            for x, y in path.points:
                assert -1e-9 <= x <= drawing.size_mm[0] + 1e-9
                assert -1e-9 <= y <= drawing.size_mm[1] + 1e-9


def test_a_recess_too_shallow_asks_for_a_decision(plan) -> None:
    _, findings = plan(two_light(), recess_mm=7.0)
    told = [f for f in findings if f.severity is Severity.DECISION]
    assert len(told) == 1
    assert "1.45 mm too much" in told[0].what
    assert "boards of at most 1.64 mm" in told[0].hint


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"opening_mm": (100.0, 160.0)}, "panel and clearance need 121.00 x 161.00 mm"),
        ({"opening_mm": (100.0, 160.0), "clearance_mm": 60.0}, "leaves nothing of the opening"),
        ({"clearance_mm": -1.0}, "clearance: -1 mm is not between"),
        ({"recess_mm": 0.0}, "recess: 0 mm is not over 0"),
        (
            {"cutter_name": "drag-blade", "board_name": "chipboard-3"},
            "3 mm is thicker than the 2 mm",
        ),
    ],
)
def test_what_makes_no_sense_is_refused(plan, more, said: str) -> None:
    with pytest.raises(FrameError, match=said):
        plan(two_light(), **more)


def test_a_panel_larger_than_the_bed_is_refused(plan) -> None:
    with pytest.raises(
        FrameError, match=r"bed takes 394 x 294 mm .*; make the panel at most 377 mm wide"
    ):
        plan(tiled(rectangle(420.0, 250.0), [], border_mm=10.0))


def test_a_border_too_thin_to_cut_is_refused(plan) -> None:
    with pytest.raises(FrameError, match=r"0.70 mm wide, the least that can be cut is 1 mm"):
        plan(tiled(rectangle(100.0, 100.0), [], border_mm=0.7))


def test_a_border_that_may_not_be_cut_is_refused_by_that(plan) -> None:
    """It is wide enough, so a wider one is no advice."""
    window = tiled(rectangle(100.0, 100.0), [], border_mm=5.0)
    with pytest.raises(FrameError, match="all of it is to be printed") as refused:
        plan(window, members={"border": "printed"})
    assert "[members]" in refused.value.hint
    bare = replace(window, members=(replace(window.members[0], role=Role.LEAD),))
    with pytest.raises(FrameError, match="has no border"):
        plan(bare)


def test_sheets_hold_every_piece_once(plan) -> None:
    made, _ = plan(two_light())
    placed = sorted((file, number) for sheet in made.sheets for file, number, _ in sheet.parts)
    assert placed == sorted(
        (layer.file, n) for layer in made.layers for n in range(1, len(layer.pieces) + 1)
    )
    for sheet, drawing in zip(made.sheets, sheet_drawings(made, cutter("laser")), strict=True):
        assert drawing.size_mm == sheet.bed_mm
