"""Joints shared out by the pens: what a wider line covers is its own, and nothing else is.

A joint goes to one of its leads as a whole, at first: the stub of a narrow lead would stand on the
edge of a wide one as a nib. Where the pens are known, each place belongs to the widest pen there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.drawing.members import Lead
from glasswork.model.geometry import Point
from glasswork.model.window import Role
from glasswork.planar import Area, AreaSet, stretches

Kind = tuple[float, Role | None]
"""Width and role of a pen."""
Line = tuple[Point, ...]


class Bit(NamedTuple):
    """A bit of one lead, and the kinds of the leads one of which gets it.

    takers : the first and the last of these kinds, as ranks
    own : the pen that drew it, if it is a lead of its own where it touches none of the takers
    """

    lead: int
    area: Area
    takers: tuple[int, int]
    own: Kind | None = None


SPECK_MM2 = 1e-3
"""A smaller bit stays where it is; it comes from rounding."""
_TOUCH_MM = 0.02
_LOSS_MM2 = 1e-5
_CONTACT_MM = 0.03
_GRID_MM = 1e-9
_STRAY_SHARE = 0.5
_SCRAP_SHARE = 0.5
_LEAST_SCRAP_MM2 = 0.02
_ROUNDS = 2  # what is filled between bits touches a narrower lead once these have moved
_RANKS = (Role.BORDER, Role.MULLION, Role.BAR, Role.LEAD, None)


def shared_out(
    leads: Sequence[Lead],
    areas: AreaSet,
    kinds: Sequence[Kind],
    inked: Callable[[Kind], AreaSet],
) -> tuple[Lead, ...]:
    """The leads, which tile what they tiled before, each with what its own pen covers.

    areas : of the leads
    kinds : of all pens that draw leads
    inked : what each line drawn by the pens of a kind covers
    Leads of no such kind (drawn as areas) neither give nor take.
    """
    order = sorted(set(kinds), key=_order)
    rank = {kind: place for place, kind in enumerate(order)}
    ranks = np.array([rank.get((lead.width_mm, lead.role), -1) for lead in leads], dtype=np.intp)
    found = sorted(set(ranks[ranks >= 0].tolist()))
    if len(found) < 2:
        return tuple(leads)
    inks = cache(lambda place: inked(order[place]))
    changed: set[int] = set()
    alone: list[Lead] = []
    for place in found[:-1]:
        cover = inks(place).joined()
        among = np.arange(len(leads))
        for _ in range(_ROUNDS):
            taken = _taken(areas, ranks, place, cover, among)
            bits = [*taken, *_left(areas, ranks, place, (cover, order, inks), among)]
            areas, moved, stray, among = _moved(areas, ranks, bits)
            changed |= moved
            alone += stray
            if not len(among) or not moved:
                break
    given = list(leads)
    where = sorted(changed)
    for i, area in zip(where, areas.chosen(where).regions(), strict=True):
        given[i] = replace(leads[i], area=area)
    return (*given, *alone)


def on_pens(leads: Sequence[Lead], lines: Mapping[Kind, Sequence[Line]]) -> tuple[Lead, ...]:
    """The leads, the middle of each where its pen went, as far as it follows one line.

    Where narrow leads join a wide one, or run into it aslant, the middle of the area strays. Those
    of the narrowest pen stay as they are.
    """
    narrowest = max(lines, key=_order, default=None)
    found = list(leads)
    for kind, paths in lines.items():
        mine = [i for i, lead in enumerate(leads) if (lead.width_mm, lead.role) == kind]
        mine = [i for i in mine if len(leads[i].centreline) > 1]
        if kind == narrowest or not mine:
            continue
        middles = stretches(
            [leads[i].centreline for i in mine], paths, reach_mm=_STRAY_SHARE * kind[0]
        )
        for i, middle in zip(mine, middles, strict=True):
            found[i] = leads[i] if middle is None else replace(leads[i], centreline=middle)
    return tuple(found)


def _order(kind: Kind) -> tuple[float, int]:
    return -kind[0], _RANKS.index(kind[1])


def _taken(
    areas: AreaSet, ranks: NDArray[np.intp], place: int, cover: Area, among: NDArray[np.intp]
) -> list[Bit]:
    """What the pens of one kind cover of narrower leads among some."""
    less = among[ranks[among] > place]
    under = less[areas.chosen(less).touching(cover)]
    covered = areas.chosen(under).common(cover)
    owner, bits = covered.large_parts(SPECK_MM2)
    return [
        Bit(index, bits[number], (place, place))
        for number, index in enumerate(under[owner].tolist())
    ]


def _left(
    areas: AreaSet,
    ranks: NDArray[np.intp],
    place: int,
    pens: tuple[Area, Sequence[Kind], Callable[[int], AreaSet]],
    among: NDArray[np.intp],
) -> list[Bit]:
    """What leads of one kind, among some, have beyond their own pens, by the widest pen there.

    What belongs to a pen that no lead is called after stays with the lead; a filled scrap goes to
    a narrower lead.
    """
    cover, order, inks = pens
    own, last = among[ranks[among] == place], int(ranks.max())
    bits: list[Bit] = []
    for index in own[~areas.chosen(own).inside(cover)].tolist():
        rest = areas[index] - cover
        for narrower in range(place + 1, len(order)):
            if not _large(rest):
                break
            ink = inks(narrower)
            near = ink.chosen(AreaSet.of_areas([rest]).meeting(ink)[1]).joined()
            if narrower in ranks:
                alone = order[narrower] if narrower == last else None
                takers = (narrower, narrower)
                bits += [Bit(index, bit, takers, alone) for bit in _large(rest & near)]
            rest = rest - near
        less, scrap = (place + 1, last), -_SCRAP_SHARE / 2.0 * order[place][0]
        bits += [Bit(index, bit, less) for bit in _large(rest) if bit.grown(scrap).is_empty]
    return bits


def _large(area: Area) -> list[Area]:
    return [part for part in area.parts() if part.area_mm2 > SPECK_MM2]


def _moved(
    areas: AreaSet, ranks: NDArray[np.intp], bits: Sequence[Bit]
) -> tuple[AreaSet, set[int], list[Lead], NDArray[np.intp]]:
    """The areas, each bit given to the lead that it touches most, which of them have changed, the
    bits that are leads of their own, and the leads of which a bit stayed.

    Any other bit that touches none of those that may have it stays, and so does a whole lead.
    """
    if not bits:
        return areas, set(), [], np.array([], dtype=np.intp)
    pieces = AreaSet.of_areas([bit.area for bit in bits])
    lead = np.array([bit.lead for bit in bits], dtype=np.intp)
    size = pieces.areas_mm2()
    part = size <= areas.areas_mm2()[lead] - SPECK_MM2
    taker = np.where(part, _takers(areas, ranks, bits, pieces), -1)
    stray = {
        number: bit.own
        for number, bit in enumerate(bits)
        if bit.own is not None
        and part[number]
        and taker[number] < 0
        and size[number] > _LEAST_SCRAP_MM2
    }
    given = np.flatnonzero(taker >= 0)
    lost = np.unique(np.array([*given.tolist(), *stray], dtype=np.intp))
    stayed = np.unique(np.delete(lead, lost))
    if not len(lost):
        return areas, set(), [], stayed
    lost = lost[np.argsort(lead[lost], kind="stable")]
    after = _handed_over(areas, pieces, (lead[lost], lost), (taker[given], given))
    if after is None:
        return areas, set(), [], np.array([], dtype=np.intp)
    changed = np.unique(np.concatenate([lead[lost], taker[given]]))
    alone = [_scrap(bits[number].area, own) for number, own in stray.items()]
    return after.wound(changed), set(changed.tolist()), alone, stayed


def _handed_over(
    areas: AreaSet,
    pieces: AreaSet,
    lost: tuple[NDArray[np.intp], NDArray[np.intp]],
    given: tuple[NDArray[np.intp], NDArray[np.intp]],
) -> AreaSet | None:
    """Areas without the pieces they lose and with those given to them; None if that cannot be done
    without loss.

    lost, given : numbers of areas and of pieces

    Where edges run along each other within a hair the engine now and then loses a whole piece; on
    a grid it does not.
    """
    whole = areas.areas_mm2().sum() + pieces.areas_mm2()[given[1]].sum()
    whole -= pieces.areas_mm2()[lost[1]].sum()
    for grid in (None, _GRID_MM):
        after = areas.without(pieces, lost, grid_mm=grid)
        after = after.with_parts(given[0], pieces.chosen(given[1]), grid_mm=grid)
        if abs(after.areas_mm2().sum() - whole) <= _LOSS_MM2:
            return after
    return None


def _takers(
    areas: AreaSet, ranks: NDArray[np.intp], bits: Sequence[Bit], pieces: AreaSet
) -> NDArray[np.intp]:
    """For each bit the one of its takers that it touches most; -1 where it touches none."""
    bit, there = pieces.within(areas, _TOUCH_MM)
    first, last = np.array([one.takers for one in bits])[bit].T
    allowed = (ranks[there] >= first) & (ranks[there] <= last)
    bit, there = bit[allowed], there[allowed]
    found = np.full(len(bits), -1, dtype=np.intp)
    found[bit] = there
    several = np.bincount(bit, minlength=len(bits))[bit] > 1
    bit, there = bit[several], there[several]
    rims = pieces.chosen(bit).grown(np.full(len(bit), _CONTACT_MM))
    contact = areas.chosen(there).meet(rims).areas_mm2()
    order = np.lexsort((there, -contact, bit))
    first = order[np.unique(bit[order], return_index=True)[1]]
    found[bit[first]] = there[first]
    return found


def _scrap(area: Area, kind: Kind) -> Lead:
    """What stands out of a lead that lies under a wider one: too short to have a middle."""
    return Lead(centreline=(), width_mm=kind[0], role=kind[1], area=area.regions(), edge=False)
