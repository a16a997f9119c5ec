"""Areas that tile, joined; regions mapped."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from glasswork.model.geometry import Affine, Region
from glasswork.planar import AreaSet


def test_tiles_joined_are_their_union() -> None:
    """Where tiles share all corners, and where one has a corner that its neighbour lacks."""
    left = Region(((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)))
    right = Region(((4.0, 0.0), (9.0, 0.0), (9.0, 4.0), (4.0, 4.0)))
    split = Region(((4.0, 0.0), (9.0, 0.0), (9.0, 4.0), (4.0, 4.0), (4.0, 2.0)))
    for other in (right, split):
        tiles = AreaSet.of_regions([left, other])
        assert tiles.tiles_joined().area_mm2 == pytest.approx(36.0)
        assert len(tiles.tiles_joined().regions()) == 1
        assert tiles.tiles_joined().apart_mm(tiles.joined()) == 0.0


def test_tiles_of_which_some_share_no_corners_are_joined() -> None:
    def square(left: float, top: float) -> Region:
        right, bottom = left + 1.0, top + 1.0
        return Region(((left, top), (right, top), (right, bottom), (left, bottom)))

    sharing = [square(float(x), float(y)) for x in range(40) for y in range(3)]
    halved = [square(x + 0.5, 3.0) for x in range(10)]
    joined = AreaSet.of_regions([*sharing, *halved]).tiles_joined()
    assert joined.area_mm2 == pytest.approx(130.0, abs=1e-12)
    assert [len(region.holes) for region in joined.regions()] == [0]


def test_areas_that_gain_no_part_stay_as_they_are() -> None:
    areas = AreaSet.of_regions([Region(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)))])
    none = np.array([], dtype=np.intp)
    assert areas.with_parts(none, areas.chosen(none)).areas_mm2().tolist() == [0.5]


def test_a_flat_map_leaves_no_region() -> None:
    square = Region(((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)))
    assert square.mapped(Affine.scale(2.0)).area_mm2 == 64.0
    with pytest.raises(ValueError, match="area"):
        square.mapped(Affine.scale(1.0, 0.0))


def test_of_many_pairs_only_those_that_the_engine_balks_at_are_mended() -> None:
    """A ring that crosses itself is refused by GEOS; its neighbours stay to the last digit."""
    third = shapely.box(0.0, 0.0, 1.0 / 3.0, 1.0)
    crossed = shapely.Polygon([(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)])
    whole = shapely.box(0.0, 0.0, 2.0, 2.0)
    with pytest.raises(shapely.GEOSException):
        shapely.intersection(crossed, whole)
    found = AreaSet(np.array([third, crossed], dtype=object)).meet(
        AreaSet(np.array([whole, whole], dtype=object))
    )

    assert found.shapes[0].bounds == third.bounds
    assert found.areas_mm2()[1] == pytest.approx(2.0)
