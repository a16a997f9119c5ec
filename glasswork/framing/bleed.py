"""How far each pane's ink runs on under the leads, and where that is not far enough."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from glasswork.model.frame import ExposedEdge, Made, MemberMade
from glasswork.model.geometry import Regions
from glasswork.model.window import Role, Window
from glasswork.planar import Area, AreaSet

GAP_MM = 0.001
"""Panes that meet under a lead stop this far short of its middle, so that none overlap."""
BORDER_SHARE = 2.0 / 3.0
"""Nothing lies beyond the border, and the film's edge lies within its outer third."""
_TOUCH_MM = 1e-3
_UNEVEN_MM = 0.03
_SCRAP_MM2 = 0.01


class Edges(Struct, frozen=True, kw_only=True):
    """Which pane lies beside which member, and how far its ink runs under it.

    pane, member : (n,) indices; reach_mm : (n,) as it is inked; cover_mm : (n,) as it serves, no
    further than the film; bleed_mm : wanted; uneven : members wider in places than they are called,
    where their middle is not reached; beyond : (m, 2) pane and member that do not touch, but so
    near, a scrap of another member between, that the pane's ink is wanted under the member;
    printed : members that carry their own black on under their neighbours
    """

    pane: NDArray[np.intp]
    member: NDArray[np.intp]
    reach_mm: NDArray[np.float64]
    cover_mm: NDArray[np.float64]
    bleed_mm: float
    uneven: tuple[int, ...] = ()
    beyond: NDArray[np.intp] = field(default_factory=lambda: np.empty((0, 2), dtype=np.intp))
    printed: tuple[int, ...] = ()


def edges_of(
    window: Window,
    panes: AreaSet,
    leads: AreaSet,
    *,
    bleed_mm: float,
    printed: Sequence[int] = (),
) -> Edges:
    """The edges, each covered by the bleed but never beyond the member's middle.

    Where no other pane's ink comes from beyond it, as under the border, the ink is not held back.
    """
    pane, member = panes.within(leads, _TOUCH_MM)
    widths = np.array([m.width_mm for m in window.members])
    border = np.array([m.role is Role.BORDER for m in window.members], dtype=bool)
    alone = border | (np.bincount(member, minlength=len(widths)) == 1)
    half = np.minimum(bleed_mm, np.maximum(widths / 2.0 - GAP_MM, 0.0))
    reach = np.where(alone, bleed_mm, half)
    cover = np.where(border, np.minimum(bleed_mm, BORDER_SHARE * widths), reach)
    held = np.flatnonzero(reach < bleed_mm - GAP_MM)
    wider = leads.chosen(held).grown(-widths[held] / 2.0 - _UNEVEN_MM).areas_mm2() > 0.0
    whole = np.flatnonzero(reach >= bleed_mm - GAP_MM)
    near, wide = panes.within(leads.chosen(whole), bleed_mm)
    pairs = np.stack([near, whole[wide]], axis=1)
    touching = pane * len(leads) + member
    return Edges(
        pane=pane,
        member=member,
        reach_mm=reach[member],
        cover_mm=cover[member],
        bleed_mm=bleed_mm,
        uneven=tuple(held[wider].tolist()),
        beyond=pairs[~np.isin(pairs[:, 0] * len(leads) + pairs[:, 1], touching)],
        printed=tuple(printed),
    )


def glass_limits(panes: AreaSet, leads: AreaSet, edges: Edges) -> tuple[Regions, ...]:
    """For each pane, the area its ink fills."""
    reach = np.round(edges.reach_mm, 6)
    least = np.full(len(panes), np.inf)
    most = np.zeros(len(panes))
    np.minimum.at(least, edges.pane, reach)
    np.maximum.at(most, edges.pane, reach)
    least[~np.isfinite(least)] = 0.0
    grown = panes.grown(least)
    more = np.flatnonzero(reach > least[edges.pane] + GAP_MM)
    if len(more):
        further = panes.chosen(edges.pane[more]).grown(reach[more])
        under = further.meet(leads.chosen(edges.member[more]))
        grown = grown.with_parts(edges.pane[more], under)
    if len(edges.beyond):
        grown = grown.with_parts(edges.beyond[:, 0], _beyond(panes, leads, edges))
    apart = grown.set_apart(kept=panes)
    return _filled_up(apart, panes, leads, edges).regions() if edges.uneven else apart.regions()


def _beyond(panes: AreaSet, leads: AreaSet, edges: Edges) -> AreaSet:
    """Each pane's ink under a member beyond the one it touches, where no printed lead's black is
    to be."""
    pane, member = edges.beyond.T
    under = panes.chosen(pane).grown(np.full(len(pane), edges.bleed_mm)).meet(leads.chosen(member))
    black = leads.chosen(edges.printed)
    near = np.unique(under.within(black, edges.bleed_mm)[1])
    return under.without(black.chosen(near).grown(np.full(len(near), edges.bleed_mm)))


def _filled_up(limits: AreaSet, panes: AreaSet, leads: AreaSet, edges: Edges) -> AreaSet:
    """The limits with what they leave bare, within the bleed, of members wider than called."""
    owner: list[int] = []
    parts: list[Area] = []
    for member in edges.uneven:
        mine = edges.pane[edges.member == member].tolist()
        left = leads[member] - limits.chosen(mine).joined()
        for pane in mine:
            part = left & panes[pane].grown(edges.bleed_mm)
            if part.area_mm2 > _SCRAP_MM2:
                owner.append(pane)
                parts.append(part)
                left = left - part
    if not owner:
        return limits
    return limits.with_parts(np.array(owner, dtype=np.intp), AreaSet.of_areas(parts))


def exposed_edges(
    window: Window,
    made: Sequence[MemberMade],
    edges: Edges,
    *,
    panes: AreaSet,
    leads: AreaSet,
    needed_mm: float,
) -> tuple[tuple[ExposedEdge, ...], float]:
    """The edges of cut members whose cover is too small, least covered first, and the least cover.

    A printed member moves with the ink beside it and is never exposed.
    """
    cut = np.array([item.made is Made.CUT for item in made], dtype=bool)[edges.member]
    if not cut.any():
        return (), 0.0
    bare = np.flatnonzero(cut & (edges.cover_mm < needed_mm - GAP_MM))
    bare = bare[np.argsort(edges.cover_mm[bare], kind="stable")]
    places = panes.chosen(edges.pane[bare]).shared_places(leads.chosen(edges.member[bare]))
    found = tuple(
        ExposedEdge(
            pane=window.panes[pane].id,
            place=place,
            cover_mm=float(cover),
            needed_mm=needed_mm,
        )
        for pane, place, cover in zip(
            edges.pane[bare].tolist(), places, edges.cover_mm[bare].tolist(), strict=True
        )
        if place is not None
    )
    return found, float(edges.cover_mm[cut].min())
