"""What the cutter follows: few nodes, arcs kept, nothing twice, inside before outside."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from math import atan, cos, pi, sin, tan

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from glasswork.framing.arcs import TOLERANCE_MM, with_arcs
from glasswork.framing.files import layer_drawings, sheet_drawings
from glasswork.framing.kerf import ORDER, cut_paths
from glasswork.model.frame import CutPath
from glasswork.model.geometry import Point

from windows import arch, board, circle, cutter, quarries, rectangle, tiled, two_light  # isort: skip


def flattened(path: CutPath, *, steps: int = 1000) -> list[Point]:
    """The path with its arcs as many chords, worked out from the bulges alone."""
    ends = (*path.points[1:], path.points[0]) if path.closed else path.points[1:]
    bulges = path.bulges or (0.0,) * len(path.points)
    found = [path.points[0]]
    for (ax, ay), (bx, by), bulge in zip(path.points, ends, bulges, strict=False):
        if bulge == 0.0:
            found.append((bx, by))
            continue
        sweep = 4.0 * atan(bulge)
        # the centre lies on the chord's bisector, at half the chord over tan(sweep / 2)
        mx, my = (ax + bx) / 2.0, (ay + by) / 2.0
        lift = 1.0 / (2.0 * tan(sweep / 2.0)) if abs(abs(sweep) - pi) > 1e-12 else 0.0
        cx, cy = mx - (by - ay) * lift, my + (bx - ax) * lift
        for k in range(1, steps + 1):
            t = sweep * k / steps
            dx, dy = ax - cx, ay - cy
            found.append((cx + dx * cos(t) - dy * sin(t), cy + dx * sin(t) + dy * cos(t)))
    return found


def farthest(points: np.ndarray, line: np.ndarray) -> float:
    """The furthest that a point lies from a polyline."""
    a, d = line[:-1], np.diff(line, axis=0)
    keep = (d**2).sum(axis=1) > 0.0
    a, d = a[keep], d[keep]
    t = ((points[:, None] - a) * d).sum(axis=2) / (d**2).sum(axis=1)
    near = a + np.clip(t, 0.0, 1.0)[..., None] * d
    return float(np.hypot(*np.moveaxis(points[:, None] - near, 2, 0)).min(axis=1).max())


@settings(max_examples=80, deadline=None)
@example(radius=2.0, start=0.0, sweep=3.5, chords=53, turn=1.0)  # 3 chords left over half a turn
@given(
    radius=st.floats(2.0, 200.0),
    start=st.floats(0.0, 6.28),
    sweep=st.floats(0.4, 5.5),
    chords=st.integers(12, 80),
    turn=st.sampled_from([1.0, -1.0]),
)
def test_an_arc_drawn_with_chords_is_an_arc_again(radius, start, sweep, chords, turn) -> None:
    run = tuple(
        (
            radius * cos(start + turn * sweep * k / chords),
            radius * sin(start + turn * sweep * k / chords),
        )
        for k in range(chords + 1)
    )
    path = with_arcs(CutPath(operation="outline", points=(*run, (3.0 * radius, 0.3)), closed=True))
    drawn = np.array([*run, (3.0 * radius, 0.3), run[0]])
    again = np.array([*flattened(path)])
    assert farthest(drawn, again) <= TOLERANCE_MM + radius * 5e-6
    sagitta = radius * (1.0 - cos(sweep / chords / 2.0))
    assert farthest(again, drawn) <= max(5.0 * TOLERANCE_MM, sagitta) + 1e-6
    if sagitta < TOLERANCE_MM:
        assert len(path.points) <= 5
    assert set(path.points) <= {*run, (3.0 * radius, 0.3)}


def test_a_window_of_arcs_has_few_nodes(plan) -> None:
    made, _ = plan(tiled(circle(50.0), [], border_mm=6.0))
    retainer = layer_drawings(made, cutter())[-1]
    assert [len(path.points) for path in retainer.paths] == pytest.approx([2, 2], abs=1)
    two_arcs, _ = plan(tiled(arch(80.0, 60.0), [], border_mm=6.0))
    for path in layer_drawings(two_arcs, cutter())[-1].paths:
        assert len(path.points) <= 8  # two arcs, three straights, and the start
        assert 2 <= sum(1 for bulge in path.bulges if bulge) <= 3


def test_nothing_is_cut_twice(plan) -> None:
    made, _ = plan(two_light())
    for drawing in (*layer_drawings(made, cutter()), *sheet_drawings(made, cutter())):
        seen = Counter(
            frozenset((round(x, 4), round(y, 4)) for x, y in pair)
            for path in drawing.paths
            if path.operation not in ("engrave", "score") and len(path.points) > 2
            for pair in pairwise((*path.points, path.points[0]))
        )
        assert max(seen.values()) == 1


def test_inside_comes_before_outside(plan) -> None:
    made, _ = plan(two_light())
    for drawing in (*layer_drawings(made, cutter()), *sheet_drawings(made, cutter())):
        order = [ORDER.index(path.operation) for path in drawing.paths]
        assert order == sorted(order)
        assert [path.operation for path in drawing.paths].count("outline") >= 1


def test_paths_begin_away_from_corners(plan) -> None:
    made, _ = plan(quarries(120.0, 100.0, columns=4, rows=3, lead_mm=2.0, border_mm=6.0))
    for drawing in layer_drawings(made, cutter()):
        for path in drawing.paths:
            if path.operation != "inside":
                continue
            before, start, after = path.points[-1], path.points[0], path.points[1]
            to = np.subtract(start, before)
            out = np.subtract(after, start)
            cosine = float(to @ out / np.hypot(*to) / np.hypot(*out))
            assert cosine == pytest.approx(1.0, abs=1e-9)  # straight on
            assert min(np.hypot(*to), np.hypot(*out)) > 5.0


def test_kerf_follows_the_board_of_each_layer(plan) -> None:
    """0.076 mm in thin board, 0.15 in 2 mm [laser-kerf-board] [laser-kerf-sheet]."""
    from glasswork.model.frame import Level

    made, _ = plan(
        tiled(rectangle(80.0, 60.0), [], border_mm=8.0), boards={Level.RETAINER: board("card-0.3")}
    )
    for layer, kerf in ((made.layers[1], 0.15), (made.layers[-1], 0.076)):
        paths = [
            p for p in cut_paths(replace(layer, marks=()), cutter()) if p.operation == "inside"
        ]
        drawn = max(x for x, _ in layer.pieces[0].holes[0]) - min(
            x for x, _ in layer.pieces[0].holes[0]
        )
        cut = max(x for x, _ in paths[0].points) - min(x for x, _ in paths[0].points)
        assert drawn - cut == pytest.approx(kerf, abs=1e-6)


def test_the_ears_say_which_layer_they_are_on(plan) -> None:
    """Engraved letters read upright on every cut face; the back layers' too, though mirrored."""
    made, _ = plan(two_light())
    codes = {
        layer.file: {path.label for path in layer.marks if path.operation == "engrave"}
        for layer in made.layers
    }
    assert codes == {
        "front-outer": {"F", "O"},
        "front-inner": {"F", "I"},
        "back-inner": {"B", "I"},
        "back-outer": {"B", "O"},
        "retainer": set(),
    }
    for layer in made.layers[:4]:
        face, level = layer.file.split("-")
        for ear in made.ears:
            x, y = layer.panel_to_file.apply(ear.hole_centre)
            near = [
                path
                for path in layer.marks
                if path.operation == "engrave"
                and all(abs(px - x) < 6.0 and abs(py - y) < 3.0 for px, py in path.points)
            ]
            left = {path.label for path in near if path.points[0][0] < x}
            right = {path.label for path in near if path.points[0][0] > x}
            assert (left, right) == ({face[0].upper()}, {level[0].upper()})
        scores = [path for path in layer.marks if path.operation == "score"]
        assert len(scores) == 3
