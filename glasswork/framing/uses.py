"""How the members of each role are made: printed, cut, or raised, on which face."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from msgspec import Struct

from glasswork.errors import FrameError, GlassworkError, raise_all
from glasswork.model.frame import Face
from glasswork.model.project import LayerUse
from glasswork.model.window import Role, Window

USES: tuple[str, ...] = get_args(LayerUse)
_USUAL = {Role.BORDER: "raised", Role.MULLION: "raised", Role.BAR: "inner", Role.LEAD: "inner"}


class RoleUses(Struct, frozen=True, kw_only=True):
    """printed : roles never cut · raised : roles of each face's outer layer"""

    printed: frozenset[Role]
    raised: Mapping[Face, frozenset[Role]]

    def wished(self, window: Window, members: Mapping[str, str]) -> dict[str, str]:
        """The maker's wishes for single members, after those for their roles."""
        by_role = {m.id: "printed" for m in window.members if m.role in self.printed}
        return by_role | dict(members)


def role_uses(uses: Mapping[Role, str]) -> RoleUses:
    """uses : role -> one of `USES`; roles not named are made as usual

    Raises: FrameError, or Faults, if a role or a use is unknown, or the border is not raised
    """
    faults: list[GlassworkError] = []
    known = dict(_USUAL)
    for role, use in uses.items():
        if role not in _USUAL or use not in USES:
            wrong, valid = (use, USES) if role in _USUAL else (role.value, tuple(_USUAL))
            faults.append(
                FrameError("frame, layers", f'"{wrong}" is unknown', f"known: {', '.join(valid)}")
            )
        elif role is Role.BORDER and use != "raised":
            faults.append(
                FrameError(
                    "frame, layers",
                    f'the border is given as "{use}", but it carries both outer layers',
                    "leave it raised",
                )
            )
        else:
            known[role] = use
    raise_all(faults)
    return RoleUses(
        printed=frozenset(role for role, use in known.items() if use == "printed"),
        raised={
            face: frozenset(
                role for role, use in known.items() if use in ("raised", f"raised-{face.value}")
            )
            for face in Face
        },
    )
