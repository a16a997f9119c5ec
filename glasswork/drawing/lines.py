"""A drawing of plain lead lines as a window: exact middles and widths, panes by inset.

Used where every lead is an unbroken stroke that nothing drawn later hides. What it cannot do
exactly it leaves to `areas`, which sees any drawing as painted surface.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import eq

import numpy as np
from msgspec.structs import replace

from glasswork.drawing.chains import Chain, chains_of
from glasswork.drawing.gaps import open_outline
from glasswork.drawing.inks import Roles, Stroke, dark_fill, is_dark, pen_of
from glasswork.drawing.inset import Inset, inset, rings_of
from glasswork.drawing.members import Lead, Leaded
from glasswork.drawing.net import Floats, Ints, Net, build_net, nearest_line
from glasswork.drawing.patches import Patch, patch_faces
from glasswork.drawing.shares import Kind, shared_out
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Point, Region, Regions, Ring, sound_region
from glasswork.model.window import LineArt, Role
from glasswork.planar import (
    Area,
    AreaSet,
    depths,
    drawn,
    outside_mm,
    polygon_set,
    regions_of_rings,
    valid,
)

TOUCH_MM = 1e-3
LEAST_PANE_MM2 = 0.01
TILE_SHARE = 1e-9
MOST_ROUGH = 0.4
"""Share of rough faces above which the drawing is better seen as painted surface."""


def lead_strokes(art: LineArt, roles: Roles) -> list[Stroke]:
    """Every lead line, whatever else the drawing holds; lines of any colour if none is dark."""
    for any_colour in (False, True):
        found = []
        for order, mark in enumerate(art.marks):
            role = roles.of(mark)
            if mark.stroke is None or role is Role.PAINT:
                continue
            if any_colour or role is not None or is_dark(mark.stroke):
                found += [
                    Stroke(
                        points=points,
                        closed=closed and len(points) > 2,
                        pen=pen_of(mark),
                        role=role,
                        order=order,
                    )
                    for points, closed in mark.paths
                    if len(points) > 1
                ]
        if found:
            return found
    return []


def strokes_of(art: LineArt, roles: Roles, *, any_colour: bool = False) -> list[Stroke] | None:
    """The lead lines of the drawing, or None if some lead is no plain stroke."""
    found: list[Stroke] = []
    for order, mark in enumerate(art.marks):
        role = roles.of(mark)
        if role is Role.PAINT:
            continue
        if mark.stroke is None:
            if dark_fill(mark) or (mark.fill is not None and role is not None):
                return None
            continue
        if dark_fill(mark):
            return None
        if not (any_colour or role is not None or is_dark(mark.stroke)):
            if found:
                return None
            continue
        if mark.dashes_mm:
            return None
        for points, closed in mark.paths:
            if len(points) > 1:
                whole = closed and len(points) > 2
                found.append(
                    Stroke(points=points, closed=whole, pen=pen_of(mark), role=role, order=order)
                )
    return found


def leaded_by_lines(art: LineArt, roles: Roles, findings: list[Finding]) -> Leaded | None:
    """The drawing's glass and leads, or None if it is not made of plain visible lines.

    Raises: DrawingError, if its outline is open
    """
    strokes = strokes_of(art, roles)
    pale = strokes is not None and not strokes
    if pale:
        strokes = strokes_of(art, roles, any_colour=True)
    if not strokes:
        return None
    net = build_net(strokes)
    if net is None or _hidden(art, net, strokes):
        return None
    _closed(art.name, net, strokes)
    edges = inset(net, strokes)
    outside = int(np.argmin(net.sizes))
    islands = _islands(net, outside)
    if islands is None or edges.rough[list(islands)].any():
        return None
    good = np.flatnonzero((net.sizes > 0.0) & ~edges.rough)
    points, owner = rings_of(net, edges, good) if len(good) else (np.empty((0, 2)), good)
    glass = polygon_set(points, owner)
    fine = valid(glass) & (_signed(points, owner, len(good)) > LEAST_PANE_MM2)
    rough = edges.rough.copy()
    rough[good[~fine]] = True
    rough[_faces_with_loose(net)] = True
    inner_rough = rough.copy()
    inner_rough[outside] = False
    if inner_rough.sum() > max(20.0, MOST_ROUGH * len(net.rings)):
        return None
    if rough[list(islands.values())].any():
        return None
    kept = good[~rough[good]]
    outline = _outline(net, edges, outside) if not rough[outside] else None
    chains = chains_of(net, strokes)
    patch = patch_faces(
        net, strokes, chains, rough=np.flatnonzero(inner_rough), outer=outline is None
    )
    outline = outline or (patch.outline if patch is not None else None)
    if patch is None or outline is None:
        return None
    points, owner = rings_of(net, edges, kept) if len(kept) else (np.empty((0, 2)), kept)
    panes = _with_islands(net, edges, regions_of_rings(points, owner), (kept, islands))
    if panes is None:
        return None
    found = Leaded(
        outline=outline,
        panes=(*panes, *patch.panes),
        leads=(
            *_leads(net, strokes, edges, (chains, rough, outside), patch),
            *patch.loose,
        ),
    )
    areas = AreaSet.of_groups([lead.area for lead in found.leads])
    if not _tiles(found, areas):
        return None
    if pale:
        findings.append(
            Finding(
                severity=Severity.NOTE,
                where=art.name,
                what="no line is dark: every stroke counts as a lead",
            )
        )
    return replace(found, leads=_shared(found.leads, areas, strokes))


def _shared(leads: Sequence[Lead], areas: AreaSet, strokes: Sequence[Stroke]) -> tuple[Lead, ...]:
    """The leads, their joints shared out by the pens."""

    def inked(kind: Kind) -> AreaSet:
        mine = [s for s in strokes if (s.pen.width_mm, s.role) == kind]
        return drawn([(s.points, s.closed) for s in mine], [s.pen for s in mine])

    return shared_out(leads, areas, [(s.pen.width_mm, s.role) for s in strokes], inked)


def _tiles(found: Leaded, leads: AreaSet) -> bool:
    """Every part is a simple area, and all together are as large as the outline.

    leads : the areas of those found
    The parts share their edges, each with its neighbour, so equal areas leave no room for an
    overlap.
    """
    panes = AreaSet.of_regions(found.panes)
    if not (valid(panes).all() and valid(leads).all()):
        return False
    whole = found.outline.area_mm2
    total = float(panes.areas_mm2().sum() + leads.areas_mm2().sum())
    return abs(total - whole) < TILE_SHARE * whole


def _islands(net: Net, outside: int) -> dict[int, int] | None:
    """Outer faces of parts that hang free in a face: which face; None if one lies outside all."""
    apart = [f for f in np.flatnonzero(net.sizes < 0.0).tolist() if f != outside]
    if not apart:
        return {}
    inner = np.flatnonzero(net.sizes > 0.0)
    corners = np.concatenate([net.starts[net.rings[f]] for f in inner.tolist()])
    owner = np.repeat(np.arange(len(inner)), [len(net.rings[f]) for f in inner.tolist()])
    faces = polygon_set(corners, owner)
    spots = np.array([net.starts[net.rings[f][0]] for f in apart])
    at, which, depth = depths(spots, faces, reach_mm=0.0)
    found: dict[int, int] = {}
    for spot, face, deep in zip(at.tolist(), which.tolist(), depth.tolist(), strict=True):
        best = found.get(apart[spot])
        if deep > TOUCH_MM and (best is None or net.sizes[inner[face]] < net.sizes[best]):
            found[apart[spot]] = int(inner[face])
    return found if len(found) == len(apart) else None


def _with_islands(
    net: Net, edges: Inset, panes: Regions, state: tuple[Ints, dict[int, int]]
) -> Regions | None:
    """Panes with holes where leads hang free in them; None if such leads touch others."""
    kept, islands = state
    if not islands:
        return panes
    at = {face: index for index, face in enumerate(kept.tolist())}
    holes: dict[int, list[Region]] = {}
    for island, face in islands.items():
        edge = _outline(net, edges, island)
        if edge is None:
            return None
        holes.setdefault(at[face], []).append(edge)
    found = list(panes)
    for index, inner in holes.items():
        pane = Region(panes[index].outer, tuple(edge.outer for edge in inner))
        if not valid(AreaSet.of_regions([pane])).all():
            return None
        found[index] = pane
    return tuple(found)


def _signed(points: Floats, owner: np.ndarray, count: int) -> Floats:
    """Signed area of each ring of corners."""
    if not len(points):
        return np.empty(0)
    last = np.flatnonzero(np.append(owner[1:] != owner[:-1], True))
    after = np.arange(1, len(points) + 1)
    after[last] = np.append(0, last[:-1] + 1)
    cross = points[:, 0] * points[after, 1] - points[after, 0] * points[:, 1]
    return np.bincount(owner, weights=cross, minlength=count) / 2.0


def _hidden(art: LineArt, net: Net, strokes: Sequence[Stroke]) -> bool:
    """Some fill drawn later hides a lead, or more of it than the fill's own stroke restores."""
    fills = [
        (order, mark) for order, mark in enumerate(art.marks) if mark.fill is not None and mark.area
    ]
    if not fills:
        return False
    first = min(s.order for s in strokes)
    fills = [(order, mark) for order, mark in fills if order > first or mark.stroke is not None]
    if not fills:
        return False
    orders = np.array([s.order for s in strokes])[net.source]
    radii = np.array([s.pen.width_mm / 2.0 for s in strokes])[net.source]
    regions = [(order, mark, region) for order, mark in fills for region in mark.area]
    areas = AreaSet.of_regions([region for _, _, region in regions])
    fill_order = np.array([order for order, _, _ in regions])
    own = np.array([m.width_mm / 2.0 if m.stroke is not None else 0.0 for _, m, _ in regions])
    reach = float(radii.max())
    at, which, depth = depths(net.ends.mean(axis=1), areas, reach_mm=reach)
    later = fill_order[which] > orders[at]
    covered = np.minimum(radii[at] + depth, 2.0 * radii[at]) - own[which]
    inside = depth > TOUCH_MM
    return bool((later & ((covered > TOUCH_MM) | inside)).any())


