"""A printer profile, and the separation of glasses onto films made with it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class PrinterProfile(Struct, frozen=True, kw_only=True, eq=False):
    """Printer, ink and film as measured (or invented, and then it says so).

    device : "rgb" or "cmyk"; device values run 0-1 here, rgb 1 = no ink, cmyk 0 = no ink
    levels : lattice steps on each device axis, rising from 0 to 1
    nodes : spectral transmittance of the printed film at each lattice node, relative to the bare
        film and free of face reflections, (levels[0], levels[1], ..., 36), 0-1
    curves : for each device axis, pairs (device value, effective value), both 0-1 and rising
    n : Yule-Nielsen factor, at least 1
    base : internal spectral transmittance of the bare film, 36 values 0-1
    index : refractive index of the film
    ink_limit : most ink a film takes, as the sum over device axes of the ink laid (for rgb,
        sum of 1 - value), in axis units: 2.4 means 240 %
    print_scale : printed length over nominal length, across and along the feed
    film_thickness_mm : thickness of one film
    unprintable_mm : margin of the page that stays white: left, top, right, bottom
    bands : "spectral", or "camera" if only camera bands are known: nodes are then linear sRGB
        relative to the bare film, (levels[0], levels[1], ..., 3)
    """

    name: str
    title: str
    device: str
    levels: tuple[tuple[float, ...], ...]
    nodes: Floats
    curves: tuple[tuple[tuple[float, float], ...], ...]
    n: float
    base: tuple[float, ...]
    index: float
    ink_limit: float
    print_scale: tuple[float, float] = (1.0, 1.0)
    print_scale_uncertainty: float = 0.002
    film_thickness_mm: float = 0.1
    unprintable_mm: tuple[float, float, float, float] = (4.0, 4.0, 4.0, 7.0)
    settings: tuple[str, ...] = ()
    invented: bool = False
    source: str = ""
    bands: str = "spectral"


class GlassOnFilm(Struct, frozen=True, kw_only=True):
    """How one glass is printed, and what it will look like lit.

    device : 8-bit device values, one triple a film, front film first
    target_lab, predicted_lab : CIELAB relative to the lit clear stack
    status_a : Status A density of the stack above the clear stack, red, green, blue
    film_status_a : the same for each film alone
    lit_srgb : preview colour 0-1 linear light, white = lit clear stack
    ink_load : ink on each film, in the unit of PrinterProfile.ink_limit
    in_reach : the target can be met within the limit ΔE00 of the separation
    unlit_srgb : the same by room light with the light behind off
    sentence : what is printed, in words a maker reads
    """

    glass: str
    device: tuple[tuple[int, int, int], ...]
    target_lab: tuple[float, float, float]
    predicted_lab: tuple[float, float, float]
    delta_e00: float
    in_reach: bool
    status_a: tuple[float, float, float]
    visual: float
    film_status_a: tuple[tuple[float, float, float], ...]
    lit_srgb: tuple[float, float, float]
    ink_load: tuple[float, ...]
    unlit_srgb: tuple[float, float, float] = (0.0, 0.0, 0.0)
    sentence: str = ""


class FilmsRow(Struct, frozen=True, kw_only=True):
    """One line of the 1/2/3 table: what this many films would do for the window."""

    count: int
    mean_delta_e00: float
    area_within_3: float


class FilmBlack(Struct, frozen=True, kw_only=True):
    """How printed leads are inked: as near to black as the ink limit lets each film come.

    device : 8-bit device values, one triple a film, front film first
    status_a : Status A density of the stack above the clear stack, red, green, blue
    visual : its visual density
    lit_srgb : linear light 0-1, white = lit clear stack
    ink_load : ink on each film, in the unit of PrinterProfile.ink_limit
    """

    device: tuple[tuple[int, int, int], ...]
    status_a: tuple[float, float, float]
    visual: float
    lit_srgb: tuple[float, float, float]
    ink_load: float


class Separation(Struct, frozen=True, kw_only=True):
    """Every glass of the window on its films.

    black : the printed leads
    throughput : luminous transmittance of the lit clear stack against the bare light, 0-1
    """

    count: int
    identical: bool
    glasses: tuple[GlassOnFilm, ...]
    table: tuple[FilmsRow, ...]
    black: FilmBlack
    throughput: float

    def glass(self, glass_id: str) -> GlassOnFilm:
        """Raises: KeyError, if no pane has this glass"""
        for glass in self.glasses:
            if glass.glass == glass_id:
                return glass
        raise KeyError(glass_id)
