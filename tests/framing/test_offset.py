"""Rings moved in parallel."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.framing.fit import opening_for, panel_for
from glasswork.framing.kerf import piece_paths
from glasswork.framing.layers import parted
from glasswork.framing.offset import as_cut, offset_region, offset_rings
from glasswork.model.geometry import Box, Region, Ring
from glasswork.planar import Area

from windows import arch, circle  # isort: skip


def box_ring(width: float, height: float, *, left: float = 0.0, top: float = 0.0) -> Ring:
    right, bottom = left + width, top + height
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def size(ring: Ring) -> tuple[float, float]:
    box = Box.around(ring)
    return (round(box.width, 9), round(box.height, 9))


def test_published_kerf_case() -> None:
    """Kerf 0.2, drawn 2 × 4: part 1.8 × 3.8, hole 2.2 × 4.2; compensated, the paths are
    2.2 × 4.2 and 1.8 × 3.8 [kerf-case].
    """
    drawn = box_ring(2.0, 4.0)
    assert size(offset_rings((drawn,), -0.1)[0][0]) == (1.8, 3.8)  # the part, cut on the line
    assert size(offset_rings((drawn,), 0.1)[0][0]) == (2.2, 4.2)  # the hole, cut on the line
    part = piece_paths(Region(drawn), 0.2, label="part")
    assert size(part[0].points) == (2.2, 4.2)
    plate = Region(box_ring(20.0, 20.0, left=-9.0, top=-8.0), (drawn,))
    hole = piece_paths(plate, 0.2, label="hole")[0]
    assert hole.operation == "inside"
    assert size(hole.points) == (1.8, 3.8)


@st.composite
def stars(draw: st.DrawFn) -> Ring:
    """Star-shaped rings, convex and concave corners mixed."""
    count = draw(st.integers(3, 14))
    radii = draw(st.lists(st.floats(8.0, 40.0), min_size=count, max_size=count))
    turn = draw(st.floats(0.0, 1.0))
    return tuple(
        (r * cos(2 * pi * (k + turn) / count), r * sin(2 * pi * (k + turn) / count))
        for k, r in enumerate(radii)
    )


@settings(max_examples=150, deadline=None)
@given(ring=stars(), kerf=st.floats(0.01, 0.45), clockwise=st.booleans())
def test_compensated_path_cuts_back_to_the_drawn_size(
    ring: Ring, kerf: float, clockwise: bool
) -> None:
    """A round beam that follows the path leaves the drawn part.

    Two independent makers of the cut: the polygon engine's disc swept along the path, and the
    path moved back. Sharp corners are where a path on a mitre must not be cut short.
    """
    drawn = ring[::-1] if clockwise else ring
    paths = offset_rings((drawn,), kerf / 2.0)[0]
    assert len(paths) == 1
    back = offset_rings(paths, -kerf / 2.0)[0]
    assert len(back) == 1
    assert Area.of((Region(back[0]),)).apart_mm(Area.of((Region(drawn),))) < 1e-6
    beam = Area.stroke((*paths[0], paths[0][0]), kerf, cap="round", join="round")
    left = Area.of((Region(paths[0]),)) - beam
    lost = Area.of((Region(drawn),)) - left
    assert lost.grown(-1e-6).is_empty  # nothing of the part is cut away
    # no more is left over than the rounding that a beam leaves in an inside corner
    reached = Area.of((Region(drawn),)).grown(kerf / 2, join="round").grown(-kerf / 2, join="round")
    assert (left - reached).grown(-kerf * 0.01).is_empty


@settings(max_examples=60, deadline=None)
@given(
    span=st.floats(20.0, 300.0),
    springing=st.floats(4.0, 200.0),
    ratio=st.floats(0.55, 1.6),
    clearance=st.floats(0.1, 3.0),
)
def test_clearance_is_the_same_all_round_an_arch(
    span: float, springing: float, ratio: float, clearance: float
) -> None:
    _same_all_round(arch(span, springing, ratio=ratio), clearance)


@settings(max_examples=40, deadline=None)
@given(ring=stars(), clearance=st.floats(0.1, 0.9))
def test_clearance_is_the_same_all_round_a_drawn_opening(ring: Ring, clearance: float) -> None:
    _same_all_round(Region(ring), clearance)


@pytest.mark.parametrize("radius", [10.0, 60.0, 150.0])
def test_clearance_is_the_same_all_round_a_circle(radius: float) -> None:
    _same_all_round(circle(radius), 0.5)


def _same_all_round(opening: Region, clearance: float) -> None:
    panel = panel_for(opening, clearance)
    hole, board = Area.of((opening,)), Area.of((panel,))
    assert (board - hole).is_empty
    edge = Area.of((Region(opening.outer),))
    for x, y in _along(panel.outer):
        apart = edge.edge_distance_mm((x, y))
        assert apart == pytest.approx(clearance, abs=1e-3)
    if len(panel.outer) < len(opening.outer):
        return  # an edge shorter than the clearance is gone and does not come back
    back = opening_for(panel, clearance)
    assert Area.of((back,)).apart_mm(hole) < 1e-6


def _along(ring: Ring) -> list[tuple[float, float]]:
    """Points on every edge of the ring, ends left out: a mitred corner stands farther off."""
    found = []
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        found += [(ax + (bx - ax) * t, ay + (by - ay) * t) for t in (0.25, 0.5, 0.75)]
    return found


def test_a_ring_that_vanishes_leaves_nothing() -> None:
    assert offset_rings((box_ring(2.0, 4.0),), -1.0) == ((),)
    assert offset_region(Region(box_ring(2.0, 4.0)), -1.0) == ()


def test_a_waist_that_closes_leaves_two_pieces() -> None:
    upper = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.5), (20.0, 4.5), (20.0, 0.0), (30.0, 0.0))
    waist = (*upper, *((x, 10.0 - y) for x, y in reversed(upper)))
    assert len(offset_rings((waist,), -0.6)[0]) == 2


def test_a_hole_that_meets_the_outline_is_cut_out() -> None:
    region = Region(box_ring(10.0, 10.0), (box_ring(8.0, 8.0, left=1.0, top=1.0),))
    assert offset_region(region, -0.6) == ()
    grown = offset_region(region, 0.5)
    assert grown[0].area_mm2 == pytest.approx(121.0 - 49.0)


def test_a_bay_with_a_mouth_narrower_than_the_kerf_is_still_cut_out() -> None:
    """The slit closes, the bay behind it does not."""
    upper = ((0.0, 0.0), (20.0, 0.0), (20.0, 9.97), (18.0, 9.97), (18.0, 4.0), (5.0, 4.0))
    bay = (*upper, *((x, 20.0 - y) for x, y in reversed(upper)))
    inside, outline = piece_paths(Region(bay), 0.2, label="bay")
    assert (inside.operation, outline.operation) == ("inside", "outline")
    assert size(inside.points) == (12.8, 11.8)
    assert size(outline.points) == (20.2, 20.2)


def test_two_copies_of_a_shape_that_differ_in_the_last_digit_are_one() -> None:
    """The polygon engine alone takes these two triangles to be disjoint."""
    one = ((7.981561431934953, 0.5428416972271659), (-21.276380089592138, 31.67357043886444),
           (-6.601248779878662, -13.469354644753789))  # fmt: skip
    other = ((-6.601248779878662, -13.469354644753787), (-21.276380089592138, 31.67357043886444),
             (7.981561431934952, 0.542841697227166))  # fmt: skip
    a, b = Area.of((Region(one),)), Area.of((Region(other),))
    assert (a - b).area_mm2 == pytest.approx(0.0, abs=1e-6)
    assert (a & b).area_mm2 == pytest.approx(a.area_mm2)
    assert (a | b).area_mm2 == pytest.approx(a.area_mm2)


def test_what_the_cut_can_follow_stays_corner_for_corner() -> None:
    plate = Region(box_ring(40.0, 30.0), (box_ring(10.0, 10.0, left=5.0, top=5.0),))
    assert as_cut(plate, 0.15) == (plate,)
    assert as_cut(plate, 0.15)[0] is plate


def test_a_slit_closes_and_a_spike_goes_where_the_cut_is_wider() -> None:
    slit = ((0.0, 0.0), (9.95, 0.0), (9.95, 8.0), (10.05, 8.0), (10.05, 0.0), (40.0, 0.0))
    spike = ((40.0, 30.0), (20.05, 30.0), (20.05, 36.0), (19.95, 36.0), (19.95, 30.0), (0.0, 30.0))
    (left,) = as_cut(Region((*slit, *spike)), 0.15)
    assert Area.of([left]).area_mm2 == pytest.approx(1200.0, abs=0.02)
    assert left.box.bottom == pytest.approx(30.0, abs=0.15)  # but for the roundings at its root


def test_pieces_nearer_than_the_cut_is_wide_become_one() -> None:
    """Cut apart, the path round the one would run through the other."""
    one = Region(box_ring(20.0, 10.0))
    near = Region(box_ring(20.0, 10.0, left=20.1))
    far = Region(box_ring(20.0, 10.0, left=60.0))
    left = parted((one, near, far), 0.15)
    assert sorted(round(region.area_mm2, 3) for region in left) == [200.0, 401.0]
    assert parted((one, far), 0.15) == (one, far)
    assert parted((one, near), 0.05) == (one, near)


def test_of_two_pieces_that_meet_in_a_point_the_smaller_stands_back() -> None:
    """No board joins them; told as two pieces, they must be two once cut."""
    large = Region(((0.0, 0.0), (20.0, 10.0), (0.0, 20.0)))
    small = Region(((20.0, 10.0), (30.0, 5.0), (30.0, 15.0)))
    left = parted((large, small), 0.15)
    assert left[0].area_mm2 == pytest.approx(200.0, abs=1e-6)
    assert left[1].area_mm2 == pytest.approx(50.0, abs=0.05)
    one, two = (Area.of([region]) for region in left)
    assert 0.15 < one.distance_mm(two) < 0.16
    paths = [path for region in left for path in piece_paths(region, 0.15, label="outer")]
    cut = [Area.of([Region(path.points)]).grown(-0.075, join="mitre") for path in paths]
    assert len(Area.union(cut).parts()) == 2


def test_a_neck_of_board_is_left_for_the_weak_places_to_tell() -> None:
    neck = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.95), (20.0, 4.95), (20.0, 0.0), (30.0, 0.0))
    back = ((30.0, 10.0), (20.0, 10.0), (20.0, 5.05), (10.0, 5.05), (10.0, 10.0), (0.0, 10.0))
    dumbbell = Region((*neck, *back))
    assert Area.of(as_cut(dumbbell, 0.15)).area_mm2 == pytest.approx(201.0, abs=0.01)


def test_an_opening_loses_its_arms_and_an_opening_that_is_one_stays() -> None:
    arm = ((5.0, 5.0), (15.0, 5.0), (15.0, 9.95), (25.0, 9.95), (25.0, 10.05), (15.0, 10.05))
    keyhole = (*arm, (15.0, 15.0), (5.0, 15.0))
    slot = box_ring(12.0, 0.1, left=5.0, top=20.0)
    (left,) = as_cut(Region(box_ring(40.0, 30.0), (keyhole, slot)), 0.15)
    sizes = sorted(size(hole) for hole in left.holes)
    assert sizes[0] == pytest.approx((10.0, 10.0), abs=1e-6)
    assert sizes[1] == (12.0, 0.1)  # for `cut_paths` to refuse by name
