"""Lead lines as a net: nodes, segments between them, and the faces they enclose.

Everything is held by segment, in arrays. Half-edge h runs along segment h (or h - n, backwards,
for h ≥ n); the face of a half-edge lies on its inner side, and a face's half-edges follow each
other round it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.inks import Stroke
from glasswork.model.geometry import Point
from glasswork.planar import lines_at, noded

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

GRID_MM = 1e-6
"""Points closer than this are one: the noise of transforms."""
OVERSHOOT_MM = 1e-4
"""Ends drawn on to another line pass it by this, so that they surely cross."""


class Net(Struct, frozen=True, kw_only=True):
    """Noded lead lines without loose ends.

    ends : (n, 2, 2) segments; source : (n,) index of the widest stroke drawn there
    origin : (2n,) node each half-edge leaves; following : (2n,) next half-edge round its face
    face : (2n,) index of its face; rings : half-edges of each face, in order
    sizes : signed area of each face; the outside of each connected part is negative
    loose : (k, 2, 2) segments that end in the open or part nothing, and loose_source
    """

    ends: Floats
    source: Ints
    origin: Ints
    following: Ints
    face: Ints
    rings: tuple[Ints, ...]
    sizes: Floats
    loose: Floats
    loose_source: Ints

    @property
    def count(self) -> int:
        return len(self.ends)

    def twin(self, half: Ints) -> Ints:
        return np.where(half < self.count, half + self.count, half - self.count)

    @property
    def starts(self) -> Floats:
        """(2n, 2): where each half-edge begins."""
        return np.concatenate([self.ends[:, 0], self.ends[:, 1]])

    @property
    def stops(self) -> Floats:
        return np.concatenate([self.ends[:, 1], self.ends[:, 0]])


def segments_of(strokes: Sequence[Stroke]) -> tuple[Floats, Ints]:
    """Every straight piece of the strokes: (m, 2, 2), and the stroke it is of."""
    lines = [(*s.points, s.points[0]) if s.closed else s.points for s in strokes]
    values = chain.from_iterable(chain.from_iterable(lines))
    points = np.fromiter(values, dtype=np.float64, count=2 * sum(map(len, lines))).reshape(-1, 2)
    points = np.round(points / GRID_MM) * GRID_MM
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    inner = (owner[1:] == owner[:-1]) & (points[1:] != points[:-1]).any(axis=1)
    return np.stack([points[:-1][inner], points[1:][inner]], axis=1), owner[:-1][inner]


def build_net(strokes: Sequence[Stroke]) -> Net | None:
    """The net of the strokes' middles; None if they enclose nothing.

    An end that stops within the width of another line is drawn on to its middle.
    """
    drawn, owner = segments_of(strokes)
    if not len(drawn):
        return None
    width = np.array([s.pen.width_mm for s in strokes])
    drawn, owner = _widest(drawn, owner, width)
    cap = np.array([0.0 if s.pen.cap == "flat" else 0.5 for s in strokes])
    ends = noded(drawn)
    added, added_owner = drawn_on(ends, drawn, owner, (width, cap))
    if len(added):
        drawn, owner = np.concatenate([drawn, added]), np.concatenate([owner, added_owner])
        ends = noded(drawn)
    source = _sources(ends, drawn, owner, width)
    return _traced(ends, source)


def _widest(drawn: Floats, owner: Ints, width: Floats) -> tuple[Floats, Ints]:
    """Of pieces drawn several times, with the same ends, the widest alone, the last of equals."""
    flat = np.ascontiguousarray(drawn.reshape(-1, 2)).view(np.complex128).reshape(-1, 2)
    one, two = np.sort(flat, axis=1).T
    order = np.lexsort((owner, width[owner], two, one))
    one, two = one[order], two[order]
    last = np.append((one[1:] != one[:-1]) | (two[1:] != two[:-1]), True)
    kept = np.sort(order[last])
    return drawn[kept], owner[kept]


def _nodes(ends: Floats) -> tuple[Ints, Ints]:
    """Node index of each segment's ends (n, 2), and how many segments meet at each node."""
    flat = np.ascontiguousarray(ends.reshape(-1, 2)).view(np.complex128).ravel()
    _, ids = np.unique(flat, return_inverse=True)
    return ids.reshape(-1, 2), np.bincount(ids.ravel())


def drawn_on(
    ends: Floats, drawn: Floats, owner: Ints, pens: tuple[Floats, Floats]
) -> tuple[Floats, Ints]:
    """Short pieces that carry loose ends on to the middle of the line they stop in."""
    width, cap = pens
    ids, degree = _nodes(ends)
    loose = np.argwhere(degree[ids] == 1)
    if not len(loose):
        return np.empty((0, 2, 2)), np.empty(0, dtype=np.intp)
    tips = ends[loose[:, 0], loose[:, 1]]
    back = ends[loose[:, 0], 1 - loose[:, 1]]
    at, which = lines_at(tips, drawn, reach_mm=float(width.max()))
    mine = np.full(len(tips), -1, dtype=np.intp)
    own = _sources((tips * 0.999 + back * 0.001)[:, None].repeat(2, axis=1), drawn, owner, width)
    mine[:] = own
    best: dict[int, tuple[float, Floats]] = {}
    for tip, line in zip(at.tolist(), which.tolist(), strict=True):
        a, b = drawn[line]
        p = tips[tip]
        if owner[line] == mine[tip] and (np.array_equal(a, p) or np.array_equal(b, p)):
            continue
        way = p - back[tip]
        way = way / max(1e-12, float(np.hypot(*way)))
        hit = _ahead(p, way, a, b)
        off = float(np.hypot(*(hit - p)))
        reach = width[owner[line]] / 2.0 + width[mine[tip]] * cap[mine[tip]]
        if off <= reach + 1e-6 and (tip not in best or off < best[tip][0]):
            best[tip] = (off, hit)
    pieces, owners = [], []
    for tip, (off, hit) in best.items():
        p = tips[tip]
        way = (hit - p) / off if off > 1e-9 else (p - back[tip]) / float(np.hypot(*(p - back[tip])))
        pieces.append(np.stack([p, hit + way * OVERSHOOT_MM]))
        owners.append(int(mine[tip]))
    if not pieces:
        return np.empty((0, 2, 2)), np.empty(0, dtype=np.intp)
    return np.stack(pieces), np.array(owners, dtype=np.intp)


