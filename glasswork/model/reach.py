"""What stacks of film can reach, as data to draw or keep."""

from __future__ import annotations

import msgspec

Pair = tuple[float, float]
Triple = tuple[float, float, float]


class Slice(msgspec.Struct, frozen=True, kw_only=True):
    """The reach of one count of films at one lightness.

    outline_ab : a*, b* of the strongest colour at even steps of hue, from 0° on; empty where no
        grey of this lightness can be made
    """

    films: int
    lightness: float
    outline_ab: tuple[Pair, ...]


class GlassReach(msgspec.Struct, frozen=True, kw_only=True):
    """A palette glass against the reach.

    srgb : code values 0-1 that show its colour
    delta_e00 : what is missed with each count of films, in the order of `Reach.counts`
    """

    id: str
    title: str
    lab: Triple
    srgb: Triple
    delta_e00: tuple[float, ...]


class Reach(msgspec.Struct, frozen=True, kw_only=True):
    """What 1, 2, 3 films of a printer reach before a light. CIELAB relative to the lit clear stack.

    limit : ΔE00 up to which a glass is in reach
    """

    printer: str
    light: str
    palette: str
    counts: tuple[int, ...]
    limit: float
    slices: tuple[Slice, ...]
    glasses: tuple[GlassReach, ...]
