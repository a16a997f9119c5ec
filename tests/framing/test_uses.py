"""How roles are made, and where a panel sits in a drawn opening."""

from __future__ import annotations

import pytest

from glasswork.errors import FrameError
from glasswork.framing.seat import largest_width_mm, moved_onto
from glasswork.framing.uses import role_uses
from glasswork.model.frame import Face
from glasswork.model.geometry import Region
from glasswork.model.window import Role


def test_roles_are_made_as_usual_unless_told() -> None:
    usual = role_uses({})
    assert usual.printed == frozenset()
    assert usual.raised[Face.FRONT] == usual.raised[Face.BACK] == {Role.BORDER, Role.MULLION}
    told = role_uses({Role.BAR: "raised-back", Role.LEAD: "printed", Role.MULLION: "inner"})
    assert told.printed == {Role.LEAD}
    assert told.raised[Face.FRONT] == {Role.BORDER}
    assert told.raised[Face.BACK] == {Role.BORDER, Role.BAR}


@pytest.mark.parametrize(
    ("uses", "said"),
    [
        ({Role.BORDER: "printed"}, "carries both outer layers"),
        ({Role.BAR: "gilded"}, '"gilded" is unknown'),
        ({Role.PAINT: "inner"}, '"paint" is unknown'),
    ],
)
def test_uses_that_make_no_frame(uses: dict[Role, str], said: str) -> None:
    with pytest.raises(FrameError, match=said):
        role_uses(uses)


def test_the_largest_square_in_a_circle_is_that_of_plane_geometry() -> None:
    """Side = diameter / √2, the clearance taken off the radius."""
    from math import cos, pi, sin, sqrt

    hole = Region(
        tuple((100 + 50 * cos(pi * k / 360), 80 + 50 * sin(pi * k / 360)) for k in range(720))
    )
    square = Region(((0.0, 0.0), (7.0, 0.0), (7.0, 7.0), (0.0, 7.0)))
    side = largest_width_mm(square, hole, 1.0)
    assert side == pytest.approx(49.0 * sqrt(2.0), abs=0.005)
    panel = Region(((0.0, 0.0), (side, 0.0), (side, side), (0.0, side)))
    moved = moved_onto(panel, hole, 1.0)
    assert moved.box.centre == pytest.approx((side / 2, side / 2), abs=1e-6)
