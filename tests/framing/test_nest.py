"""Nested sheets."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.errors import FrameError
from glasswork.framing.nest import MARGIN_MM, SPACING_MM, Part, nest
from glasswork.model.frame import NestSheet
from glasswork.model.geometry import Affine, Box, Region
from glasswork.planar import Area


def _angle(width: float, height: float, arm: float) -> Region:
    return Region(((0, 0), (width, 0), (width, arm), (arm, arm), (arm, height), (0, height)))


def _star(points: int, outer: float, inner: float) -> Region:
    return Region(
        tuple(
            ((inner if k % 2 else outer) * cos(pi * k / points),
             (inner if k % 2 else outer) * sin(pi * k / points))
            for k in range(2 * points)
        )
    )  # fmt: skip


def _ring(side: float, width: float) -> Region:
    far, near = side - width, width
    return Region(
        ((0, 0), (side, 0), (side, side), (0, side)),
        (((near, near), (far, near), (far, far), (near, far)),),
    )


shapes = st.one_of(
    st.builds(_angle, st.floats(20, 90), st.floats(20, 90), st.floats(4, 15)),
    st.builds(_star, st.integers(3, 7), st.floats(20, 45), st.floats(6, 18)),
    st.builds(_ring, st.floats(40, 110), st.floats(4, 12)),
)


def _placed(parts: list[Part], sheet: NestSheet) -> list[Area]:
    by_name = {part.layer: part for part in parts}
    return [Area.of((by_name[name].shape.mapped(place),)) for name, _, place in sheet.parts]


@settings(max_examples=40, deadline=None)
@given(
    drawn=st.lists(shapes, min_size=1, max_size=12),
    bed=st.tuples(st.floats(130, 320), st.floats(130, 320)),
    turnable=st.booleans(),
)
def test_parts_never_overlap_or_leave_the_bed(drawn, bed, turnable) -> None:
    parts = [
        Part(layer=f"part {n}", piece=1, board="b", shape=shape, turnable=turnable)
        for n, shape in enumerate(drawn)
    ]
    sheets = nest(parts, bed)
    names = [name for sheet in sheets for name, _, _ in sheet.parts]
    assert sorted(names) == sorted(part.layer for part in parts)
    for sheet in sheets:
        laid = _placed(parts, sheet)
        inside = Box(0.0, 0.0, *bed).grown(-MARGIN_MM + 1e-6)
        for number, one in enumerate(laid):
            box = one.bounds
            assert min(box.left - inside.left, box.top - inside.top) >= 0.0
            assert min(inside.right - box.right, inside.bottom - box.bottom) >= 0.0
            for other in laid[:number]:
                assert one.distance_mm(other) >= SPACING_MM - 1e-6
        for _, _, place in sheet.parts:
            assert not place.mirrors  # the cut face stays the cut face
            if not turnable:
                assert place[:4] in (Affine()[:4], Affine(a=-1.0, d=-1.0)[:4])


def test_a_part_lies_in_the_hole_of_another() -> None:
    parts = [
        Part(layer="ring", piece=1, board="b", shape=_ring(110.0, 6.0)),
        Part(layer="star", piece=1, board="b", shape=_star(5, 40.0, 15.0)),
    ]
    (sheet,) = nest(parts, (118.0, 118.0))
    assert len(sheet.parts) == 2


def test_each_board_has_sheets_of_its_own() -> None:
    parts = [
        Part(layer=f"p{n}", piece=1, board=board, shape=_star(4, 20.0, 10.0))
        for n, board in enumerate(("chipboard-2", "card-0.3", "chipboard-2"))
    ]
    sheets = nest(parts, (300.0, 200.0))
    assert [sheet.board for sheet in sheets] == ["chipboard-2", "card-0.3"]
    assert [sheet.number for sheet in sheets] == [1, 2]


def test_a_part_as_large_as_the_bed_fits_and_a_larger_one_is_refused() -> None:
    just = Region(((0, 0), (194.0, 0), (194.0, 94.0), (0, 94.0)))
    (sheet,) = nest([Part(layer="p", piece=1, board="b", shape=just)], (200.0, 100.0))
    assert len(sheet.parts) == 1
    (turned,) = nest([Part(layer="p", piece=1, board="b", shape=just)], (100.0, 200.0))
    assert turned.parts[0][2][:4] != Affine()[:4]
    with pytest.raises(FrameError, match=r"p: the part is 194.0 x 94.0 mm .* along its grain"):
        nest([Part(layer="p", piece=1, board="b", shape=just, turnable=False)], (100.0, 200.0))
    with pytest.raises(FrameError, match=r"the bed takes 184 x 94 mm"):
        nest([Part(layer="p", piece=1, board="b", shape=just)], (190.0, 100.0))
