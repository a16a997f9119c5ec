"""Rings moved outwards or inwards with every edge kept parallel and every corner sharp.

The polygon engine's own offset simplifies its input by 1 % of the distance and bevels sharp
corners; a kerf path must cut back to the drawn size, and an opening must keep its arches true,
so edges are moved here and the engine is asked only where an edge would vanish.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from glasswork.model.geometry import Region, Regions, Ring
from glasswork.planar import Area, sound_regions

LONGEST_MITRE = 20.0
"""A corner may move this many times the distance; sharper ones are left to the engine."""

_SAME_MM = 1e-9


def offset_rings(rings: Sequence[Ring], mm: float) -> tuple[tuple[Ring, ...], ...]:
    """Each ring with its inside grown by mm (shrunk if negative): what is left of it, if anything.

    A ring may vanish (an empty tuple) or fall apart (several rings).
    """
    if not rings:
        return ()
    if mm == 0.0:
        return tuple((ring,) for ring in rings)
    moved, whole = _moved(rings, mm)
    good = [i for i, ok in enumerate(whole) if ok]
    for i, ok in zip(good, sound_regions([Region(moved[i]) for i in good]), strict=True):
        whole[i] = bool(ok)
    return tuple((moved[i],) if whole[i] else _by_engine(rings[i], mm) for i in range(len(rings)))


def offset_outline(ring: Ring, mm: float) -> Regions:
    """What an outline encloses once grown by mm; a bay whose mouth closes becomes a hole."""
    moved = offset_rings((ring,), mm)[0]
    if len(moved) == 1 and (mm <= 0.0 or len(moved[0]) == len(ring)):
        return (Region(moved[0]),)
    return Area.of((Region(ring),)).grown(mm, join="mitre", mitre_limit=LONGEST_MITRE).regions()


def offset_region(region: Region, mm: float) -> Regions:
    """A region grown by mm all round (shrunk if negative), holes shrunk as it grows.

    Returns: what is left, largest first; empty if nothing is
    """
    outers = offset_rings((region.outer,), mm)[0]
    holes = tuple(h for left in offset_rings(region.holes, -mm) for h in left)
    if len(outers) == 1:
        candidate = Region(outers[0], holes)
        if sound_regions([candidate])[0]:
            return (candidate,)
    solid = Area.of(Region(outer) for outer in outers)
    return (solid - Area.of(Region(hole) for hole in holes)).regions()


def _by_engine(ring: Ring, mm: float) -> tuple[Ring, ...]:
    left = Area.of((Region(ring),)).grown(mm, join="mitre", mitre_limit=LONGEST_MITRE)
    return tuple(region.outer for region in left.regions())


def _moved(rings: Sequence[Ring], mm: float) -> tuple[list[Ring], list[bool]]:
    """Every ring with its edges moved in parallel, and whether all its edges still run forwards."""
    counts = np.array([len(ring) for ring in rings])
    ends = np.cumsum(counts)
    starts = ends - counts
    points = np.concatenate([np.asarray(ring, dtype=np.float64) for ring in rings])
    after = np.arange(len(points)) + 1
    after[ends - 1] = starts
    before = np.arange(len(points)) - 1
    before[starts] = ends - 1

    edge = points[after] - points
    length = np.hypot(edge[:, 0], edge[:, 1])
    turning = np.add.reduceat(
        points[:, 0] * points[after][:, 1] - points[after][:, 0] * points[:, 1], starts
    )
    side = np.repeat(np.where(turning > 0.0, 1.0, -1.0), counts)
    with np.errstate(divide="ignore", invalid="ignore"):
        unit = edge / length[:, None]
        normal = np.stack([unit[:, 1], -unit[:, 0]], axis=1) * side[:, None]
        both = normal + normal[before]
        reach = 2.0 / np.einsum("ij,ij->i", both, both)
        target = points + both * (reach * mm)[:, None]
        stretch = np.sqrt(2.0 * reach)
    forwards = np.einsum("ij,ij->i", target[after] - target, edge) > 0.0
    held = forwards & (length > _SAME_MM) & (stretch <= LONGEST_MITRE)
    whole = np.logical_and.reduceat(held, starts)
    return _split(target, starts, ends), [bool(ok) for ok in whole]


def _split(
    points: NDArray[np.float64], starts: NDArray[np.intp], ends: NDArray[np.intp]
) -> list[Ring]:
    listed = [tuple(pair) for pair in points.tolist()]
    return [tuple(listed[a:b]) for a, b in zip(starts.tolist(), ends.tolist(), strict=True)]
