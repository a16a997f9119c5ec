"""Where a stranger with the report alone can measure each pane's ink."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
from msgspec import Struct

from glasswork.model.film import Separation
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Point, Ring
from glasswork.model.window import Window
from glasswork.planar import Area, AreaSet

PALE_FROM: Final = 190
"""A pane whose least channel is at least this may have spots that look like bare film."""
_NEAR_PAINT_MM: Final = 0.6
_FINE_MM: Final = 0.01


class InkPlace(Struct, frozen=True, kw_only=True):
    """seed : where the pane's own ink has the most room round it, clear of opaque paint
    room_mm : how much; 0 where paint covers the pane
    outline : of a pale pane, what its ink fills; else empty
    """

    seed: Point
    room_mm: float
    outline: tuple[Ring, ...]


def ink_places(window: Window, separation: Separation, plan: FramePlan) -> Mapping[str, InkPlace]:
    """Pane id to its place."""
    panes = AreaSet.of_regions([pane.region for pane in window.panes])
    seeds = [pane.seed_point for pane in window.panes]
    rooms = panes.edge_distances_mm(seeds)
    paint = _opaque(window)
    if not paint.is_empty:
        clear = AreaSet.of_areas([paint] * len(seeds)).distances_mm(seeds)
        for i in np.flatnonzero((clear < _NEAR_PAINT_MM) & panes.touching(paint)).tolist():
            seeds[i], rooms[i] = _beside(panes[i], paint, seeds[i])
        rooms = np.minimum(rooms, AreaSet.of_areas([paint] * len(seeds)).distances_mm(seeds))
    outlines = _outlines(window, separation, plan)
    return {
        pane.id: InkPlace(seed=seed, room_mm=room, outline=outlines.get(pane.id, ()))
        for pane, seed, room in zip(window.panes, seeds, rooms.tolist(), strict=True)
    }


def _opaque(window: Window) -> Area:
    return Area.union(Area.of(stroke.area) for stroke in window.paint if stroke.opaque)


def _beside(pane: Area, paint: Area, seed: Point) -> tuple[Point, float]:
    """The middle of what the paint leaves of a pane, and the room there."""
    left = pane - paint
    if left.is_empty:
        return seed, 0.0
    place = left.inner_point()
    return place, left.edge_distance_mm(place)


def _outlines(
    window: Window, separation: Separation, plan: FramePlan
) -> dict[str, tuple[Ring, ...]]:
    """What the ink of each pale pane fills."""
    pale = {
        glass.glass
        for glass in separation.glasses
        if any(min(device) >= PALE_FROM for device in glass.device)
    }
    limits = dict(plan.glass_limit)
    names = [pane.id for pane in window.panes if pane.glass in pale]
    areas = AreaSet.of_groups([limits[name] for name in names])
    return {
        name: tuple(ring for region in fine for ring in region.rings)
        for name, fine in zip(names, areas.simplified(_FINE_MM).regions(), strict=True)
    }
