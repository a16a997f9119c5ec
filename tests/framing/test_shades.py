"""What is opaque is printed black; shades are left to the pictures of the glass."""

from __future__ import annotations

from msgspec.structs import replace

from glasswork.model.window import PaintStroke
from glasswork.planar import Area

from windows import rectangle, two_light  # isort: skip


def test_shades_are_not_printed_black(plan) -> None:
    window = two_light()
    spot = rectangle(4.0, 4.0)
    area = tuple(region.mapped(_to(40.0, 120.0)) for region in (spot,))
    for tone, printed in ((1.0, True), (0.4, False)):
        stroke = PaintStroke(area=area, width_mm=1.0, tone=tone)
        made, _ = plan(replace(window, paint=(stroke,)))
        assert Area.of(made.printed).holds((42.0, 122.0)) is printed


def _to(dx: float, dy: float):
    from glasswork.model.geometry import Affine

    return Affine.shift(dx, dy)
