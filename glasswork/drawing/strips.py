"""Leads known only as an area: their middles, joints and lengths, by a chordal axis.

The area is cut into triangles whose corners all lie on its edge. A triangle with two neighbours
lies along a lead, one with three in a joint; the middles of the shared sides are the lead's
middle. Between parallel edges that middle is exact. Source: [prasad1997]
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.axis import Axis, axis_of, ends_of
from glasswork.model.geometry import Point, Regions
from glasswork.planar import Area, Mesh, mesh_of, outlines

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

STRAIGHT_MM = 1e-3
"""Points of a middle that lie this near the line between their neighbours are left out."""
CROSSING_SHARE = 0.6
"""Joints nearer to each other than this share of the lead's width are one crossing."""


class Strip(NamedTuple):
    """One length of lead between two joints, or a closed ring of lead without a joint.

    centreline : its middle; closed ones repeat the first point; empty if it has no direction
    area : what it covers
    """

    centreline: tuple[Point, ...]
    width_mm: float
    area: Regions


class _Joints(Struct, frozen=True):
    """Where lengths of lead meet: one row for each end of a length that has a joint.

    lead : the length · joint : a triangle that stands for the joint · last : it is the length's
    stop, not its start
    """

    lead: Ints
    joint: Ints
    last: NDArray[np.bool_]


def strips_of(area: Area) -> tuple[Strip, ...]:
    """The lengths of lead that an area is made of; they tile it."""
    found: list[Strip] = []
    for part in area.parts():
        mesh = mesh_of(part)
        if mesh is not None:
            found += _strips(mesh)
    return tuple(found)


def _strips(mesh: Mesh) -> list[Strip]:
    axis = axis_of(mesh)
    if not axis.count:
        spread = np.ptp(mesh.points[mesh.corners].reshape(-1, 2), axis=0)
        wide = float(max(spread.min(), 1e-6))
        whole = outlines(mesh, np.zeros(len(mesh.corners), dtype=np.intp), 1)
        return [Strip(centreline=(), width_mm=wide, area=whole[0])]
    cluster, axis = _clusters(axis)
    widths = _widths(axis)
    joints = _joints(axis, cluster)
    places = _places(axis, widths, joints)
    lines = _lines(axis, joints, places)
    owner = _owners(mesh, axis, cluster, (widths, joints, lines))
    areas = outlines(mesh, owner, axis.count)
    return [
        Strip(centreline=line, width_mm=width, area=regions)
        for line, width, regions in zip(lines, widths.tolist(), areas, strict=True)
        if regions
    ]


def _clusters(axis: Axis) -> tuple[Ints, Axis]:
    """Joints that lie within one crossing of leads, joined; lengths inside one are dropped.

    Returns: for each triangle of a joint the one that stands for it, -1 for others; the axis left
    """
    cluster = np.where(axis.degree == 3, np.arange(len(axis.degree)), -1)
    first, last = ends_of(axis)
    wide = np.maximum(axis.spans[first], axis.spans[last])
    short = (axis.start >= 0) & (axis.start != axis.stop)
    short &= axis.lengths() < CROSSING_SHARE * wide
    found = np.flatnonzero(short)
    if not len(found):
        return cluster, axis
    parent: dict[int, int] = {}

    def root(t: int) -> int:
        while (up := parent.get(t, t)) != t:
            parent[t] = parent.get(up, up)
            t = parent[t]
        return t

    dropped = np.zeros(axis.count, dtype=np.bool_)
    for index in found[np.argsort((last - first)[found], kind="stable")].tolist():
        one, two = root(int(axis.start[index])), root(int(axis.stop[index]))
        if one != two:
            parent[one] = two
            dropped[index] = True
            for t in axis.triangles[first[index] + 1 : last[index] + 1].tolist():
                parent[t] = two
    for t in parent:
        cluster[t] = root(t)
    return cluster, axis.kept(~dropped)


