"""Long slender members: how far a light push sets them aside while the layer is glued down."""

from __future__ import annotations

from collections.abc import Sequence

from glasswork.framing.ends import ends_held
from glasswork.model.frame import Board, Level, Made, MemberMade, WeakPlace
from glasswork.model.geometry import path_length_mm, point_along
from glasswork.model.window import Role, Window
from glasswork.planar import AreaSet

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
    free_end: bool = False,
    push_n: float = PUSH_N,
) -> float:
    """Deflection of a strip pushed in the plane of the board, I = t·w³ / 12.

    Both ends fixed, pushed at the middle: δ = F·L³ / (192·E·I). One end free and pushed there:
    δ = F·L³ / (3·E·I).
    Source: [gere-beams]
    """
    second_moment = thickness_mm * width_mm**3 / 12.0
    stiffness = 3.0 if free_end else 192.0
    return push_n * length_mm**3 / (stiffness * modulus_mpa * second_moment)


def slender_members(
    window: Window,
    made: Sequence[MemberMade],
    board: Board,
    *,
    leads: AreaSet,
    limit_mm: float = SAG_LIMIT_MM,
) -> tuple[WeakPlace, ...]:
    """Cut members that a light push sets aside by more than the limit, worst first."""
    cut = [
        i
        for i, (member, item) in enumerate(zip(window.members, made, strict=True))
        if item.made is Made.CUT and (len(member.centreline) > 1 or member.role is Role.BORDER)
    ]
    held = ends_held(window, leads, cut)
    found = []
    for i in cut:
        member = window.members[i]
        if member.role is Role.BORDER:
            continue
        sag = sag_mm(
            path_length_mm(member.centreline),
            member.width_mm,
            thickness_mm=board.thickness_mm,
            modulus_mpa=board.modulus_mpa,
            free_end=held[i] < 2,
        )
        if sag > limit_mm:
            found.append(
                WeakPlace(
                    kind="slender",
                    level=Level.INNER,
                    place=point_along(member.centreline, 0.5),
                    value=sag,
                    limit=limit_mm,
                    member=member.id,
                )
            )
    return tuple(sorted(found, key=lambda weak: -weak.value))
