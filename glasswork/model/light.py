"""The light behind the panel."""

from __future__ import annotations

from msgspec import Struct


class Light(Struct, frozen=True, kw_only=True):
    """A light source and the diffuser before it.

    spectrum : relative spectral power, 380-730 nm by 10 nm, 36 values
    diffuser : spectral transmittance of the diffuser, same grid, or empty for a neutral one
    fine : the spectrum as tabulated, 380-780 nm by 5 nm, 81 values; or empty if only the coarse
        one is known. Narrow lines need it
    """

    name: str
    title: str
    spectrum: tuple[float, ...]
    diffuser: tuple[float, ...] = ()
    source: str = ""
    fine: tuple[float, ...] = ()