def _widths(axis: Axis) -> Floats:
    """Area over length between the first and the last crossing: exact for a straight strip."""
    first, _ = ends_of(axis)
    long = axis.lengths()
    inner = axis.inner()
    areas = np.bincount(
        axis.owner[inner], weights=axis.areas[axis.triangles[inner]], minlength=axis.count
    )
    none = (areas <= 0.0) | (long <= 1e-9)
    wide = np.where(none, axis.spans[first], areas / np.where(none, 1.0, long))
    return np.asarray(np.maximum(wide, 1e-6))


def _joints(axis: Axis, cluster: Ints) -> _Joints:
    met = np.flatnonzero(axis.start >= 0)
    return _Joints(
        lead=np.concatenate([met, met]),
        joint=np.concatenate([cluster[axis.start[met]], cluster[axis.stop[met]]]),
        last=np.repeat([False, True], len(met)),
    )


def _places(axis: Axis, widths: Floats, joints: _Joints) -> Floats:
    """For each end its joint's place: (ends, 2).

    The point nearest to the straight continuations of all leads there; the mean of where they end
    if those do not meet.
    """
    if not len(joints.lead):
        return np.empty((0, 2))
    starts, ways = _arms(axis, widths, joints)
    _, joint = np.unique(joints.joint, return_inverse=True)
    count = np.bincount(joint)

    def total(values: Floats) -> Floats:
        return np.asarray(np.bincount(joint, weights=values), dtype=np.float64)

    (x, y), (wx, wy) = starts.T, ways.T
    mean = np.stack([total(x), total(y)], axis=1) / count[:, None]
    xx, xy, yy = 1.0 - wx * wx, -wx * wy, 1.0 - wy * wy
    a, b, c = total(xx), total(xy), total(yy)
    u, v = total(xx * x + xy * y), total(xy * x + yy * y)
    det = a * c - b * b
    meet = det >= 0.03 * (a + c) ** 2
    safe = np.where(meet, det, 1.0)
    place = np.stack([(c * u - b * v) / safe, (a * v - b * u) / safe], axis=1)
    reach = np.zeros(len(count))
    np.maximum.at(reach, joint, np.hypot(*(starts - mean[joint]).T))
    near = np.hypot(*(place - mean).T) <= 2.0 * reach + 1e-9
    return np.asarray(np.where((meet & near)[:, None], place, mean)[joint])


def _arms(axis: Axis, widths: Floats, joints: _Joints) -> tuple[Floats, Floats]:
    """Where each lead meets its joint, and the direction it comes from, by its last stretch."""
    first, last = ends_of(axis)
    points = axis.middles
    far = 0.75 * widths[axis.owner]
    numbers = np.arange(len(points))
    off = np.hypot(*(points - points[first][axis.owner]).T)
    ahead = np.minimum.reduceat(np.where(off >= far, numbers, len(points)), first)
    ahead = np.where(ahead < len(points), ahead, last)
    off = np.hypot(*(points - points[last][axis.owner]).T)
    behind = np.maximum.reduceat(np.where(off >= far, numbers, -1), first)
    behind = np.where(behind >= 0, behind, first)
    lead = joints.lead
    starts = points[np.where(joints.last, last[lead], first[lead])]
    way = starts - points[np.where(joints.last, behind[lead], ahead[lead])]
    size = np.hypot(*way.T)
    return starts, way / np.where(size > 0.0, size, 1.0)[:, None]


