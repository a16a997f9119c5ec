"""Leads known only as an area: their middles, joints and lengths, by a chordal axis.

The area is cut into triangles whose corners all lie on its edge. A triangle with two neighbours
lies along a lead, one with three in a joint; the middles of the shared sides are the lead's
middle. Between parallel edges that middle is exact. Source: [prasad1997]
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from glasswork.model.geometry import Point
from glasswork.planar import Area, triangles

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One length of lead between two joints, or a closed ring of lead without a joint.

    centreline : its middle; closed ones repeat the first point
    corners : (n, 3, 2), the triangles it is made of
    """

    centreline: tuple[Point, ...]
    width_mm: float
    corners: Floats


@dataclass(frozen=True, slots=True)
class _Mesh:
    """Triangles and their neighbours: (n, 3), side k lies opposite corner k; -1 is an edge."""

    corners: Floats
    near: Ints

    def middle(self, triangle: int, side: int) -> Floats:
        a, b = self.corners[triangle, (side + 1) % 3], self.corners[triangle, (side + 2) % 3]
        return np.asarray((a + b) / 2.0)


def strips_of(area: Area) -> tuple[Strip, ...]:
    """The lengths of lead that an area is made of; their triangles tile it."""
    found: list[Strip] = []
    for part in area.parts():
        box = part.shape.length
        typical = 2.0 * part.area_mm2 / box if box > 0.0 else 1.0
        mesh = _mesh(triangles(part, longest_mm=max(1.5 * typical, box / 60_000.0)))
        found += _strips(mesh)
    return tuple(found)


def _mesh(corners: Floats) -> _Mesh:
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
    return _Mesh(corners, near.reshape(-1, 3))


def _strips(mesh: _Mesh) -> list[Strip]:
    near = mesh.near.tolist()
    alive, hangs_on = _core(near)
    degree = [
        sum(1 for n in near[t] if n >= 0 and alive[n]) if alive[t] else 0 for t in range(len(near))
    ]
    chains = _chains(near, alive, degree)
    if not chains:
        return [_lump(mesh)]
    cluster, chains = _clusters(mesh, chains, degree)
    return _assemble(mesh, near, (alive, hangs_on, degree, cluster), chains)


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


Chain = tuple[int, list[tuple[int, int]], int]
"""Joint it starts at, crossings (triangle, side left by), joint it ends at; -1 for none."""


def _chains(near: list[list[int]], alive: list[bool], degree: list[int]) -> list[Chain]:
    """Ways along the core from joint to joint, and rings without a joint."""
    found: list[Chain] = []
    used: set[tuple[int, int]] = set()
    joints = [t for t, n in enumerate(degree) if n == 3]
    for joint in joints:
        for side, n in enumerate(near[joint]):
            if n >= 0 and alive[n] and (joint, side) not in used:
                found.append(_follow(near, alive, degree, (joint, side)))
                _, crossings, _ = found[-1]
                used.add((joint, side))
                last, out = crossings[-1]
                used.add((near[last][out], near[near[last][out]].index(last)))
    visited = {t for _, crossings, _ in found for t, _ in crossings}
    for t, n in enumerate(degree):
        if n == 2 and t not in visited:
            side = next(k for k in range(3) if near[t][k] >= 0 and alive[near[t][k]])
            chain = _follow(near, alive, degree, (t, side))
            found.append((-1, chain[1], -1))
            visited.update(u for u, _ in chain[1])
    return found


def _follow(
    near: list[list[int]], alive: list[bool], degree: list[int], start: tuple[int, int]
) -> Chain:
    crossings = [start]
    before, at = start[0], near[start[0]][start[1]]
    while degree[at] == 2 and at != start[0]:
        side = next(
            k for k in range(3) if near[at][k] >= 0 and near[at][k] != before and alive[near[at][k]]
        )
        crossings.append((at, side))
        before, at = at, near[at][side]
    return (start[0], crossings, at)


def _clusters(
    mesh: _Mesh, chains: list[Chain], degree: list[int]
) -> tuple[dict[int, int], list[Chain]]:
    """Joints that lie within one crossing of leads, joined; chains inside one are dropped."""
    parent = {t: t for t, n in enumerate(degree) if n == 3}

    def root(t: int) -> int:
        while parent[t] != t:
            parent[t] = parent[parent[t]]
            t = parent[t]
        return t

    kept = []
    for chain in sorted(chains, key=lambda c: len(c[1])):
        start, crossings, end = chain
        if start < 0 or start == end:
            kept.append(chain)
            continue
        middles = np.array([mesh.middle(t, side) for t, side in crossings])
        long = float(np.hypot(*np.diff(middles, axis=0).T).sum()) if len(middles) > 1 else 0.0
        wide = max(_side_length(mesh, t, side) for t, side in (crossings[0], crossings[-1]))
        if long < 0.6 * wide and root(start) != root(end):
            parent[root(start)] = root(end)
            for t, _ in crossings[1:]:
                parent[t] = root(end)
        else:
            kept.append(chain)
    return {t: root(t) for t in parent}, kept


