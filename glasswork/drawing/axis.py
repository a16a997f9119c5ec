"""The chordal axis of an area: ways through its triangles from joint to joint.

A way leaves a triangle by one of its sides; ways are named 3·triangle + the corner opposite the
side. Everything is held in arrays, one row a crossed side, length after length.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.planar import Mesh

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Axis(Struct, frozen=True, kw_only=True):
    """Lengths of the axis between joints, and rings without one.

    start, stop : (lengths,) the joints' triangles; -1 for a ring
    owner : (sides,) the length of each crossed side, 0, 0, …, 1, 1, …
    triangles : (sides,) the triangle that is left by it
    middles, spans : the middle and the size of each crossed side, mm
    degree : (all triangles,) ways on: 3 in a joint, 2 along a lead, 0 off the axis
    areas : (all triangles,) mm²
    hangs_on : (all triangles,) for those off the axis the next one towards it
    """

    start: Ints
    stop: Ints
    owner: Ints
    triangles: Ints
    middles: Floats
    spans: Floats
    degree: Ints
    areas: Floats
    hangs_on: Ints

    @property
    def count(self) -> int:
        return len(self.start)

    def kept(self, which: NDArray[np.bool_]) -> Axis:
        """The axis with some of its lengths."""
        sides = which[self.owner]
        return replace(
            self,
            start=self.start[which],
            stop=self.stop[which],
            owner=(np.cumsum(which) - 1)[self.owner[sides]],
            triangles=self.triangles[sides],
            middles=self.middles[sides],
            spans=self.spans[sides],
        )

    def inner(self) -> Ints:
        """The rows whose triangles lie along their length, not in its first joint."""
        first, _ = ends_of(self)
        along = np.ones(len(self.owner), dtype=np.bool_)
        along[first[self.start >= 0]] = False
        return np.flatnonzero(along)

    def lengths(self) -> Floats:
        """From the first to the last crossed side; of a ring, all round."""
        first, last = ends_of(self)
        step = np.zeros(len(self.owner))
        step[1:] = np.hypot(*np.diff(self.middles, axis=0).T)
        step[first] = 0.0
        around = np.hypot(*(self.middles[first] - self.middles[last]).T)
        total = np.bincount(self.owner, weights=step, minlength=self.count)
        return np.asarray(total + np.where(self.start < 0, around, 0.0))


def ends_of(axis: Axis) -> tuple[Ints, Ints]:
    """The first and the last row of each length."""
    stop = np.cumsum(np.bincount(axis.owner, minlength=axis.count))
    return np.append(0, stop[:-1]).astype(np.intp), stop - 1


def axis_of(mesh: Mesh) -> Axis:
    """The chordal axis of a mesh; without lengths if the area goes round nothing."""
    hangs_on, alive = _core(mesh.near)
    link = (mesh.near >= 0) & alive[mesh.near] & alive[:, None]
    degree = link.sum(axis=1)
    ways, start, owner = _ordered(mesh.near, link, degree)
    first = np.flatnonzero(np.append(True, owner[1:] != owner[:-1])[: len(owner)])
    last = np.append(first[1:], len(owner)) - 1 if len(owner) else first
    begin = np.where(start >= 0, ways[first] // 3, -1)
    stop = np.where(start >= 0, mesh.near.ravel()[ways[last]], -1)
    corners = mesh.corners[ways // 3]
    rows, side = np.arange(len(ways)), ways % 3
    one = mesh.points[corners[rows, (side + 1) % 3]]
    two = mesh.points[corners[rows, (side + 2) % 3]]
    a, b, c = (mesh.points[mesh.corners[:, k]] for k in range(3))
    edge, far = b - a, c - a
    return Axis(
        start=begin,
        stop=stop,
        owner=owner,
        triangles=ways // 3,
        middles=(one + two) / 2.0,
        spans=np.hypot(*(one - two).T),
        degree=degree,
        areas=np.abs(edge[:, 0] * far[:, 1] - edge[:, 1] * far[:, 0]) / 2.0,
        hangs_on=hangs_on,
    )


def _core(near: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    """Triangles on a way round some hole; each other one hangs on the next one towards them."""
    count = (near >= 0).sum(axis=1)
    hangs_on = np.arange(len(near))
    alive = np.ones(len(near), dtype=np.bool_)
    ends = np.flatnonzero(count <= 1)
    while len(ends):
        alive[ends] = False
        beside = near[ends]
        live = (beside >= 0) & alive[beside]
        row, side = np.nonzero(live)
        onto = beside[row, side]
        hangs_on[ends[row]] = onto
        np.subtract.at(count, onto, 1)
        onto = np.unique(onto)
        ends = onto[count[onto] <= 1]
    return hangs_on, alive


def _ordered(near: Ints, link: NDArray[np.bool_], degree: Ints) -> tuple[Ints, Ints, Ints]:
    """Every length's ways in order: the ways, each length's first way (-1: a ring), the owners.

    Each way is followed to its joint by doubling the step; its place along its length is how far
    the way across the same side has to the other joint.
    """
    size = 3 * len(near)
    ways = np.flatnonzero(link.ravel())
    into = near.ravel()[ways]
    back = np.full(size, -1, dtype=np.intp)
    back[ways] = 3 * into + np.argmax(near[into] == (ways // 3)[:, None], axis=1)
    ahead = np.arange(size)
    passing = degree[into] == 2
    through, entered = into[passing], back[ways[passing]] % 3
    sides = (link[through] * np.array([0, 1, 2])).sum(axis=1)
    ahead[ways[passing]] = 3 * through + sides - entered
    steps = (ahead != np.arange(size)).astype(np.intp)
    for _ in range(int(np.ceil(np.log2(max(2, len(ways))))) + 1):
        further = ahead[ahead]
        if np.array_equal(further, ahead):
            break
        steps, ahead = steps + steps[ahead], further
    ended = degree[near.ravel()[ahead[ways]]] == 3
    across = back[ways]
    begin = back[ahead[across]]
    own = ended & (begin < back[ahead[ways]])
    order = np.lexsort((steps[across[own]], begin[own]))
    rest = ways[~ended]
    found, starts = ways[own][order], begin[own][order]
    first = np.append(True, starts[1:] != starts[:-1])[: len(starts)]
    owner = np.cumsum(first) - 1
    return _with_rings((found, starts[first], owner), rest, (near, link))


def _with_rings(
    open_ones: tuple[Ints, Ints, Ints], rest: Ints, state: tuple[Ints, NDArray[np.bool_]]
) -> tuple[Ints, Ints, Ints]:
    """The lengths, and after them the rings without a joint that the other ways form."""
    if not len(rest):
        return open_ones
    near, link = state
    ways, starts, owners = [open_ones[0]], [open_ones[1]], [open_ones[2]]
    seen: set[int] = set()
    number = len(open_ones[1])
    for begin in (rest // 3).tolist():
        if begin in seen:
            continue
        ring = []
        before, at = -1, begin
        while at not in seen:
            seen.add(at)
            beside = near[at].tolist()
            side = next(k for k in range(3) if link[at, k] and beside[k] != before)
            ring.append(3 * at + side)
            before, at = at, beside[side]
        ways.append(np.array(ring, dtype=np.intp))
        starts.append(np.array([-1]))
        owners.append(np.full(len(ring), number))
        number += 1
    return np.concatenate(ways), np.concatenate(starts), np.concatenate(owners)
