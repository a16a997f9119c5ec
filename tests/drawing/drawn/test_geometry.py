"""Published geometry of arches and foils, measured in the arcs that are written.

Sources: [bloxam] for what each arch is; rises, areas and foil ratios follow from it by plane
geometry and are computed here by another way than in the package.
"""

from __future__ import annotations

import re
from itertools import combinations
from math import acos, hypot, pi, sqrt

import numpy as np
import pytest
import shapely

from glasswork.drawing.drawn import KINDS, design, draw
from glasswork.drawing.drawn.curves import (
    Arc,
    Line,
    arc_between,
    area_mm2,
    circle,
    flat,
    inside,
    meetings,
    path_data,
)
from glasswork.drawing.drawn.foils import axis_circle, cusp_radius, foil, lobe_centres, lobe_ratio
from glasswork.drawing.drawn.heads import SHAPES, Head
from glasswork.model.window import Role

_ARC = re.compile(r"A([\d.]+) ([\d.]+) 0 ([01]) ([01]) (-?[\d.]+) (-?[\d.]+)")
_START = re.compile(r"M(-?[\d.]+) (-?[\d.]+)")


def _border_arcs(svg: bytes) -> list[tuple[float, complex, complex]]:
    """Radius, start and end of every arc of the border, as written."""
    text = svg.decode()
    group = text[text.index('<g class="border"') :]
    data = re.search(r'd="([^"]+)"', group)
    assert data is not None
    start = _START.match(data[1])
    assert start is not None
    at = complex(float(start[1]), float(start[2]))
    found = []
    for part in re.findall(r"[AL][^ALZ]+", data[1]):
        arc = _ARC.match(part)
        end = (
            complex(float(arc[5]), float(arc[6]))
            if arc
            else complex(*(float(v) for v in part[1:].split()))
        )
        if arc:
            assert arc[1] == arc[2]
            found.append((float(arc[1]), at, end))
        at = end
    return found


@pytest.mark.parametrize(
    ("kind", "ratio", "rise"),
    [
        # radius over span, rise over span: h = sqrt(r S - S^2/4) [bloxam] [computed-arches]
        ("equilateral", 1.0, 0.866025),
        ("lancet", 1.25, 1.0),
        ("drop", 0.75, 0.707107),
        ("round", 0.5, 0.5),
    ],
)
def test_arches_have_their_published_radius_and_rise(kind: str, ratio: float, rise: float) -> None:
    border = 4.0
    svg = draw(kind, width_mm=100.0, height_mm=200.0, border_mm=border, colours="none")
    arcs = _border_arcs(svg)
    for radius, start, end in arcs:
        # the middle of the border runs round the same centres as its outermost edge
        assert radius + border / 2.0 == pytest.approx(100.0 * ratio, abs=1e-5)
        assert abs(end - start) <= 2.0 * radius
    outer = Head(name=kind, left=0.0, right=100.0, spring=0.0, rise_mm=100.0 * rise).arcs()
    top = min(min(c.start[1], c.end[1], c.at(0.5)[1]) for c in outer)
    assert -top == pytest.approx(100.0 * rise, abs=1e-4)


@pytest.mark.parametrize("ratio", [1.118034])
def test_a_radius_of_one_and_a_half_spans_rises_so(ratio: float) -> None:
    head = Head(name="lancet", left=0.0, right=1.0, spring=0.0, rise_mm=ratio)
    first = head.arcs()[0]
    assert isinstance(first, Arc)
    assert first.radius == pytest.approx(1.5, abs=1e-6)


