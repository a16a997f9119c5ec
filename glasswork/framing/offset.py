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
_SEGMENTS = 6
OVER = 1.05
"""What is left must stay clear of the cut's width by a little, not just reach it."""


def offset_rings(rings: Sequence[Ring], mm: float) -> tuple[tuple[Ring, ...], ...]:
    """Each ring with its inside grown by mm (shrunk if negative): what is left of it, if anything.

    A ring may vanish (an empty tuple) or fall apart (several rings).
    """
    if not rings:
        return ()
    if mm == 0.0:
        return tuple((ring,) for ring in rings)
    moved, whole = _moved_whole(rings, mm)
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


def as_cut(region: Region, kerf_mm: float) -> Regions:
    """A region as a cut of this width can leave it: slits and spikes narrower than it are gone.

    A slit that the cut cannot enter stays closed, a spike thinner than it is burnt away. Rings
    that the cut can follow stay corner for corner. A hole of which nothing is left stays as it is.
    """
    if kerf_mm <= 0.0:
        return (region,)
    half = kerf_mm / 2.0
    outer_held = _moved_whole((region.outer,), half)[1][0]
    holes_held = _moved_whole(region.holes, -half)[1]
    if outer_held and all(holes_held):
        return (region,)
    solid = Area.of((Region(region.outer),))
    if not outer_held:
        solid = _without_spikes(_closed(solid, half), half)
    holes = [Area.of((Region(hole),)) for hole in region.holes]
    for i, held in enumerate(holes_held):
        if not held:
            holes[i] = _hole_as_cut(holes[i], half)
    return (solid - Area.union(holes)).regions() if holes else solid.regions()


def _hole_as_cut(hole: Area, half_mm: float) -> Area:
    """The hole without arms too narrow to cut, its points as round as the cut, and with the spikes
    of board that stand in it gone; a peninsula on such a spike stays where it is.
    """
    reach = OVER * half_mm
    wide = _sharp(_sharp(hole, reach), -reach)
    if any(region.holes for region in wide.regions()):
        wide = hole
    left = _sharp(wide, -reach).grown(reach, join="round", segments=_SEGMENTS)
    return hole if left.is_empty else left


def _closed(solid: Area, half_mm: float) -> Area:
    """Slits closed, and the bottoms of bays as round as the cut."""
    reach = OVER * half_mm
    return _sharp(solid, reach).grown(-reach, join="round", segments=_SEGMENTS)


def _without_spikes(solid: Area, half_mm: float) -> Area:
    """A neck between two parts is no spike: it stays, to be told as a weak place."""
    reach = OVER * half_mm
    left = _sharp(_sharp(solid, -reach), reach)
    return left if len(left.parts()) == len(solid.parts()) else solid


def _sharp(area: Area, mm: float) -> Area:
    return area.grown(mm, join="mitre", mitre_limit=LONGEST_MITRE)


def _moved_whole(rings: Sequence[Ring], mm: float) -> tuple[list[Ring], list[bool]]:
    """Each ring with its edges moved in parallel, and whether that leaves it whole."""
    if not rings:
        return [], []
    moved, whole = _moved(rings, mm)
    good = [i for i, ok in enumerate(whole) if ok]
    for i, ok in zip(good, sound_regions([Region(moved[i]) for i in good]), strict=True):
        whole[i] = bool(ok)
    return moved, whole


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
