"""Weak places: board left standing narrower than it should be."""

from __future__ import annotations

from msgspec import Struct

from glasswork.model.geometry import Point, Region
from glasswork.planar import Area, AreaSet, ring_gaps

_ROUND = 0.995
"""The opening's rounding error must not read as a neck."""
_TIP = 2.0
"""A point that stands out this many half-widths (a corner under 39°) is a weak tip."""

_SPECK = 0.01
"""Bits smaller than this share of the half-width squared are rounding."""


class Web(Struct, frozen=True, kw_only=True):
    """A narrow place. kind : "web" between two openings, or "tip", a pointed end."""

    kind: str
    place: Point
    width_mm: float


def survey(piece: Region, limit_mm: float) -> tuple[tuple[Web, ...], float]:
    """Every web of the piece narrower than the limit, and the narrowest width there is.

    The second is the limit itself, or more, where nothing is narrower.
    """
    gaps = ring_gaps(piece.rings, below_mm=limit_mm * _ROUND)
    webs = [Web(kind="web", place=gap.place, width_mm=gap.width_mm) for gap in gaps]
    seen = [web.place for web in webs]
    webs += [web for web in _necks(piece, limit_mm) if not _near(web.place, seen, limit_mm)]
    webs.sort(key=lambda web: web.width_mm)
    nearest = gaps or ring_gaps(piece.rings)
    widths = [web.width_mm for web in webs if web.kind == "web"]
    return tuple(webs), min([limit_mm, *widths] if widths or not nearest else [nearest[0].width_mm])


def _near(place: Point, others: list[Point], mm: float) -> bool:
    x, y = place
    return any((x - ox) ** 2 + (y - oy) ** 2 <= mm * mm for ox, oy in others)


def _necks(piece: Region, limit_mm: float) -> list[Web]:
    """Narrow places between two stretches of one ring."""
    half = limit_mm / 2.0 * _ROUND
    found = _bits_of_outline(piece, half)
    holes = AreaSet.of_regions([Region(hole) for hole in piece.holes])
    for index in holes.narrowing(half, least_mm2=_SPECK * half * half):
        found += _bits_in_hole(holes[index], half)
    return found


def _bits_of_outline(piece: Region, half_mm: float) -> list[Web]:
    """What rounding the outline's corners inwards takes away."""
    whole = Area.of((Region(piece.outer),))
    left = whole.opened(half_mm)
    return _webs(whole - left.grown(half_mm * 0.01, join="round"), left, half_mm)


def _bits_in_hole(hole: Area, half_mm: float) -> list[Web]:
    """What board stands between two stretches of one opening."""
    closed = hole.grown(half_mm, join="round").grown(-half_mm, join="round")
    board = Area.box(hole.bounds.grown(4.0 * half_mm)) - closed
    return _webs(closed - hole.grown(half_mm * 0.01, join="round"), board, half_mm)


def _webs(bits: Area, left: Area, half_mm: float) -> list[Web]:
    """A bit that touches what is left in two places is a neck; in one, a tip if it is long."""
    found = []
    for bit in bits.parts():
        if bit.area_mm2 < _SPECK * half_mm * half_mm:
            continue
        contacts = (bit.grown(half_mm * 0.02, join="round") & left).parts()
        width = 2.0 * bit.inner_radius_mm()
        if len(contacts) != 1:
            found.append(Web(kind="web", place=bit.inner_point(), width_mm=width))
        elif bit.apart_mm_from(left) > _TIP * half_mm:
            found.append(Web(kind="tip", place=bit.inner_point(), width_mm=width))
    return found