def _ahead(p: Floats, way: Floats, a: Floats, b: Floats) -> Floats:
    """Where the way from p meets segment ab; the nearest point of ab if it does not."""
    along = b - a
    det = way[0] * along[1] - way[1] * along[0]
    size2 = float(along @ along)
    if abs(det) > 0.2 * size2**0.5:
        off = a - p
        t = (off[0] * along[1] - off[1] * along[0]) / det
        s = (off[0] * way[1] - off[1] * way[0]) / det
        if -1e-9 <= s <= 1.0 + 1e-9 and t >= -1e-9:
            return np.asarray(p + t * way)
    share = max(0.0, min(1.0, float((p - a) @ along) / size2))
    return np.asarray(a + share * along)


def _sources(ends: Floats, drawn: Floats, owner: Ints, width: Floats) -> Ints:
    """For each noded segment the widest stroke drawn along it, the last of equals."""
    middles = ends.mean(axis=1)
    at, which = lines_at(middles, drawn, reach_mm=10.0 * GRID_MM)
    rank = np.lexsort((owner[which], width[owner[which]], at))
    at, which = at[rank], which[rank]
    last = np.flatnonzero(np.append(at[1:] != at[:-1], True))
    found = np.zeros(len(ends), dtype=np.intp)
    found[at[last]] = owner[which[last]]
    return found


def _traced(ends: Floats, source: Ints) -> Net | None:
    """Faces traced; segments that have one face on both sides are set aside as loose."""
    loose: list[Floats] = []
    loose_source: list[Ints] = []
    while len(ends):
        ids, degree = _nodes(ends)
        tips = (degree[ids] == 1).any(axis=1)
        if not tips.any():
            origin, following = _half_edges(ends, ids)
            face, rings = _cycles(following)
            count = len(ends)
            bridge = face[:count] == face[count:]
            if not bridge.any():
                break
            tips = bridge
        loose.append(ends[tips])
        loose_source.append(source[tips])
        ends, source = ends[~tips], source[~tips]
    else:
        return None
    starts = np.concatenate([ends[:, 0], ends[:, 1]])
    stops = np.concatenate([ends[:, 1], ends[:, 0]])
    cross = starts[:, 0] * stops[:, 1] - stops[:, 0] * starts[:, 1]
    sizes = np.bincount(face, weights=cross, minlength=len(rings)) / 2.0
    if not (sizes > 0.0).any():
        return None
    return Net(
        ends=ends,
        source=source,
        origin=origin,
        following=following,
        face=face,
        rings=rings,
        sizes=sizes,
        loose=np.concatenate(loose) if loose else np.empty((0, 2, 2)),
        loose_source=np.concatenate(loose_source) if loose else np.empty(0, dtype=np.intp),
    )


def _half_edges(ends: Floats, ids: Ints) -> tuple[Ints, Ints]:
    """Origin of each half-edge, and the half-edge that follows it round its face."""
    count = len(ends)
    origin = np.concatenate([ids[:, 0], ids[:, 1]])
    way = ends[:, 1] - ends[:, 0]
    way = np.concatenate([way, -way])
    order = np.lexsort((np.arctan2(way[:, 1], way[:, 0]), origin))
    ranked = origin[order]
    first = np.append(True, ranked[1:] != ranked[:-1])
    last = np.append(ranked[1:] != ranked[:-1], True)
    before = np.roll(order, 1)
    before[first] = order[last]
    left = np.empty(2 * count, dtype=np.intp)
    left[order] = before
    twin = np.concatenate([np.arange(count, 2 * count), np.arange(count)])
    return origin, left[twin]


def _cycles(following: Ints) -> tuple[Ints, tuple[Ints, ...]]:
    """Which face each half-edge bounds, and each face's half-edges in order."""
    after = following.tolist()
    face = [-1] * len(after)
    rings: list[Ints] = []
    for start in range(len(after)):
        if face[start] >= 0:
            continue
        ring = []
        half = start
        while face[half] < 0:
            face[half] = len(rings)
            ring.append(half)
            half = after[half]
        rings.append(np.array(ring, dtype=np.intp))
    return np.array(face, dtype=np.intp), tuple(rings)


def nearest_line(place: Floats, segments: Floats, radii: Floats) -> tuple[Point, float]:
    """The nearest straight segment drawn with a pen: a point of its middle, its edge's distance."""
    if not len(segments):
        return (float(place[0]), float(place[1])), float("inf")
    a, b = segments[:, 0], segments[:, 1]
    along = b - a
    size = np.maximum((along**2).sum(axis=1), 1e-18)
    share = np.clip(((place - a) * along).sum(axis=1) / size, 0.0, 1.0)
    feet = a + share[:, None] * along
    off = np.hypot(*(feet - place).T) - radii
    best = int(np.argmin(off))
    return (float(feet[best, 0]), float(feet[best, 1])), max(0.0, float(off[best]))
