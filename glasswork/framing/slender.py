"""Long slender members: how far a light push sets them aside while the layer is glued down."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from glasswork.model.frame import Board, Level, Made, MemberMade, WeakPlace
from glasswork.model.geometry import Point, path_length_mm
from glasswork.model.window import Role, Window

PUSH_N = 0.5
"""A brush or fingertip on the edge of a strip; chosen for this project."""
SAG_LIMIT_MM = 0.25
"""As much as the pins leave free."""


def sag_mm(
    length_mm: float,
    width_mm: float,
    *,
    thickness_mm: float,
    modulus_mpa: float,
    push_n: float = PUSH_N,
) -> float:
    """Deflection at the middle of a strip held at both ends, pushed in the plane of the board.

    δ = F·L³ / (192·E·I), I = t·w³ / 12: a beam with both ends fixed and a point load at midspan.
    Source: [gere-beams]
    """  # fmt: skip
    second_moment = thickness_mm * width_mm**3 / 12.0
    return push_n * length_mm**3 / (192.0 * modulus_mpa * second_moment)


def slender_members(
    window: Window, made: Sequence[MemberMade], board: Board, *, limit_mm: float = SAG_LIMIT_MM
) -> tuple[WeakPlace, ...]:
    """Cut members that a light push sets aside by more than the limit, worst first."""
    found = []
    for member, item in zip(window.members, made, strict=True):
        if item.made is not Made.CUT or member.role is Role.BORDER or len(member.centreline) < 2:
            continue
        sag = sag_mm(
            path_length_mm(member.centreline),
            member.width_mm,
            thickness_mm=board.thickness_mm,
            modulus_mpa=board.modulus_mpa,
        )
        if sag > limit_mm:
            found.append(
                WeakPlace(
                    kind="slender",
                    level=Level.INNER,
                    place=_middle(member.centreline),
                    value=sag,
                    limit=limit_mm,
                    member=member.id,
                )
            )
    return tuple(sorted(found, key=lambda weak: -weak.value))


def _middle(line: Sequence[Point]) -> Point:
    """The point halfway along a line."""
    left = path_length_mm(tuple(line)) / 2.0
    for (ax, ay), (bx, by) in pairwise(line):
        step = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        if step > 0.0 and step >= left:
            share = left / step
            return (ax + (bx - ax) * share, ay + (by - ay) * share)
        left -= step
    return line[-1]
