"""Refusals whose advice is taken: what they name does, and less of it does not."""

from __future__ import annotations

import re

import pytest

from glasswork.drawing.make import make_window
from glasswork.errors import FrameError
from glasswork.framing.advice import Choices
from glasswork.framing.plan import plan_frame
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Affine
from glasswork.model.window import Role, Sizing, Window
from glasswork.readers.svg import read_svg

from windows import board, cutter, printer  # isort: skip

BOARDS = ("acrylic-3", "card-0.3", "chipboard-1", "chipboard-1.5", "chipboard-2", "chipboard-3")


def drawing(border_mm: float) -> bytes:
    """An arch of 80 × 120 mm with two lights and a transom, all lines in the drawing's mm."""
    return f"""<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="130mm"
    viewBox="0 0 90 130"><g fill="none" stroke="black"><g class="border">
    <path stroke-width="{border_mm}" d="M5 125V45A40 40 0 0 1 85 45V125Z"/></g>
    <path stroke-width="0.2" d="M45 5V125M5 60H85"/></g></svg>""".encode()


def planned(
    border_mm: float,
    width_mm: float,
    *,
    board_name: str,
    cutter_name: str,
    widened: float | None = None,
    jig: bool = False,
    choices: Choices | None = None,
) -> FramePlan:
    window, _ = make_window(
        read_svg(drawing(border_mm), name="arch.svg"),
        roles={},
        sizing=Sizing(width_mm=width_mm),
        widths={Role.BORDER: widened} if widened else None,
    )
    others = tuple(board(name) for name in BOARDS if name != board_name)
    plan, _ = plan_frame(
        window,
        board(board_name),
        cutter(cutter_name),
        printer=printer(),
        films=2,
        jig=jig,
        choices=choices or Choices(others=lambda: others),
    )
    return plan


@pytest.mark.parametrize(
    ("board_name", "cutter_name", "border_mm", "width_mm"),
    [
        ("chipboard-2", "laser", 0.7, 60.0),
        ("chipboard-3", "laser", 0.95, 75.0),
        ("chipboard-3", "hand-knife", 1.1, 120.0),
        ("acrylic-3", "laser", 0.6, 80.0),
        ("chipboard-1", "drag-blade", 0.8, 40.0),
    ],
)
def test_a_border_too_narrow_is_told_what_would_do(
    board_name: str, cutter_name: str, border_mm: float, width_mm: float
) -> None:
    with pytest.raises(FrameError) as refused:
        planned(border_mm, width_mm, board_name=board_name, cutter_name=cutter_name)
    hint = refused.value.hint
    need = float(re.search(r"border ([\d.]+) mm wide", hint)[1])  # type: ignore[index]
    wide = int(re.search(r"--width (\d+)", hint)[1])  # type: ignore[index]
    assert planned(
        border_mm, width_mm, board_name=board_name, cutter_name=cutter_name, widened=need
    )
    assert planned(border_mm, wide, board_name=board_name, cutter_name=cutter_name)
    with pytest.raises(FrameError, match="the least that can be cut"):
        planned(border_mm, wide - 1, board_name=board_name, cutter_name=cutter_name)
    thinner = re.search(r"--board ([\w.-]+)", hint)
    if thinner:
        assert planned(border_mm, width_mm, board_name=thinner[1], cutter_name=cutter_name)


def test_a_thinner_board_is_named_only_where_it_would_do() -> None:
    for border_mm, named in ((1.2, "chipboard-2"), (0.95, "chipboard-1.5"), (0.3, None)):
        with pytest.raises(FrameError) as refused:
            planned(border_mm, 80.0, board_name="chipboard-3", cutter_name="laser")
        found = re.search(r"--board ([\w.-]+)", refused.value.hint)
        assert (found[1] if found else None) == named


def test_a_width_is_not_named_where_it_would_not_help() -> None:
    """An opening settles the size, or the border is as wide whatever the window's size."""
    for choices in (Choices(sized=True), Choices(grows=False)):
        with pytest.raises(FrameError) as refused:
            planned(0.7, 60.0, board_name="chipboard-2", cutter_name="laser", choices=choices)
        assert "--width" not in refused.value.hint


