"""The kinds of windows that are drawn, and the one call that draws any of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from difflib import get_close_matches
from functools import partial
from typing import Any

from msgspec import Struct

from glasswork.drawing.drawn.arched import ArchedWindow, arched
from glasswork.drawing.drawn.design import Design
from glasswork.drawing.drawn.heads import SHAPES
from glasswork.drawing.drawn.measures import Setting, built, settings_of
from glasswork.drawing.drawn.roses import RoundWindow, rose, wheel
from glasswork.errors import DrawingError


class Kind(Struct, frozen=True, kw_only=True):
    """A kind of window. params : dataclass of its parameters · make : draws it"""

    name: str
    title: str
    params: type
    make: Callable[..., Design]

    @property
    def settings(self) -> tuple[Setting, ...]:
        """Its parameters: names, kinds, defaults, help, choices and limits."""
        return settings_of(self.params)


def _arched_kind(name: str) -> Kind:
    flat = name == "square"
    return Kind(
        name="casement" if flat else name,
        title="rectangular window: lights of quarries, with or without tracery"
        if flat
        else f"window under an arch: {SHAPES[name].title}",
        params=ArchedWindow,
        make=partial(
            arched, head=name, title="Casement" if flat else f"{name.capitalize()} window"
        ),
    )


KINDS: Mapping[str, Kind] = {
    kind.name: kind
    for kind in (
        *(_arched_kind(name) for name in SHAPES),
        Kind(
            name="rose",
            title="round window: petals in rings, each ring turned against the last",
            params=RoundWindow,
            make=partial(rose, title="Rose window"),
        ),
        Kind(
            name="wheel",
            title="round window: spokes with round arches between them",
            params=RoundWindow,
            make=partial(wheel, title="Wheel window"),
        ),
    )
}


def design(kind: str, /, **params: Any) -> Design:
    """A window drawn, before it is written.

    Raises: DrawingError, if there is no such kind, or a parameter is wrong or leaves no room
    """
    if kind not in KINDS:
        near = get_close_matches(kind, KINDS, n=1)
        hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(KINDS)}"
        raise DrawingError("draw", f'"{kind}" is no kind of window', hint)
    known = KINDS[kind]
    return known.make(built(known.params, params, where=f"draw {kind}"))


def draw(kind: str, /, **params: Any) -> bytes:
    """A window as SVG: panes filled beneath, leads as strokes above, roles as classes.

    params : as in `KINDS[kind].settings`; None counts as not given
    Raises: DrawingError, if there is no such kind, or a parameter is wrong or leaves no room
    """
    return design(kind, **params).svg()