def test_an_equilateral_head_has_its_area_and_inscribed_circle() -> None:
    # (pi/3 - sqrt(3)/4) S^2; radius and height of the inscribed circle 3S/8 [computed-arches]
    head = Head(name="equilateral", left=0.0, right=80.0, spring=0.0, rise_mm=80.0 * sqrt(0.75))
    foot = Line((80.0, 0.0), (0.0, 0.0))
    assert area_mm2([*head.arcs(), foot]) == pytest.approx(
        (pi / 3.0 - sqrt(3.0) / 4.0) * 80.0**2, rel=1e-12
    )
    found = axis_circle(
        40.0,
        lambda p: min(arc.distance_mm(p) for arc in head.arcs()),
        foot.distance_mm,
        (-80.0 * sqrt(0.75), 0.0),
    )
    assert found.radius == pytest.approx(30.0, abs=1e-9)
    assert -found.centre[1] == pytest.approx(30.0, abs=1e-9)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("inset", [0.0, 2.0, 5.0])
def test_heads_run_on_without_gap_and_lie_inside_each_other(name: str, inset: float) -> None:
    shape = SHAPES[name]
    head = Head(name=name, left=0.0, right=60.0, spring=50.0, rise_mm=60.0 * shape.rise)
    loop = head.loop(120.0, inset)
    for one, other in zip(loop, (*loop[1:], loop[0]), strict=True):
        assert hypot(one.end[0] - other.start[0], one.end[1] - other.start[1]) < 1e-9
    assert area_mm2(loop) > 0.0
    if inset:
        rim = head.loop(120.0)
        for curve in loop:
            for share in (0.1, 0.5, 0.9):
                off = min(side.distance_mm(curve.at(share)) for side in rim)
                assert off == pytest.approx(inset, abs=1e-9)


@pytest.mark.parametrize("name", ["four-centred", "ogee"])
def test_four_centred_heads_run_smoothly_where_their_arcs_meet(name: str) -> None:
    head = Head(name=name, left=0.0, right=60.0, spring=0.0, rise_mm=60.0 * SHAPES[name].rise)
    lower, upper, *_ = head.arcs(3.0)
    assert isinstance(lower, Arc)
    assert isinstance(upper, Arc)
    joint = upper.start
    one = np.subtract(joint, lower.centre) / lower.radius
    other = np.subtract(joint, upper.centre) / upper.radius
    assert abs(float(one @ other)) == pytest.approx(1.0, abs=1e-12)
    assert (float(one @ other) < 0.0) == (name == "ogee")


@pytest.mark.parametrize(
    ("count", "ratio"), [(3, 0.464102), (4, 0.414214), (5, 0.370192), (6, 0.333333), (8, 0.276769)]
)
def test_lobes_have_the_ratio_of_circles_packed_in_a_ring(count: int, ratio: float) -> None:
    # the classic circle-packing ratios for 3 to 6 circles [computed-foils]
    assert lobe_ratio(count) == pytest.approx(ratio, abs=5e-7)
    centres = lobe_centres((0.0, 0.0), 10.0, count, first_rad=0.3)
    radius = 10.0 * lobe_ratio(count)
    for x, y in centres:
        assert hypot(x, y) + radius == pytest.approx(10.0, abs=1e-12)
    near = min(hypot(a[0] - b[0], a[1] - b[1]) for a, b in combinations(centres, 2))
    assert near == pytest.approx(2.0 * radius, abs=1e-12)
    shape = foil((0.0, 0.0), 10.0, count)
    for one, other in zip(shape, (*shape[1:], shape[0]), strict=True):
        assert hypot(one.end[0] - other.start[0], one.end[1] - other.start[1]) < 1e-9
        assert hypot(*one.end) == pytest.approx(cusp_radius(10.0, count), abs=1e-9)