def _closed(name: str, net: Net, strokes: Sequence[Stroke]) -> None:
    """Raises: DrawingError, if a line goes on outside the outermost lines and ends in the open"""
    if not len(net.loose):
        return
    ring = net.starts[net.rings[int(np.argmin(net.sizes))]][::-1]
    hull = polygon_set(ring, np.zeros(len(ring), dtype=np.intp))
    places = net.loose.reshape(-1, 2)
    names, first, times = np.unique(places, axis=0, return_index=True, return_counts=True)
    tips = names[times == 1]
    widths = np.array([s.pen.width_mm for s in strokes])
    own = widths[net.loose_source[first[times == 1] // 2]]
    out = np.zeros(len(tips))
    for index in np.flatnonzero(outside_mm(tips, hull[0]) > TOUCH_MM).tolist():
        out[index] = nearest_line(tips[index], net.ends, widths[net.source] / 2.0)[1]
    if (out > own).any():
        far = int(np.argmax(np.where(out > own, out, 0.0)))
        others = [p for i, p in enumerate(map(tuple, tips.tolist())) if i != far]
        others += [tuple(p) for p in ring.tolist()]
        end = tips[far].tolist()
        raise open_outline(name, (end[0], end[1]), [(x, y) for x, y in others])


def _faces_with_loose(net: Net) -> list[int]:
    """Faces in which a lead ends in the open."""
    if not len(net.loose):
        return []
    shapes = [net.starts[ring] for ring in net.rings]
    inner = [i for i, size in enumerate(net.sizes.tolist()) if size > 0.0]
    owner = np.repeat(np.arange(len(inner)), [len(shapes[i]) for i in inner])
    faces = polygon_set(np.concatenate([shapes[i] for i in inner]), owner)
    _, which, depth = depths(net.loose.mean(axis=1), faces, reach_mm=0.0)
    return sorted({inner[i] for i in which[depth > 0.0].tolist()})


def _outline(net: Net, edges: Inset, outside: int) -> Region | None:
    points, owner = rings_of(net, edges, np.array([outside]))
    if not valid(polygon_set(points, owner)).all():
        return None
    return regions_of_rings(points[::-1], owner)[0]


def _leads(
    net: Net,
    strokes: Sequence[Stroke],
    edges: Inset,
    state: tuple[list[Chain], np.ndarray, int],
    patch: Patch,
) -> list[Lead]:
    chains, rough, outside = state
    count = net.count
    face = net.face.tolist()
    places: list[Point] = list(map(tuple, net.starts.tolist()))
    near: list[Point] = list(map(tuple, edges.near.tolist()))
    following = net.following.tolist()
    tails = {half: list(map(tuple, tail.tolist())) for half, tail in edges.tails.items()}
    source = net.source.tolist()
    bare = (~rough).tolist()

    def glass_edge(halves: Sequence[int]) -> list[Point]:
        points = []
        for half in halves:
            points.append(near[half])
            if half in tails:
                points += tails[half]
        points.append(near[following[halves[-1]]])
        return points

    found = []
    for index, chain in enumerate(chains):
        there = chain.halves
        back = [h - count if h >= count else h + count for h in reversed(there)]
        stroke = strokes[source[there[0] % count]]
        line = (*[places[h] for h in there], places[back[0]])
        sides = [glass_edge(halves) for halves in (there, back) if bare[face[halves[0]]]]
        area = _strip(line, sides, chain.closed, whole=len(sides) == 2)
        if len(sides) < 2:
            parts = [Area.of((r,)) for r in area] + list(patch.pieces.get(index, ()))
            area = Area.union(parts).regions() if parts else ()
        if area:
            found.append(
                Lead(
                    centreline=line,
                    width_mm=stroke.pen.width_mm,
                    role=stroke.role,
                    area=area,
                    edge=outside in (face[there[0]], face[back[0]]),
                )
            )
    return found


def _strip(middle: Ring, sides: list[list[Point]], closed: bool, *, whole: bool) -> Regions:
    """The area between a lead's two glass edges, or between its middle and the only one known."""
    if not sides:
        return ()
    if closed:
        rings = [side[:-1] for side in sides] + ([] if whole else [list(middle[:-1])])
        one, two = (Region(tuple(_plain(ring))) for ring in rings)
        outer, hole = (one, two) if one.area_mm2 > two.area_mm2 else (two, one)
        return (Region(outer.outer, (hole.outer,)),)
    if whole:
        ring = [middle[0], *sides[0], middle[-1], *sides[1]]
    else:
        near = sides[0]
        begins = _near(near[0], middle[0], middle[-1])
        ring = [*(middle if begins else middle[::-1]), *reversed(near)]
    ring = _plain(ring)
    return (sound_region(tuple(ring)),) if len(ring) > 2 else ()


def _near(place: Point, one: Point, two: Point) -> bool:
    """The place lies nearer to the first of two points."""
    return (place[0] - one[0]) ** 2 + (place[1] - one[1]) ** 2 <= (place[0] - two[0]) ** 2 + (
        place[1] - two[1]
    ) ** 2


def _plain(ring: Sequence[Point]) -> list[Point]:
    """The ring without points repeated one after the other."""
    if ring[0] != ring[-1] and True not in map(eq, ring, ring[1:]):
        return list(ring)
    return [point for index, point in enumerate(ring) if point != ring[index - 1]]
