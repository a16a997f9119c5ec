"""Leads known only as an area: their middles, joints and lengths, by a chordal axis.

The area is cut into triangles whose corners all lie on its edge. A triangle with two neighbours
lies along a lead, one with three in a joint; the middles of the shared sides are the lead's
middle. Between parallel edges that middle is exact. Source: [prasad1997]
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from glasswork.model.geometry import Point
from glasswork.planar import Area, triangles

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

STRAIGHT_MM = 1e-3
"""Points of a middle that lie this near the line between their neighbours are left out."""
CROSSING_SHARE = 0.6
"""Joints nearer to each other than this share of the lead's width are one crossing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One length of lead between two joints, or a closed ring of lead without a joint.

    centreline : its middle; closed ones repeat the first point; empty if it has no direction
    corners : (n, 3, 2), the triangles it is made of
    """

    centreline: tuple[Point, ...]
    width_mm: float
    corners: Floats


Crossing = tuple[int, int]
"""A triangle and the number of the side by which a way leaves it."""


@dataclass(frozen=True, slots=True)
class _Chain:
    """A way along the core from joint to joint (triangles; -1 for a ring without a joint)."""

    start: int
    crossings: list[Crossing]
    end: int

    @property
    def inner(self) -> list[int]:
        """Triangles that lie along it, without its joints."""
        own = self.crossings if self.start < 0 else self.crossings[1:]
        return [triangle for triangle, _ in own]


class _Mesh:
    """Triangles and their neighbours: near[t][k] lies across the side opposite corner k, or -1."""

    def __init__(self, corners: Floats) -> None:
        self.corners = corners
        one, two, three = corners[:, 0], corners[:, 1], corners[:, 2]
        sides = np.stack([two + three, three + one, one + two], axis=1) / 2.0
        spans = np.stack([two - three, three - one, one - two], axis=1)
        self.middles: list[list[list[float]]] = sides.tolist()
        self.spans: list[list[float]] = np.hypot(spans[..., 0], spans[..., 1]).tolist()
        edge, far = two - one, three - one
        self.areas: list[float] = (
            np.abs(edge[:, 0] * far[:, 1] - edge[:, 1] * far[:, 0]) / 2.0
        ).tolist()
        self.near: list[list[int]] = _neighbours(corners).tolist()

    def line(self, crossings: list[Crossing]) -> list[Point]:
        return [(self.middles[t][k][0], self.middles[t][k][1]) for t, k in crossings]


def _neighbours(corners: Floats) -> Ints:
    flat = np.ascontiguousarray(corners.reshape(-1, 2)).view(np.complex128).ravel()
    _, ids = np.unique(flat, return_inverse=True)
    ids = ids.reshape(-1, 3)
    ends = np.stack([ids[:, [1, 2]], ids[:, [2, 0]], ids[:, [0, 1]]], axis=1)
    ends = np.sort(ends.reshape(-1, 2), axis=1)
    keys = ends[:, 0].astype(np.int64) * (len(flat) + 1) + ends[:, 1]
    order = np.argsort(keys, kind="stable")
    same = np.flatnonzero(keys[order][1:] == keys[order][:-1])
    near = np.full(len(keys), -1, dtype=np.intp)
    near[order[same]] = order[same + 1] // 3
    near[order[same + 1]] = order[same] // 3
    return near.reshape(-1, 3)


def strips_of(area: Area) -> tuple[Strip, ...]:
    """The lengths of lead that an area is made of; their triangles tile it."""
    found: list[Strip] = []
    for part in area.parts():
        corners = triangles(part)
        if len(corners):
            found += _strips(_Mesh(corners))
    return tuple(found)


def _strips(mesh: _Mesh) -> list[Strip]:
    near = mesh.near
    alive, hangs_on = _core(near)
    degree = [
        sum(1 for n in row if n >= 0 and alive[n]) if alive[t] else 0 for t, row in enumerate(near)
    ]
    chains = _chains(near, alive, degree)
    if not chains:
        spread = np.ptp(mesh.corners.reshape(-1, 2), axis=0)
        wide = float(max(spread.min(), 1e-6))
        return [Strip(centreline=(), width_mm=wide, corners=mesh.corners)]
    cluster, chains = _clusters(mesh, chains, degree)
    widths = [_width(mesh, chain) for chain in chains]
    joints: dict[int, list[tuple[int, int]]] = {}
    for index, chain in enumerate(chains):
        if chain.start >= 0:
            joints.setdefault(cluster[chain.start], []).append((index, 0))
            joints.setdefault(cluster[chain.end], []).append((index, -1))
    lines = _lines(mesh, chains, widths, joints)
    owner = _joint_owners(mesh, cluster, (joints, widths, lines))
    groups = _owned(hangs_on, chains, owner)
    return [
        Strip(centreline=_simplified(line), width_mm=width, corners=mesh.corners[group])
        for line, width, group in zip(lines, widths, groups, strict=True)
        if group
    ]


def _core(near: list[list[int]]) -> tuple[list[bool], list[int]]:
    """Triangles on a way round some hole; each other one hangs on the next one towards them."""
    count = [sum(1 for n in row if n >= 0) for row in near]
    alive = [True] * len(near)
    hangs_on = list(range(len(near)))
    ends = [t for t, n in enumerate(count) if n <= 1]
    while ends:
        t = ends.pop()
        alive[t] = False
        for n in near[t]:
            if n >= 0 and alive[n]:
                hangs_on[t] = n
                count[n] -= 1
                if count[n] == 1:
                    ends.append(n)
    return alive, hangs_on


def _chains(near: list[list[int]], alive: list[bool], degree: list[int]) -> list[_Chain]:
    """Ways along the core from joint to joint, and rings without a joint."""
    found: list[_Chain] = []
    used: set[Crossing] = set()
    visited = [False] * len(near)
    for joint, ways in enumerate(degree):
        if ways != 3:
            continue
        for side, n in enumerate(near[joint]):
            if n >= 0 and alive[n] and (joint, side) not in used:
                chain = _follow(near, alive, degree, (joint, side))
                found.append(chain)
                last, out = chain.crossings[-1]
                used.add((joint, side))
                used.add((near[last][out], near[near[last][out]].index(last)))
                for t, _ in chain.crossings:
                    visited[t] = True
    for t, ways in enumerate(degree):
        if ways == 2 and not visited[t]:
            side = next(k for k in range(3) if near[t][k] >= 0 and alive[near[t][k]])
            ring = _follow(near, alive, degree, (t, side)).crossings
            found.append(_Chain(-1, ring, -1))
            for u, _ in ring:
                visited[u] = True
    return found


def _follow(near: list[list[int]], alive: list[bool], degree: list[int], start: Crossing) -> _Chain:
    crossings = [start]
    before, at = start[0], near[start[0]][start[1]]
    while degree[at] == 2 and at != start[0]:
        row = near[at]
        for side in (0, 1, 2):
            n = row[side]
            if n >= 0 and n != before and alive[n]:
                break
        crossings.append((at, side))
        before, at = at, row[side]
    return _Chain(start[0], crossings, at)


def _clusters(
    mesh: _Mesh, chains: list[_Chain], degree: list[int]
) -> tuple[dict[int, int], list[_Chain]]:
    """Joints that lie within one crossing of leads, joined; chains inside one are dropped."""
    parent = {t: t for t, n in enumerate(degree) if n == 3}

    def root(t: int) -> int:
        while parent[t] != t:
            parent[t] = parent[parent[t]]
            t = parent[t]
        return t

    kept = []
    for chain in sorted(chains, key=lambda c: len(c.crossings)):
        if chain.start < 0 or chain.start == chain.end:
            kept.append(chain)
            continue
        wide = max(mesh.spans[t][k] for t, k in (chain.crossings[0], chain.crossings[-1]))
        long = _length(mesh.line(chain.crossings))
        one, two = root(chain.start), root(chain.end)
        if long < CROSSING_SHARE * wide and one != two:
            parent[one] = two
            for t in chain.inner:
                parent[t] = two
        else:
            kept.append(chain)
    return {t: root(t) for t in parent}, kept


def _length(line: list[Point]) -> float:
    return sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(line))


def _width(mesh: _Mesh, chain: _Chain) -> float:
    """Area over length between the first and the last crossing: exact for a straight strip."""
    line = mesh.line(chain.crossings)
    if chain.start < 0:
        line.append(line[0])
    long = _length(line)
    inner = chain.inner
    if not inner or long <= 1e-9:
        t, side = chain.crossings[0]
        return max(1e-6, mesh.spans[t][side])
    return max(1e-6, sum(mesh.areas[t] for t in inner) / long)


def _lines(
    mesh: _Mesh,
    chains: list[_Chain],
    widths: list[float],
    joints: dict[int, list[tuple[int, int]]],
) -> list[list[Point]]:
    """The middle of each chain, drawn on to its joints."""
    lines = [mesh.line(chain.crossings) for chain in chains]
    places = {
        name: _joint([_arm(lines[i], end, widths[i]) for i, end in arms])
        for name, arms in joints.items()
    }
    for name, arms in joints.items():
        for i, end in arms:
            if end == 0:
                lines[i].insert(0, places[name])
            else:
                lines[i].append(places[name])
    for chain, line in zip(chains, lines, strict=True):
        if chain.start < 0:
            line.append(line[0])
    return lines


def _arm(line: list[Point], end: int, width: float) -> tuple[Point, Point]:
    """Where a lead meets its joint, and the direction it comes from, by its last stretch."""
    points = line if end == 0 else line[::-1]
    start, far = points[0], points[-1]
    for point in points[1:]:
        if hypot(point[0] - start[0], point[1] - start[1]) >= 0.75 * width:
            far = point
            break
    way = (start[0] - far[0], start[1] - far[1])
    size = hypot(*way)
    return start, (way[0] / size, way[1] / size) if size > 0.0 else (0.0, 0.0)


def _joint(arms: list[tuple[Point, Point]]) -> Point:
    """The point nearest to all arms' straight continuations; their mean if those do not meet."""
    count = len(arms)
    mean = (sum(s[0] for s, _ in arms) / count, sum(s[1] for s, _ in arms) / count)
    a = b = c = u = v = 0.0
    for (x, y), (wx, wy) in arms:
        xx, xy, yy = 1.0 - wx * wx, -wx * wy, 1.0 - wy * wy
        a, b, c = a + xx, b + xy, c + yy
        u, v = u + xx * x + xy * y, v + xy * x + yy * y
    det = a * c - b * b
    if det < 0.03 * (a + c) ** 2:
        return mean
    place = ((c * u - b * v) / det, (a * v - b * u) / det)
    reach = max(hypot(x - mean[0], y - mean[1]) for (x, y), _ in arms)
    off = hypot(place[0] - mean[0], place[1] - mean[1])
    return place if off <= 2.0 * reach + 1e-9 else mean