def _lines(axis: Axis, joints: _Joints, places: Floats) -> list[tuple[Point, ...]]:
    """The middle of each length, drawn on to its joints; straight ones by their ends alone."""
    first, last = ends_of(axis)
    met = joints.lead[~joints.last]
    begin, end = axis.middles[first], axis.middles[last]
    begin[met], end[met] = places[~joints.last], places[joints.last]
    way = end - begin
    size = np.hypot(*way.T)
    unit = way / np.where(size > 0.0, size, 1.0)[:, None]
    from_begin = axis.middles - begin[axis.owner]
    off = np.abs(from_begin[:, 0] * unit[axis.owner, 1] - from_begin[:, 1] * unit[axis.owner, 0])
    along = (from_begin * unit[axis.owner]).sum(axis=1)
    bent = (off > STRAIGHT_MM) | (along < 0.0) | (along > size[axis.owner])
    straight = np.bincount(axis.owner, weights=bent, minlength=axis.count) == 0.0
    straight &= (axis.start >= 0) & (size > 0.0)
    ends = np.concatenate([begin, end], axis=1).tolist()
    lines: list[tuple[Point, ...]] = [((ax, ay), (bx, by)) for ax, ay, bx, by in ends]
    for index in np.flatnonzero(~straight).tolist():
        inner: list[Point] = list(map(tuple, axis.middles[first[index] : last[index] + 1].tolist()))
        closed = axis.start[index] < 0
        line = [*inner, inner[0]] if closed else [lines[index][0], *inner, lines[index][1]]
        lines[index] = _simplified(line)
    return lines


def _owners(
    mesh: Mesh,
    axis: Axis,
    cluster: Ints,
    state: tuple[Floats, _Joints, list[tuple[Point, ...]]],
) -> Ints:
    """The length each triangle belongs to.

    A joint's triangle goes to the widest length there, if it is not far off it; what hangs on a
    triangle goes with it.
    """
    widths, joints, lines = state
    owner = np.full(len(mesh.corners), -1, dtype=np.intp)
    inner = axis.inner()
    owner[axis.triangles[inner]] = axis.owner[inner]
    order = np.lexsort((joints.lead, -widths[joints.lead], joints.joint))
    name, lead = joints.joint[order], joints.lead[order]
    first = np.flatnonzero(np.append(True, name[1:] != name[:-1])[: len(name)])
    widest = np.zeros(len(owner), dtype=np.intp)
    widest[name[first]] = lead[first]
    held = np.flatnonzero((cluster >= 0) & (owner < 0))
    owner[held] = widest[cluster[held]]
    for t in held[axis.areas[held] > widths[owner[held]] ** 2].tolist():
        begin, stop = np.searchsorted(name, [cluster[t], cluster[t] + 1])
        x, y = mesh.points[mesh.corners[t]].mean(axis=0).tolist()
        offs = {i: _off((x, y), lines[i]) for i in lead[begin:stop].tolist()}
        near = [i for i, off in offs.items() if off <= 0.55 * widths[i]]
        if near:
            owner[t] = max(near, key=lambda i: float(widths[i]))
        elif offs:
            owner[t] = min(offs, key=lambda i: offs[i])
    return _hung(owner, axis.hangs_on)


def _hung(owner: Ints, hangs_on: Ints) -> Ints:
    """Triangles without an owner go to that of the one they hang on."""
    at = np.flatnonzero(owner < 0)
    onto = hangs_on.copy()
    while len(at):
        told = owner[onto[at]]
        owner[at[told >= 0]] = told[told >= 0]
        left = at[told < 0]
        step = onto[onto[left]]
        if np.array_equal(step, onto[left]):
            owner[left] = 0
            break
        onto[left] = step
        at = left
    return owner


def _off(place: Point, line: Sequence[Point]) -> float:
    """How far a place lies from a polyline."""
    points = np.asarray(line)
    start, way = points[:-1], np.diff(points, axis=0)
    size = (way**2).sum(axis=1)
    share = ((np.asarray(place) - start) * way).sum(axis=1) / np.where(size > 0.0, size, 1.0)
    foot = start + np.clip(share, 0.0, 1.0)[:, None] * way
    return float(np.hypot(*(foot - place).T).min(initial=np.inf))


def _simplified(line: Sequence[Point]) -> tuple[Point, ...]:
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
