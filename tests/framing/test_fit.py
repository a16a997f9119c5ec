"""Openings, rebates, boards of their own for a layer, and the assembly jig."""

from __future__ import annotations

import pytest

from glasswork.errors import FrameError
from glasswork.framing.files import layer_drawings, sheet_drawings
from glasswork.framing.fit import opening_for
from glasswork.model.finding import Severity
from glasswork.model.frame import Level
from glasswork.model.geometry import Affine, Region
from glasswork.model.window import Member, Pane, Role, Window
from glasswork.planar import Area

from windows import board, circle, cutter, rectangle, tiled, two_light  # isort: skip


def test_boards_of_their_own_for_a_layer(plan) -> None:
    made, _ = plan(
        two_light(),
        boards={Level.OUTER: board("card-0.3"), Level.RETAINER: board("chipboard-1")},
    )
    thick = {layer.file: (layer.board, layer.thickness_mm) for layer in made.layers}
    assert thick["front-outer"] == thick["back-outer"] == ("card-0.3", 0.3)
    assert thick["front-inner"] == thick["back-inner"] == ("chipboard-2", 2.0)
    assert thick["retainer"] == ("chipboard-1", 1.0)
    assert sum(mm for name, mm in made.fit.layers_mm if "glue" not in name) == pytest.approx(
        2 * 0.3 + 2 * 2.0 + 2 * 0.1
    )
    assert {sheet.board for sheet in made.sheets} == {"card-0.3", "chipboard-2", "chipboard-1"}


def test_outer_layer_stands_back_at_the_glass_and_not_at_the_edge(plan) -> None:
    made, _ = plan(tiled(rectangle(100.0, 100.0), [], border_mm=8.0), step_mm=1.25)
    inner, outer = (
        Area.of(next(x for x in made.layers if x.level is level).pieces)
        for level in (Level.INNER, Level.OUTER)
    )
    assert (outer - inner).grown(-1e-6).is_empty
    assert (inner - outer).area_mm2 == pytest.approx((84 + 2 * 1.25) ** 2 - 84**2, rel=1e-6)


@pytest.mark.parametrize("step", [-0.5, 7.5, 100.0])
def test_an_absurd_step_is_refused(plan, step: float) -> None:
    with pytest.raises(FrameError, match="frame, step"):
        plan(tiled(rectangle(100.0, 100.0), [], border_mm=8.0), step_mm=step)


def test_no_step_is_never_too_much(plan) -> None:
    """Most of this border is thinner than the board can be cut, but it is cut whole."""
    sides = {
        "left": (Region(((0.0, 0.0), (8.0, 0.0), (8.0, 80.0), (0.0, 80.0))), 8.0),
        "top": (Region(((8.0, 0.0), (100.0, 0.0), (100.0, 0.95), (8.0, 0.95))), 0.95),
        "right": (Region(((99.05, 0.95), (100.0, 0.95), (100.0, 79.05), (99.05, 79.05))), 0.95),
        "foot": (Region(((8.0, 79.05), (100.0, 79.05), (100.0, 80.0), (8.0, 80.0))), 0.95),
    }
    pane = Region(((8.0, 0.95), (99.05, 0.95), (99.05, 79.05), (8.0, 79.05)))
    window = Window(
        name="thin",
        outline=rectangle(100.0, 80.0),
        panes=(Pane(id="p", region=pane, seed_point=(50.0, 40.0)),),
        members=tuple(
            Member(id=name, role=Role.BORDER, width_mm=width, area=(area,))
            for name, (area, width) in sides.items()
        ),
    )
    made, _ = plan(window, step_mm=0.0)
    assert made.step_mm == 0.0
    with pytest.raises(FrameError, match=r"0\.1 mm is not between 0 and 0\.00 mm"):
        plan(window, step_mm=0.1)