def _side_length(mesh: _Mesh, triangle: int, side: int) -> float:
    a, b = mesh.corners[triangle, (side + 1) % 3], mesh.corners[triangle, (side + 2) % 3]
    return float(np.hypot(*(a - b)))


def _lump(mesh: _Mesh) -> Strip:
    """An area without a hole: one piece of no particular direction."""
    points = mesh.corners.reshape(-1, 2)
    spread = np.ptp(points, axis=0)
    return Strip(centreline=(), width_mm=float(max(spread.min(), 1e-6)), corners=mesh.corners)


def _assemble(
    mesh: _Mesh,
    near: list[list[int]],
    state: tuple[list[bool], list[int], list[int], dict[int, int]],
    chains: list[Chain],
) -> list[Strip]:
    _, hangs_on, _, cluster = state
    owner: dict[int, int] = {}
    lines: list[Floats] = []
    widths: list[float] = []
    for index, (_, crossings, _) in enumerate(chains):
        middles = np.array([mesh.middle(t, side) for t, side in crossings])
        inner = (
            [t for t, _ in crossings[1:]] if chains[index][0] >= 0 else [t for t, _ in crossings]
        )
        for t in inner:
            owner[t] = index
        if chains[index][0] < 0:
            middles = np.concatenate([middles, middles[:1]])
        lines.append(middles)
        widths.append(_width(mesh, inner, middles, crossings))
    joints: dict[int, list[tuple[int, int]]] = {}
    for index, (start, _, end) in enumerate(chains):
        if start >= 0:
            joints.setdefault(cluster[start], []).append((index, 0))
            joints.setdefault(cluster[end], []).append((index, -1))
    for arms in joints.values():
        place = _joint([_arm(lines[i], end, widths[i]) for i, end in arms])
        for i, end in arms:
            lines[i] = (
                np.concatenate([[place], lines[i]])
                if end == 0
                else np.concatenate([lines[i], [place]])
            )
    widest_of = {
        name: max((i for i, _ in arms), key=lambda i: widths[i]) for name, arms in joints.items()
    }
    for t, name in cluster.items():
        if t not in owner:
            owner[t] = widest_of.get(name, 0)
    for t in range(len(near)):
        way = []
        at = t
        while at not in owner and hangs_on[at] != at:
            way.append(at)
            at = hangs_on[at]
        mine = owner.get(at, 0)
        for w in (*way, at):
            owner[w] = mine
    groups: list[list[int]] = [[] for _ in chains]
    for t, index in owner.items():
        groups[index].append(t)
    return [
        Strip(
            centreline=_simplified(line),
            width_mm=width,
            corners=mesh.corners[group],
        )
        for line, width, group in zip(lines, widths, groups, strict=True)
        if group
    ]


def _width(
    mesh: _Mesh, inner: list[int], middles: Floats, crossings: list[tuple[int, int]]
) -> float:
    """Area over length between the first and the last crossing: exact for a straight strip."""
    long = float(np.hypot(*np.diff(middles, axis=0).T).sum()) if len(middles) > 1 else 0.0
    if not inner or long <= 0.0:
        return _side_length(mesh, *crossings[0])
    corners = mesh.corners[inner]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = float(np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum()) / 2.0
    return area / long


def _arm(line: Floats, end: int, width: float) -> tuple[Floats, Floats]:
    """Where a lead meets its joint, and the direction it comes from, by its last stretch."""
    points = line if end == 0 else line[::-1]
    start = points[0]
    far = points[-1]
    for point in points[1:]:
        if np.hypot(*(point - start)) >= 0.75 * width:
            far = point
            break
    way = start - far
    size = float(np.hypot(*way))
    return start, way / size if size > 0.0 else np.zeros(2)


def _joint(arms: list[tuple[Floats, Floats]]) -> Floats:
    """The point nearest to all arms' straight continuations; their mean if those do not meet."""
    mean = np.mean([start for start, _ in arms], axis=0)
    normal = np.zeros((2, 2))
    right = np.zeros(2)
    for start, way in arms:
        across = np.eye(2) - np.outer(way, way)
        normal += across
        right += across @ start
    if np.linalg.cond(normal) > 30.0:
        return np.asarray(mean)
    place = np.linalg.solve(normal, right)
    reach = max(float(np.hypot(*(start - mean))) for start, _ in arms)
    near = bool(np.hypot(*(place - mean)) <= 2.0 * reach + 1e-9)
    return np.asarray(place if near else mean, dtype=np.float64)


def _simplified(line: Floats) -> tuple[Point, ...]:
    """The line without the points that lie straight between others, within 1 µm."""
    if len(line) < 3:
        return tuple(map(tuple, line.tolist()))
    kept = [line[0]]
    for index in range(1, len(line) - 1):
        a, b, c = kept[-1], line[index], line[index + 1]
        way = c - a
        size = float(np.hypot(*way))
        off = abs(float(way[0] * (b - a)[1] - way[1] * (b - a)[0])) / size if size > 0 else 1.0
        if off > 1e-3 or float((b - a) @ way) < 0.0:
            kept.append(b)
    kept.append(line[-1])
    return tuple(map(tuple, np.array(kept).tolist()))
