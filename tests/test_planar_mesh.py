"""Triangles of areas, what groups of them cover, and distances, against shapely and Euler."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from glasswork.model.geometry import Region
from glasswork.planar import (
    Area,
    AreaSet,
    Mesh,
    depths,
    lines_at,
    mesh_of,
    near_edge,
    nearest_mm,
    outline_round,
    outlines,
)

SEEDS = range(12)


def _random_area(seed: int) -> Area:
    """A field with holes of many forms: squares, stars, discs, some of which overlap."""
    dice = np.random.default_rng(seed)
    field = shapely.box(0.0, 0.0, 100.0, 80.0)
    spots = dice.uniform((5.0, 5.0), (95.0, 75.0), (60, 2))
    holes = []
    for number, (x, y) in enumerate(spots):
        turns = np.sort(dice.uniform(0.0, 2.0 * np.pi, 3 + number % 9))
        far = dice.uniform(0.5, 6.0, len(turns))
        ring = np.stack([x + far * np.cos(turns), y + far * np.sin(turns)], axis=1)
        holes.append(shapely.make_valid(shapely.Polygon(ring)))
    discs = shapely.buffer(shapely.points(spots[:12] + 3.0), dice.uniform(1.0, 3.0, 12))
    left = shapely.difference(field, shapely.union_all([*holes, *discs]))
    return Area(max(shapely.get_parts(left), key=lambda part: part.area))


def _sizes(mesh: Mesh) -> np.ndarray:
    a, b, c = (mesh.points[mesh.corners[:, k]] for k in range(3))
    one, two = b - a, c - a
    return (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / 2.0


@pytest.mark.parametrize("seed", SEEDS)
def test_triangles_tile_an_area_and_know_their_neighbours(seed: int) -> None:
    area = _random_area(seed)
    mesh = mesh_of(area)
    assert mesh is not None
    assert (_sizes(mesh) >= 0.0).all()
    assert _sizes(mesh).sum() == pytest.approx(area.area_mm2, rel=1e-9)
    middles = shapely.points(mesh.points[mesh.corners].mean(axis=1))
    assert (shapely.distance(area.shape, middles) < 1e-9).all()
    for t, k in np.argwhere(mesh.near >= 0).tolist():
        side = set(mesh.corners[t].tolist()) - {int(mesh.corners[t, k])}
        other = int(mesh.near[t, k])
        assert side < set(mesh.corners[other].tolist())
        assert t in mesh.near[other]
    # Euler: corners - sides + triangles = 1 - holes, and three sides a triangle
    corners = len(np.unique(mesh.corners))
    rims = int((mesh.near < 0).sum())
    holes = len(shapely.get_rings(area.shape)) - 1
    assert len(mesh.corners) == 2 * corners - rims + 2 * holes - 2


@pytest.mark.parametrize("seed", SEEDS)
def test_no_corner_lies_in_the_circle_of_a_triangle_it_sees(seed: int) -> None:
    """Constrained Delaunay: of two triangles with a side in common neither holds the other."""
    mesh = mesh_of(_random_area(seed))
    assert mesh is not None
    for t, k in np.argwhere(mesh.near >= 0).tolist():
        (ax, ay), (bx, by), (cx, cy) = mesh.points[mesh.corners[t]].tolist()
        side = set(mesh.corners[t].tolist()) - {int(mesh.corners[t, k])}
        (far,) = set(mesh.corners[mesh.near[t, k]].tolist()) - side
        px, py = mesh.points[far].tolist()
        rows = [
            [x - px, y - py, (x - px) ** 2 + (y - py) ** 2]
            for x, y in ((ax, ay), (bx, by), (cx, cy))
        ]
        size = max(abs(v) for row in rows for v in row) ** 2
        assert np.linalg.det(np.array(rows)) < 1e-6 * size


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("count", [1, 7, 40])
def test_what_groups_of_triangles_cover_is_their_union(seed: int, count: int) -> None:
    mesh = mesh_of(_random_area(seed))
    assert mesh is not None
    owner = np.random.default_rng(seed).integers(0, count, len(mesh.corners))
    shapes = shapely.polygons(mesh.points[mesh.corners])
    for index, regions in enumerate(outlines(mesh, owner, count)):
        found = AreaSet.of_regions(regions)
        assert shapely.is_valid(found.shapes).all()
        wanted = shapely.union_all(shapes[owner == index])
        assert shapely.area(found.shapes).sum() == pytest.approx(wanted.area, rel=1e-9)
        assert shapely.union_all(found.shapes).symmetric_difference(wanted).area < 1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_the_ring_round_panes_closes_as_the_panes_do(seed: int) -> None:
    """Closed by the engine, the ring is what the panes make, but for a little at corners."""
    dice = np.random.default_rng(seed)
    corners = np.stack(np.meshgrid(np.arange(7.0), np.arange(6.0), indexing="ij"), axis=-1) * 10.0
    corners += dice.uniform(-2.0, 2.0, corners.shape)
    cells = [
        shapely.Polygon(corners[[i, i + 1, i + 1, i], [j, j, j + 1, j + 1]])
        for i in range(6)
        for j in range(5)
        if (i, j) not in ((2, 4), (0, 0))
    ]
    panes = shapely.buffer(np.array(cells, dtype=object), -0.5, join_style="mitre")
    edge = outline_round(AreaSet(panes), 1.5)
    assert edge is not None
    alone = Area(shapely.union_all(panes)).grown(0.75).grown(-0.75)
    ring = Area.of((edge,)).grown(0.75).grown(-0.75)
    whole = Area.of((Region(alone.regions()[0].outer),))
    apart = (whole - ring).area_mm2 + (ring - whole).area_mm2
    assert apart < 2e-3 * whole.area_mm2


def test_panes_too_far_apart_have_no_one_ring() -> None:
    squares = [shapely.box(12.0 * i, 0.0, 12.0 * i + 10.0, 10.0) for i in range(3)]
    panes = AreaSet(np.array(squares, dtype=object))
    assert outline_round(panes, 1.9) is None
    edge = outline_round(panes, 2.1)
    assert edge is not None
    assert edge.area_mm2 == pytest.approx(340.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_nearest_area_is_found_at_any_distance(seed: int) -> None:
    dice = np.random.default_rng(seed)
    spots = dice.uniform(0.0, 100.0, (80, 2)) ** 2 / 10.0
    shapes = shapely.buffer(shapely.points(spots), dice.uniform(0.1, 3.0, 80))
    wanted = [min(one.distance(o) for o in shapes if o is not one) for one in shapes]
    assert nearest_mm(AreaSet(shapes)) == pytest.approx(wanted, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_places_know_how_far_the_edge_is(seed: int) -> None:
    dice = np.random.default_rng(seed)
    turns = np.sort(dice.uniform(0.0, 2.0 * np.pi, 40))
    far = dice.uniform(20.0, 50.0, 40)
    ring = np.stack([far * np.cos(turns), far * np.sin(turns)], axis=1)
    places = dice.uniform(-60.0, 60.0, (200, 2))
    line = shapely.LinearRing(ring)
    wanted = [line.distance(point) for point in shapely.points(places)]
    found = near_edge([*map(tuple, places.tolist())], tuple(map(tuple, ring.tolist())))
    assert found == pytest.approx(wanted, abs=1e-12)
    assert len(near_edge([], tuple(map(tuple, ring.tolist())))) == 0


@pytest.mark.parametrize("seed", SEEDS)
def test_lines_and_areas_within_reach_are_all_found(seed: int) -> None:
    dice = np.random.default_rng(seed)
    places = dice.uniform(0.0, 20.0, (50, 2))
    segments = dice.uniform(0.0, 20.0, (30, 2, 2))
    points, lines = shapely.points(places), shapely.linestrings(segments)
    at, which = lines_at(places, segments, reach_mm=1.5)
    wanted = np.argwhere(shapely.distance(points[:, None], lines[None]) <= 1.5).tolist()
    assert sorted(zip(at.tolist(), which.tolist(), strict=True)) == list(map(tuple, wanted))
    discs = shapely.buffer(shapely.points(segments[:, 0]), 2.0)
    at, which, deep = depths(places, AreaSet(discs), reach_mm=1.0)
    off = shapely.distance(points[:, None], discs[None])
    assert sorted(zip(at.tolist(), which.tolist(), strict=True)) == list(
        map(tuple, np.argwhere(off <= 1.0).tolist())
    )
    edge = shapely.distance(points[at], shapely.boundary(discs[which]))
    assert np.abs(deep) == pytest.approx(edge)
    assert (deep < 0.0).tolist() == (off[at, which] > 0.0).tolist()
