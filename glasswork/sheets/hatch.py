"""Hatching: slanting lines cut to an area."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np

from glasswork.model.geometry import Point, Ring


def hatch_lines(
    rings: tuple[Ring, ...], *, pitch_mm: float, angle_deg: float = 45.0
) -> tuple[tuple[Point, Point], ...]:
    """Lines inside closed rings by even-odd crossing, this far apart.

    angle_deg : of the lines against the x axis
    """
    if not rings:
        return ()
    turn = radians(angle_deg)
    along, across = np.array([cos(turn), sin(turn)]), np.array([-sin(turn), cos(turn)])
    starts = np.concatenate([np.asarray(ring, dtype=np.float64) for ring in rings])
    ends = np.concatenate(
        [np.roll(np.asarray(ring, dtype=np.float64), -1, axis=0) for ring in rings]
    )
    low, high = starts @ across, ends @ across
    first = np.ceil(np.minimum(low, high) / pitch_mm).astype(np.intp)
    count = np.ceil(np.maximum(low, high) / pitch_mm).astype(np.intp) - first
    edge = np.repeat(np.arange(len(starts)), count)
    begin = np.repeat(np.cumsum(count) - count, count)
    line = first[edge] + np.arange(len(edge)) - begin
    share = (line * pitch_mm - low[edge]) / (high[edge] - low[edge])
    places = starts[edge] + share[:, None] * (ends[edge] - starts[edge])
    order = np.lexsort((places @ along, line))
    points = [tuple(place) for place in places[order].tolist()]
    return tuple(zip(points[0::2], points[1::2], strict=True))
