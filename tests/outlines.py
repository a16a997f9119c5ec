"""How far outlines lie apart, by an index of their edges: GEOS asks every corner of every edge."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely


def apart_mm(one: Any, other: Any) -> float:
    """The Hausdorff distance of two areas' outlines, taken at their corners.

    What shapely's hausdorff_distance of the boundaries gives.
    """
    return max(_farthest_mm(one, other), _farthest_mm(other, one))


def _farthest_mm(one: Any, other: Any) -> float:
    """How far the corners of one outline lie from the other at most."""
    rings = map(shapely.get_coordinates, shapely.get_parts(other.boundary))
    edges = np.concatenate([np.stack([at[:-1], at[1:]], axis=1) for at in rings])
    tree = shapely.STRtree(shapely.linestrings(edges))
    corners = shapely.points(shapely.get_coordinates(one.boundary))
    _, far = tree.query_nearest(corners, return_distance=True, all_matches=False)
    return float(far.max())
