"""Rough faces of a net, done with painted surface: glass is what the pens leave bare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from glasswork.drawing.chains import Chain
from glasswork.drawing.inks import Stroke
from glasswork.drawing.members import Lead
from glasswork.drawing.net import Floats, Ints, Net
from glasswork.model.geometry import Region, Regions, ring_area_mm2
from glasswork.planar import Area, AreaSet, Pen, drawn, polygon_set

LEAST_PANE_MM2 = 0.01
MOST_SIDES = 250
"""Sides of a rough face above which the drawing is better seen as painted surface."""


@dataclass(slots=True, kw_only=True)
class Patch:
    """What rough faces give.

    panes : their glass
    pieces : chain index → parts of its area in rough faces
    loose : leads that end in the open inside a rough face
    outline : the panel's edge, if the outer face is rough
    """

    panes: list[Region] = field(default_factory=list)
    pieces: dict[int, list[Area]] = field(default_factory=dict)
    loose: list[Lead] = field(default_factory=list)
    outline: Region | None = None


def patch_faces(
    net: Net, strokes: Sequence[Stroke], chains: Sequence[Chain], *, rough: Ints, outer: bool
) -> Patch | None:
    """Glass and lead of the rough faces.

    None, if a face is too large, or the outer edge cannot be made out.
    """
    patch = Patch()
    if not len(rough) and not outer:
        return patch
    faces = [*rough.tolist(), *([int(np.argmin(net.sizes))] if outer else [])]
    if max(len(net.rings[face]) for face in faces) > MOST_SIDES:
        return None
    inked = drawn([(s.points, s.closed) for s in strokes], [s.pen for s in strokes])
    chain_of = {h % net.count: i for i, chain in enumerate(chains) for h in chain.halves}
    loose = _loose_leads(net, strokes)
    edges = net.starts, net.stops
    for face in rough.tolist():
        ring = net.rings[face]
        corners = edges[0][ring]
        cell = polygon_set(corners, np.zeros(len(corners), dtype=np.intp))
        whole = Area(cell.shapes[0])
        near, _ = inked.meeting(cell)
        covered = inked.chosen(np.unique(near)).near(whole.bounds).joined() & whole
        panes = [r for r in (whole - covered).regions() if r.area_mm2 > LEAST_PANE_MM2]
        patch.panes += panes
        lead = whole - Area.of(panes) if panes else whole
        mine = [lead_ for lead_ in loose if whole.touches(lead_[1])]
        left = _give(net, strokes, (ring, chain_of, lead, edges), patch)
        for owner, (stroke, area) in enumerate(mine):
            part = left & area
            if not part.is_empty:
                left = left - area
                patch.loose.append(_loose(strokes[stroke], part, owner))
        _rest(left, patch, {chain_of[h % net.count] for h in ring.tolist()})
    if outer:
        return _outer(net, strokes, inked, (chain_of, patch))
    return patch


def _give(
    net: Net,
    strokes: Sequence[Stroke],
    state: tuple[Ints, dict[int, int], Area, tuple[Floats, Floats]],
    patch: Patch,
) -> Area:
    """Each chain round the face gets what its own pen covers of the lead; returns what is left."""
    ring, chain_of, left, (starts, stops) = state
    runs: dict[int, list[int]] = {}
    for half in ring.tolist():
        runs.setdefault(chain_of[half % net.count], []).append(half)
    widest_first = sorted(
        runs.items(), key=lambda run: -strokes[net.source[run[1][0] % net.count]].pen.width_mm
    )
    halves = [half for _, mine in widest_first for half in mine]
    pens = [
        Pen(width_mm=strokes[source].pen.width_mm + 2e-6, cap="flat", join="mitre")
        for _, mine in widest_first
        for source in [net.source[mine[0] % net.count]] * len(mine)
    ]
    zones = drawn(
        [(((starts[h][0], starts[h][1]), (stops[h][0], stops[h][1])), False) for h in halves], pens
    )
    done = 0
    for index, mine in widest_first:
        run, done = range(done, done + len(mine)), done + len(mine)
        zone = zones[run[0]] if len(run) == 1 else zones.chosen(list(run)).joined()
        part = left & zone
        if not part.is_empty:
            patch.pieces.setdefault(index, []).append(part)
            left = left - zone
    return left


def _rest(left: Area, patch: Patch, chains: set[int]) -> None:
    """Corners that no pen's straight run covers go to the lead they touch, the first that does."""
    for part in left.parts():
        for index in sorted(chains):
            if any(part.touches(piece, within_mm=1e-6) for piece in patch.pieces.get(index, ())):
                patch.pieces[index].append(part)
                break
        else:
            patch.pieces.setdefault(min(chains), []).append(part)


def _loose_leads(net: Net, strokes: Sequence[Stroke]) -> list[tuple[int, Area]]:
    """Leads that end in the open: their stroke and area, one a stroke."""
    groups: dict[int, list[int]] = {}
    for k, stroke in enumerate(net.loose_source.tolist()):
        groups.setdefault(stroke, []).append(k)
    found = []
    for stroke, items in groups.items():
        pen = strokes[stroke].pen
        lines = [
            (tuple((float(x), float(y)) for x, y in net.loose[k].tolist()), False) for k in items
        ]
        found.append((stroke, drawn(lines, [pen] * len(lines)).joined()))
    return found


def _loose(stroke: Stroke, area: Area, _owner: int) -> Lead:
    return Lead(
        centreline=stroke.points,
        width_mm=stroke.pen.width_mm,
        role=stroke.role,
        area=area.regions(),
        edge=False,
    )


def _outer(
    net: Net,
    strokes: Sequence[Stroke],
    inked: AreaSet,
    state: tuple[dict[int, int], Patch],
) -> Patch | None:
    """The panel's edge where its corners are rough: the edge of all that is drawn."""
    chain_of, patch = state
    ring = net.rings[int(np.argmin(net.sizes))]
    corners = net.starts[ring][::-1]
    cell = polygon_set(corners, np.zeros(len(corners), dtype=np.intp))
    hull = Area(cell.shapes[0])
    near, _ = inked.meeting(cell)
    whole = inked.chosen(np.unique(near)).joined() | hull
    regions: Regions = whole.regions()
    if len(regions) != 1 or any(abs(ring_area_mm2(h)) > 1e-9 for h in regions[0].holes):
        return None
    outline = patch.outline = Region(regions[0].outer)
    lead = Area.of((outline,)) - hull
    left = _give(net, strokes, (ring, chain_of, lead, (net.starts, net.stops)), patch)
    _rest(left, patch, {chain_of[h % net.count] for h in ring.tolist()})
    return patch
