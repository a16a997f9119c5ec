"""Loose parts: held by stays, or printed."""

from __future__ import annotations

from math import cos, pi, sin

import pytest

from glasswork.framing.stays import RELIEF_SHARE
from glasswork.model.frame import Level, Made
from glasswork.model.window import Member, Pane, Role, Window
from glasswork.planar import Area

from windows import rectangle  # isort: skip


def roundel(*, thin_mm: float, ring_mm: float, radius: float = 25.0) -> Window:
    """A leaded ring hung in the middle of a square on four thin leads."""
    outline = rectangle(120.0, 120.0)
    whole = Area.of((outline,))
    inside = whole.grown(-7.0)
    border = (whole - inside).regions()
    circle = tuple(
        (60 + radius * cos(2 * pi * k / 90), 60 + radius * sin(2 * pi * k / 90)) for k in range(90)
    )
    ring = Area.stroke(circle, ring_mm, closed=True)
    members = [
        Member(id="border", role=Role.BORDER, width_mm=7.0, area=border),
        Member(
            id="ring",
            role=Role.LEAD,
            width_mm=ring_mm,
            area=ring.regions(),
            centreline=(*circle, circle[0]),
        ),
    ]
    left = inside - ring
    near, far = 60.0 - radius, 60.0 + radius
    for name, line in {
        "west": ((0.0, 60.0), (near, 60.0)),
        "east": ((far, 60.0), (120.0, 60.0)),
        "north": ((60.0, 0.0), (60.0, near)),
        "south": ((60.0, far), (60.0, 120.0)),
    }.items():
        strip = Area.stroke(line, thin_mm) & left
        left = left - strip
        box = strip.bounds
        flat = line[0][1] == line[1][1]
        middle = (
            ((box.left, 60.0), (box.right, 60.0)) if flat else ((60.0, box.top), (60.0, box.bottom))
        )
        members.append(
            Member(
                id=name, role=Role.LEAD, width_mm=thin_mm, area=strip.regions(), centreline=middle
            )
        )
    panes = tuple(
        Pane(id=f"p{n}", region=region, seed_point=Area.of((region,)).inner_point())
        for n, region in enumerate(left.regions())
    )
    return Window(name="roundel", outline=outline, panes=panes, members=tuple(members))


def test_a_wide_ring_is_held_by_two_stays(plan) -> None:
    window = roundel(thin_mm=0.8, ring_mm=3.0)
    made, findings = plan(window)
    assert {i.member: i.made for i in made.made}["ring"] is Made.CUT
    assert len(made.stays) == 2
    assert {stay.holds for stay in made.stays} == {("ring",)}
    assert len({stay.along for stay in made.stays}) == 2
    inner = Area.of(next(x for x in made.layers if x.level is Level.INNER).pieces)
    assert inner.is_one_valid()
    for stay in made.stays:
        assert stay.width_mm == 1.0
        assert (Area.of(stay.area) - inner).grown(-1e-3).is_empty
        (along,) = stay.along  # it hides over the printed lead
        lead = next(m for m in window.members if m.id == along)
        assert (Area.of(lead.area) - Area.of(stay.area)).area_mm2 < 1e-6
    assert any("1 loose part held by 2 stays" in f.what for f in findings)


def test_a_ring_too_slight_for_its_stays_is_printed(plan) -> None:
    """The stays would hide more glass than the part's relief is worth."""
    window = roundel(thin_mm=0.1, ring_mm=1.0, radius=6.0)
    made, _ = plan(window)
    ring = next(m for m in window.members if m.id == "ring")
    hidden = (1.0 - 0.1) * (60.0 - 7.0 - 6.5)
    assert hidden > RELIEF_SHARE * sum(region.area_mm2 for region in ring.area)
    assert {i.member: i.made for i in made.made}["ring"] is Made.PRINTED
    assert made.stays == ()


def test_a_stay_still_carries_the_part_when_the_web_is_asked(plan) -> None:
    """Cut at the narrowest the board allows, the ring hangs on the border by webs of that width."""
    made, _ = plan(roundel(thin_mm=0.8, ring_mm=3.0))
    inner = Area.of(next(x for x in made.layers if x.level is Level.INNER).pieces)
    assert len(inner.grown(-0.49).regions()) == 1
    listed = [w for w in made.weak if w.level is Level.INNER and w.kind == "web"]
    assert [w.value for w in listed] == pytest.approx([1.0, 1.0], abs=1e-3)
