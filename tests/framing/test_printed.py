"""No light beside or between the leads: what is printed runs on under what is cut."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from glasswork.errors import FrameError
from glasswork.model.frame import Made
from glasswork.model.geometry import Region
from glasswork.model.window import Member, Pane, Role
from glasswork.planar import Area

from windows import quarries, rectangle, tiled  # isort: skip


def made_of(window, made):
    """The areas of cut and of printed members."""
    how = {item.member: item.made for item in made.made}
    return tuple(
        Area.union(Area.of(m.area) for m in window.members if how[m.id] is wanted)
        for wanted in (Made.CUT, Made.PRINTED)
    )


def test_a_printed_lead_along_a_cut_one_runs_on_under_its_whole_side(plan) -> None:
    """A fine lead drawn close beside a wide one, and one that only ends at it."""
    leads = [
        (((0.0, 40.0), (80.0, 40.0)), 4.0, Role.LEAD),
        (((0.0, 42.2), (80.0, 42.2)), 0.4, Role.LEAD),
        (((40.0, 0.0), (40.0, 38.0)), 0.4, Role.LEAD),
    ]
    window = tiled(rectangle(80.0, 80.0), leads, border_mm=6.0)
    made, _ = plan(window)
    cut, _ = made_of(window, made)
    bleed, black = made.registration.bleed_mm, Area.of(made.printed)
    side = Area.of([rectangle(80.0, 80.0)]) & Area.stroke(
        ((7.0, 42.0 - bleed / 2.0), (73.0, 42.0 - bleed / 2.0)), 0.9 * bleed
    )
    assert (side - black).area_mm2 == pytest.approx(0.0, abs=1e-6)
    # where the upright lead ends, the black is no wider than the lead
    end = black & Area.stroke(((30.0, 38.3), (50.0, 38.3)), 0.2)
    assert end.area_mm2 == pytest.approx(0.4 * 0.2, rel=0.05)
    assert not (black & cut).is_empty


def test_a_bit_of_lead_that_the_board_cannot_hold_is_printed(plan) -> None:
    """Where fine printed leads join, a cut lead's tooth is cleaned off the board."""
    leads = [
        (((0.0, 30.0), (80.0, 30.0)), 3.0, Role.LEAD),
        (((0.0, 34.0), (80.0, 31.6)), 0.5, Role.LEAD),
        (((0.0, 52.0), (80.0, 54.0)), 3.0, Role.LEAD),
    ]
    window = tiled(rectangle(80.0, 80.0), leads, border_mm=6.0)
    made, _ = plan(window)
    dark = Area.of(made.printed) | Area.of(made.cut)
    members = Area.union(Area.of(member.area) for member in window.members)
    assert [bit for bit in (members - dark).opened(0.06).parts() if bit.area_mm2 > 0.05] == []


def test_ink_runs_under_the_border_beyond_its_middle_and_no_further_than_the_film(plan) -> None:
    """Nothing lies on the border's other side; the film ends within its outer third."""
    window = tiled(rectangle(150.0, 70.0), [], border_mm=1.05)
    made, _ = plan(window)
    bleed = made.registration.bleed_mm
    assert 1.05 / 2.0 < bleed < 1.05 * 2.0 / 3.0  # beyond the middle, within the film
    (limit,) = (Area.of(regions) for _, regions in made.glass_limit)
    assert limit.bounds.left == pytest.approx(1.05 - bleed, abs=1e-6)
    assert Area.of([made.film_trim]).grown(0.01).holds((1.05 / 3.0, 35.0))
    wide = quarries(60.0, 60.0, columns=2, rows=2, lead_mm=2.0, border_mm=6.0)
    made, _ = plan(wide)
    bleed = made.registration.bleed_mm
    left = min(Area.of(regions).bounds.left for _, regions in made.glass_limit)
    assert left == pytest.approx(6.0 - bleed, abs=1e-6)


def test_a_border_too_narrow_for_the_outer_board_is_refused_by_name(plan) -> None:
    window = tiled(rectangle(60.0, 70.0), [], border_mm=0.6)
    with pytest.raises(FrameError, match=r"frame, outer layer: nothing is left .* 0\.60 mm wide"):
        plan(window, board_name="card-0.3", cutter_name="drag-blade", members={"border": "cut"})


def test_a_lead_that_swells_is_inked_to_its_middle_where_it_is_wide(plan) -> None:
    """It is called by its usual width; half of that from either side would leave a bare strip."""
    swelling = Region(
        ((6.0, 39.5), (40.0, 39.1), (74.0, 39.5), (74.0, 40.5), (40.0, 40.9), (6.0, 40.5))
    )
    lead = Member(
        id="swells",
        role=Role.LEAD,
        width_mm=1.0,
        area=(swelling,),
        centreline=((6.0, 40.0), (74.0, 40.0)),
    )
    plain = tiled(rectangle(80.0, 80.0), [], border_mm=6.0)
    (upper, lower) = (Area.of([plain.panes[0].region]) - Area.of([swelling])).regions()
    panes = tuple(
        Pane(id=f"p{n}", region=region, seed_point=Area.of([region]).inner_point())
        for n, region in enumerate((upper, lower))
    )
    window = replace(plain, panes=panes, members=(*plain.members, lead))
    made, _ = plan(window, cutter_name="hand-knife")
    assert made.registration.bleed_mm > 0.75
    ink = Area.union(Area.of(regions) for _, regions in made.glass_limit)
    near = Area.of([swelling]) & Area.union(
        Area.of([pane.region]).grown(made.registration.bleed_mm - 0.01) for pane in panes
    )
    assert (near - ink).area_mm2 < 0.2  # but for the hair that keeps two inks apart