def _joint_owners(
    mesh: _Mesh,
    cluster: dict[int, int],
    state: tuple[dict[int, list[tuple[int, int]]], list[float], list[list[Point]]],
) -> dict[int, int]:
    """The chain each triangle of a joint goes to: the widest, if the triangle is not far off it."""
    joints, widths, lines = state
    widest = {
        name: max((i for i, _ in arms), key=lambda i: widths[i]) for name, arms in joints.items()
    }
    found = {}
    for t, name in cluster.items():
        best = widest.get(name, 0)
        if mesh.areas[t] > widths[best] ** 2 and name in joints:
            x, y = mesh.corners[t].mean(axis=0).tolist()
            offs = {i: _off((x, y), lines[i]) for i, _ in joints[name]}
            near = [i for i, off in offs.items() if off <= 0.55 * widths[i]]
            best = max(near, key=lambda i: widths[i]) if near else min(offs, key=lambda i: offs[i])
        found[t] = best
    return found


def _off(place: Point, line: list[Point]) -> float:
    """How far a place lies from a polyline."""
    best = float("inf")
    for (ax, ay), (bx, by) in pairwise(line):
        wx, wy = bx - ax, by - ay
        size = wx * wx + wy * wy
        t = ((place[0] - ax) * wx + (place[1] - ay) * wy) / size if size > 0.0 else 0.0
        t = max(0.0, min(1.0, t))
        best = min(best, hypot(place[0] - ax - t * wx, place[1] - ay - t * wy))
    return best


