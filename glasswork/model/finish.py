"""How the glass of a window looks close to: surface, painted shading, resolution."""

from __future__ import annotations

from typing import Final, Literal, get_args

from msgspec import Struct

from glasswork.errors import ProfileError

Finish = Literal[
    "clear",
    "cathedral",
    "seedy",
    "streaky",
    "wispy",
    "hammered",
    "rippled",
    "opal",
    "antique",
]
FINISHES: Final[tuple[Finish, ...]] = get_args(Finish)
"""Surfaces by their trade words."""

BY_PALETTE: Final = "palette"
"""Each glass has the finish that its palette names."""

FINEST_DPI: Final = 1200
COARSEST_DPI: Final = 300


class FinishSettings(Struct, frozen=True, kw_only=True):
    """What is asked of the glass pictures.

    finish : "palette", or one trade word for every pane; "clear" leaves the panes flat
    dpi : resolution of the printed pictures, 300 to 1200
    seed : another number, another cut of the same kind of glass
    matting : darkening painted along the leads, 0 none to 1 heavy
    stipple : how far the matting is broken up by a stippling brush, 0 to 1
    strength : multiplies the contrast of every finish, 0 to 2
    """

    finish: str = BY_PALETTE
    dpi: int = 600
    seed: int = 1
    matting: float = 0.0
    stipple: float = 0.0
    strength: float = 1.0

    def __post_init__(self) -> None:
        if self.finish != BY_PALETTE:
            check_finish(self.finish, where="finish")
        if not COARSEST_DPI <= self.dpi <= FINEST_DPI:
            raise ProfileError(
                "dpi",
                f"{self.dpi} dpi is not between {COARSEST_DPI} and {FINEST_DPI}",
                "600 suits an inkjet printer",
            )
        for name, value, most in (
            ("matting", self.matting, 1.0),
            ("stipple", self.stipple, 1.0),
            ("strength", self.strength, 2.0),
        ):
            if not 0.0 <= value <= most:
                raise ProfileError(
                    name, f"{value:g} is not between 0 and {most:g}", "keep within them"
                )


def check_finish(name: str, *, where: str) -> str:
    """The name, if it is a finish.

    Raises: ProfileError listing the finishes, if it is none
    """
    if name not in FINISHES:
        raise ProfileError(
            where, f'"{name}" is no finish of glass', f"choose one of: {', '.join(FINISHES)}"
        )
    return name