@pytest.mark.parametrize("jig", [False, True])
@pytest.mark.parametrize(
    ("board_name", "cutter_name"),
    [("chipboard-2", "laser"), ("chipboard-1", "drag-blade"), ("plywood-3", "laser")],
)
def test_a_part_too_large_for_the_bed_is_told_the_largest_width(
    board_name: str, cutter_name: str, jig: bool
) -> None:
    means = {"board_name": board_name, "cutter_name": cutter_name}
    with pytest.raises(FrameError, match="the bed takes") as refused:
        planned(5.0, 500.0, jig=jig, **means)  # type: ignore[arg-type]
    wide = int(re.search(r"--width (\d+)", refused.value.hint)[1])  # type: ignore[index]
    assert planned(5.0, wide, jig=jig, **means).sheets  # type: ignore[arg-type]
    with pytest.raises(FrameError, match="the bed takes"):
        planned(5.0, wide + 1, jig=jig, **means)  # type: ignore[arg-type]


def test_no_width_is_named_at_which_the_border_would_be_too_narrow() -> None:
    with pytest.raises(FrameError, match="the bed takes") as refused:
        planned(0.2, 500.0, board_name="chipboard-2", cutter_name="laser")
    assert "--width" not in refused.value.hint


def star(points: int, *, border_mm: float = 3.0) -> Window:
    """A star of 120 mm whose edges are too short for an ear, with a line across."""
    from math import cos, pi, sin

    radii = (60.0, 55.0)
    turn = pi / points
    corners = [
        (60 + radii[i % 2] * sin(i * turn), 60 - radii[i % 2] * cos(i * turn))
        for i in range(2 * points)
    ]
    path = "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in corners) + "Z"
    data = f"""<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="120mm"
    viewBox="0 0 120 120"><g fill="none" stroke="black"><path stroke-width="{border_mm}"
    d="{path}"/><path stroke-width="0.5" d="M60 8V112"/></g></svg>""".encode()
    window, _ = make_window(read_svg(data, name="star.svg"), roles={}, sizing=Sizing())
    return window


def star_planned(
    points: int, width_mm: float, *, cutter_name: str, choices: Choices | None = None
) -> FramePlan:
    window = star(points)
    wider = window.mapped(
        Affine.scale(width_mm / window.size_mm[0]), width_factor=width_mm / window.size_mm[0]
    )
    plan, _ = plan_frame(
        wider,
        board("chipboard-2"),
        cutter(cutter_name),
        printer=printer(),
        films=1,
        choices=choices or Choices(),
    )
    return plan


def test_an_edge_without_room_for_ears_is_told_the_least_width() -> None:
    with pytest.raises(FrameError, match="no room for three ears") as refused:
        star_planned(60, 122.0, cutter_name="hand-knife")
    wide = int(re.search(r"--width (\d+)", refused.value.hint)[1])  # type: ignore[index]
    assert star_planned(60, wide, cutter_name="hand-knife").ears
    with pytest.raises(FrameError, match="no room for three ears"):
        star_planned(60, wide - 1, cutter_name="hand-knife")


def test_no_larger_panel_is_named_that_the_bed_cannot_take() -> None:
    for choices, cutter_name in ((Choices(), "drag-blade"), (Choices(sized=True), "hand-knife")):
        with pytest.raises(FrameError, match="no room for three ears") as refused:
            star_planned(90, 122.0, cutter_name=cutter_name, choices=choices)
        assert "--width" not in refused.value.hint
        assert "straight" in refused.value.hint


def test_another_cutter_is_named_only_where_the_board_would_hold() -> None:
    """Chipboard of 1.5 mm stands 0.9 mm wide at least, whatever cuts it."""
    means = {"board_name": "chipboard-1.5", "choices": Choices(grows=False)}
    with pytest.raises(FrameError) as refused:
        planned(0.3, 80.0, cutter_name="laser", **means)  # type: ignore[arg-type]
    assert "cutter" not in refused.value.hint
    with pytest.raises(FrameError) as refused:
        planned(1.5, 80.0, cutter_name="hand-knife", **means)  # type: ignore[arg-type]
    assert "choose a cutter that cuts 1.47 mm" in refused.value.hint