def _owned(
    hangs_on: list[int], chains: list[_Chain], joint_owner: dict[int, int]
) -> list[list[int]]:
    """Triangles of each chain: its own, those of its joints, and what hangs on."""
    owner = [-1] * len(hangs_on)
    for index, chain in enumerate(chains):
        for t in chain.inner:
            owner[t] = index
    for t, index in joint_owner.items():
        if owner[t] < 0:
            owner[t] = index
    for t in range(len(hangs_on)):
        way = []
        at = t
        while owner[at] < 0 and hangs_on[at] != at:
            way.append(at)
            at = hangs_on[at]
        mine = max(owner[at], 0)
        owner[at] = mine
        for w in way:
            owner[w] = mine
    groups: list[list[int]] = [[] for _ in chains]
    for t, index in enumerate(owner):
        groups[index].append(t)
    return groups


def _simplified(line: list[Point]) -> tuple[Point, ...]:
    """The line without the points that lie straight between others."""
    if len(line) < 3:
        return tuple(line)
    kept = [line[0]]
    for index in range(1, len(line) - 1):
        (ax, ay), (bx, by), (cx, cy) = kept[-1], line[index], line[index + 1]
        wx, wy = cx - ax, cy - ay
        size = hypot(wx, wy)
        off = abs(wx * (by - ay) - wy * (bx - ax)) / size if size > 0.0 else 1.0
        if off > STRAIGHT_MM or (bx - ax) * wx + (by - ay) * wy < 0.0:
            kept.append((bx, by))
    kept.append(line[-1])
    return tuple(kept)
