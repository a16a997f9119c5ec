"""Glasses to choose from."""

from __future__ import annotations

from msgspec import Struct


class Glass(Struct, frozen=True, kw_only=True):
    """A palette entry. Exactly one of srgb, lab and transmittance says its colour.

    id : short name used in files, e.g. "ruby"
    title : name for people
    srgb : "#rrggbb", seen on a display whose white is the lit clear stack
    lab : CIELAB relative to the lit clear stack
    transmittance : spectral, 380-730 nm by 10 nm, 36 values 0-1, relative to clear glass
    finish : surface by its trade word, e.g. "cathedral"
    """

    id: str
    title: str
    srgb: str | None = None
    lab: tuple[float, float, float] | None = None
    transmittance: tuple[float, ...] | None = None
    finish: str = "clear"
    note: str = ""


class Palette(Struct, frozen=True, kw_only=True):
    """Named glasses, each id once; at least one."""

    name: str
    title: str
    glasses: tuple[Glass, ...]
    invented: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        if len({glass.id for glass in self.glasses}) != len(self.glasses) or not self.glasses:
            raise ValueError("a palette needs glasses, each id once")

    def glass(self, glass_id: str) -> Glass:
        """Raises: KeyError, if the palette has no such glass"""
        for glass in self.glasses:
            if glass.id == glass_id:
                return glass
        raise KeyError(glass_id)
