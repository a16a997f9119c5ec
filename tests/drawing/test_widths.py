"""Lines as wide as the maker wants them, once the drawing is at its size."""

from __future__ import annotations

import pytest

from glasswork.drawing.make import make_window
from glasswork.model.window import Role, Sizing
from glasswork.readers.svg import read_svg
from tests.drawing.tiling import tiling_error

DRAWING = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="120mm" viewBox="0 0 90 120">'
    b'<g fill="none" stroke="#000"><path stroke-width="6" d="M3 3H87V117H3Z"/>'
    b'<path class="mullion" stroke-width="4" d="M45 3V117"/>'
    b'<path stroke-width="0.6" d="M3 30H87M3 90H87"/></g></svg>'
)
WIDTHS = {Role.BORDER: 5.0, Role.LEAD: 2.0}


@pytest.mark.parametrize(
    "sizing",
    [
        Sizing(),
        Sizing(width_mm=60.0),
        Sizing(height_mm=240.0),
        Sizing(opening_mm=(80.0, 90.0), clearance_mm=0.5),
        Sizing(scale=0.5),
    ],
    ids=["own", "width", "height", "opening", "scale"],
)
def test_widths_are_those_of_the_finished_panel(sizing: Sizing) -> None:
    art = read_svg(DRAWING, name="net-loft.svg")
    window, findings = make_window(art, roles={}, sizing=sizing, widths=WIDTHS)
    assert [f.what for f in findings if "width" in f.what] == []
    assert tiling_error(window) < 1e-6
    widths = {role: {round(m.width_mm, 6) for m in window.members if m.role is role}
              for role in (Role.BORDER, Role.LEAD)}  # fmt: skip
    assert widths == {Role.BORDER: {5.0}, Role.LEAD: {2.0}}
    mullion = next(m for m in window.members if m.role is Role.MULLION)
    wide, _ = window.size_mm
    # the middle lines lie 84 mm apart in the drawing: the factor is told by what is left of them
    assert mullion.width_mm == pytest.approx(4.0 * (wide - 5.0) / 84.0, rel=1e-6)
    if sizing.width_mm is not None:
        assert wide == pytest.approx(sizing.width_mm, abs=1e-6)


def test_a_width_no_line_takes_is_told() -> None:
    art = read_svg(DRAWING, name="net-loft.svg")
    _, findings = make_window(art, roles={}, sizing=Sizing(), widths={Role.BAR: 3.0})
    (told,) = (f for f in findings if "widths" in f.where)
    assert "role bar" in told.what