@pytest.mark.parametrize("head", ["equilateral", "lancet", "drop", "round"])
@pytest.mark.parametrize("lights", [2, 3, 4])
def test_tracery_circles_touch_arch_and_heads(head: str, lights: int) -> None:
    found = design(
        head, lights=lights, tracery="quatrefoil", width_mm=150.0, height_mm=240.0, pattern="none"
    )
    bars = [lead.curves for lead in found.leads if lead.role is Role.MULLION]
    rings = [c for c in bars if len(c) == 2 and all(isinstance(a, Arc) for a in c)]
    rings = [c for c in rings if abs(c[0].length_mm + c[1].length_mm - 2 * pi * c[0].radius) < 1e-6]  # type: ignore[union-attr]
    assert len(rings) == {2: 1, 3: 3, 4: 3}[lights]
    top = min(rings, key=lambda ring: ring[0].centre[1])[0]  # type: ignore[union-attr]
    assert isinstance(top, Arc)
    border = next(lead for lead in found.leads if lead.role is Role.BORDER)
    arcs = [c for c in border.curves if isinstance(c, Arc)]
    gap = 4.0 / 2.0 - 3.0 / 2.0  # from the border's middle to that of a bar along its inside
    near = min(abs(c.radius - hypot(*np.subtract(c.centre, top.centre))) for c in arcs)
    assert near == pytest.approx(top.radius + gap, abs=1e-9)
    others = [c for line in bars for c in line if isinstance(c, Arc) and c.centre != top.centre]
    apart = min(c.distance_mm(top.centre) for c in others)
    assert apart == pytest.approx(top.radius, abs=1e-6)


# -- the curves themselves, against shapely ------------------------------------------------------


def test_areas_of_arcs_agree_with_shapely() -> None:
    lens = (
        arc_between((0.0, 0.0), (10.0, 0.0), (5.0, 5.0), clockwise=True),
        Line((10.0, 0.0), (0.0, 0.0)),
    )
    disc = shapely.Point(5.0, 5.0).buffer(sqrt(50.0), quad_segs=4096)
    other = shapely.intersection(disc, shapely.box(-10.0, -10.0, 20.0, 0.0))
    assert area_mm2(lens) == pytest.approx(other.area, rel=1e-6)
    assert area_mm2(circle((3.0, 4.0), 2.0)) == pytest.approx(4.0 * pi, rel=1e-12)


def test_meetings_of_circles_and_lines() -> None:
    one, other = circle((0.0, 0.0), 5.0), circle((8.0, 0.0), 5.0)
    met = sorted(p for a in one for b in other for p in meetings(a, b))
    assert np.allclose(met, [(4.0, -3.0), (4.0, 3.0)])
    touching = circle((10.0, 0.0), 5.0)
    kisses = {tuple(np.round(p, 6)) for a in one for b in touching for p in meetings(a, b)}
    assert kisses == {(5.0, 0.0)}
    line = Line((-10.0, 3.0), (10.0, 3.0))
    assert sorted(p for a in one for p in meetings(line, a)) == [(-4.0, 3.0), (4.0, 3.0)]


@pytest.mark.parametrize("seed", range(4))
def test_inside_agrees_with_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    loops = [
        Head(name="ogee", left=0.0, right=10.0, spring=8.0, rise_mm=7.0).loop(15.0),
        foil((5.0, 7.0), 5.0, 3),
        circle((5.0, 7.0), 4.0),
    ]
    for loop in loops:
        polygon = shapely.Polygon(flat(loop))
        for x, y in rng.uniform(-1.0, 16.0, (60, 2)):
            if polygon.exterior.distance(shapely.Point(x, y)) > 0.01:
                assert inside((x, y), loop) == polygon.contains(shapely.Point(x, y))


def test_large_arcs_are_written_with_their_flag() -> None:
    arc = Arc((0.0, 0.0), 10.0, 0.0, 1.5 * pi)
    assert path_data([arc], closed=False) == "M10 0 A10 10 0 1 1 0 -10"
    assert path_data([arc.back()], closed=False) == "M0 -10 A10 10 0 1 0 10 0"
    assert acos(arc.at(0.5)[0] / 10.0) == pytest.approx(0.75 * pi)


def test_every_kind_is_known() -> None:
    assert list(KINDS) == [
        "equilateral",
        "lancet",
        "drop",
        "round",
        "segmental",
        "four-centred",
        "ogee",
        "casement",
        "rose",
        "wheel",
    ]
