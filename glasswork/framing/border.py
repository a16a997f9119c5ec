"""The border: how wide it is, and the band that it fills."""

from __future__ import annotations

from glasswork.model.window import Role, Window
from glasswork.planar import Area

_BAND_SHARE = 0.98


def border_band(window: Window) -> Area:
    """The strip along the panel's edge that is border wherever no pane lies in it."""
    whole = Area.of((window.outline,))
    return whole - whole.grown(-_BAND_SHARE * border_width_mm(window), join="mitre")


def border_width_mm(window: Window) -> float:
    """Width that nine tenths of the border, by area, have or exceed."""
    widths = sorted(
        (member.width_mm, sum(region.area_mm2 for region in member.area))
        for member in window.members
        if member.role is Role.BORDER
    )
    tenth = 0.1 * sum(area for _, area in widths)
    passed = 0.0
    for width, area in widths:
        passed += area
        if passed > tenth:
            return width
    return widths[-1][0]
