"""Fine leads beside a border many times as wide: the middles and widths of both come out."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.drawing.make import make_window
from glasswork.model.window import Role, Sizing
from glasswork.readers.svg import read_svg

SIDE, BORDER, COUNT = 100.0, 3.0, 25


def panes_on_dark(lead_mm: float) -> bytes:
    """Square quarries laid on a dark ground, so that the leads are known as an area alone."""
    step = (SIDE - 2.0 * BORDER + lead_mm) / COUNT
    rects = "".join(
        f'<rect x="{BORDER + i * step}" y="{BORDER + j * step}" width="{step - lead_mm}" '
        f'height="{step - lead_mm}" fill="#4a8"/>'
        for i in range(COUNT)
        for j in range(COUNT)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{SIDE}mm" height="{SIDE}mm" '
        f'viewBox="0 0 {SIDE} {SIDE}"><rect width="{SIDE}" height="{SIDE}"/>{rects}</svg>'
    ).encode()


@pytest.mark.parametrize("lead_mm", [0.17, 0.3, 0.9])
def test_fine_leads_beside_a_wide_border_keep_their_middles(lead_mm: float) -> None:
    art = read_svg(panes_on_dark(lead_mm), name="quarries.svg")
    window, _ = make_window(art, roles={}, sizing=Sizing())
    leads = [m for m in window.members if m.role is Role.LEAD]
    border = [m for m in window.members if m.role is Role.BORDER]
    assert len(leads) == 2 * COUNT * (COUNT - 1)
    assert len(border) == 4 * (COUNT - 1)
    assert {round(m.width_mm, 3) for m in leads} == {lead_mm}
    assert {round(m.width_mm, 2) for m in border} == {BORDER}
    for member in leads:
        assert np.ptp(np.array(member.centreline), axis=0).min() < 1e-6, member.id