def test_a_drawn_opening_is_kept_clear(plan) -> None:
    window = tiled(circle(40.0), [], border_mm=6.0)
    good = opening_for(window.outline, 0.5)
    made, findings = plan(window, opening=good, clearance_mm=0.5)
    assert made.opening == good
    assert not any("frame, opening" in f.where for f in findings)
    shifted = good.mapped(Affine.shift(0.4, 0.0))
    with pytest.raises(FrameError, match=r"comes within 0\.10 mm of the opening's edge"):
        plan(window, opening=shifted, clearance_mm=0.5)
    with pytest.raises(FrameError, match=r"comes within 0\.00 mm"):
        plan(window, opening=good.mapped(Affine.shift(30.0, 0.0)), clearance_mm=0.5)
    wide = opening_for(window.outline, 4.0)
    _, findings = plan(window, opening=wide, clearance_mm=0.5)
    assert any("the gap to the opening is up to 4.00 mm" in f.what for f in findings)


def test_a_rebate_leaves_something_to_see(plan) -> None:
    window = tiled(rectangle(100.0, 100.0), [], border_mm=6.0)
    _, findings = plan(window, rebate_mm=3.0)
    assert not any("rebate" in f.where for f in findings)
    _, findings = plan(window, rebate_mm=5.0)
    assert [f.severity for f in findings if "rebate" in f.where] == [Severity.WARNING]
    with pytest.raises(FrameError, match=r"rebate: 6\.5 mm is not between 0 and the border"):
        plan(window, rebate_mm=6.5)


def test_the_jig_takes_the_layers_one_way_round(plan) -> None:
    made, _ = plan(two_light(), jig=True)
    floor, wall = made.jig
    assert len(floor.pieces[0].holes) == 3
    well = Area.of(wall.pieces).filled() - Area.of(wall.pieces)
    for layer in made.layers:
        if layer.level is not Level.RETAINER:
            shape = Area.of(layer.pieces).filled()
            assert (shape - well).is_empty
            assert well.edge_gap_mm(shape) == pytest.approx(0.2, abs=1e-3)
            turned = shape.mapped(Affine(a=-1.0, e=made.outline.box.left + made.outline.box.right))
            assert (turned - well).area_mm2 > 10.0
    drawn = {drawing.file for drawing in layer_drawings(made, cutter())}
    assert {"frames/jig-floor", "frames/jig-wall"} <= drawn
    named = {name for sheet in made.sheets for name, _, _ in sheet.parts}
    assert {"jig-floor", "jig-wall"} <= named
    assert len(sheet_drawings(made, cutter())) == len(made.sheets)


def test_a_rotary_cutter_cuts_no_curves(plan) -> None:
    with pytest.raises(FrameError, match="straight lines only"):
        plan(two_light(), board_name="chipboard-1", cutter_name="rotary")


def test_members_wider_than_the_window_are_refused(plan) -> None:
    from msgspec.structs import replace

    window = tiled(rectangle(100.0, 80.0), [], border_mm=6.0)
    wide = replace(window, members=(replace(window.members[0], width_mm=90.0),))
    with pytest.raises(FrameError, match=r"member border: 90.00 mm wide, the window is 100.00 x"):
        plan(wide)


def test_an_opening_narrower_than_the_kerf_is_refused(plan) -> None:
    from glasswork.model.window import Role

    leads = [(((50.0 + x, -5.0), (50.0 + x, 105.0)), 2.0, Role.LEAD) for x in (0.0, 2.12)]
    made, _ = plan(tiled(rectangle(100.0, 100.0), leads, border_mm=6.0))
    with pytest.raises(FrameError, match=r"0\.12 x 88\.00 mm .* narrower than the kerf of 0\.15"):
        layer_drawings(made, cutter())


def test_absurd_boards_are_refused() -> None:
    from msgspec.structs import replace
    from windows import printer

    from glasswork.framing.plan import plan_frame

    for thickness in (-2.0, 0.0):
        with pytest.raises(FrameError, match="is not over 0"):
            plan_frame(
                two_light(),
                replace(board(), thickness_mm=thickness),
                cutter(),
                printer=printer(),
                films=2,
            )
    with pytest.raises(FrameError, match="must not be cut by a laser"):
        plan_frame(two_light(), replace(board(), laser=False), cutter(), printer=printer(), films=2)
