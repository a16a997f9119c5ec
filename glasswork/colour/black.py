"""Printed leads: black as far as the ink limit lets a film go, and what that black is worth."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.colour.describe import describe_glass
from glasswork.colour.film import ink_load
from glasswork.colour.predict import StackModel, make_stack
from glasswork.colour.quantise import quantise
from glasswork.colour.solve import solve
from glasswork.colour.spectra import triple
from glasswork.model.film import FilmBlack, PrinterProfile, Separation
from glasswork.model.finding import Finding, Severity
from glasswork.model.light import Light
from glasswork.model.words import counted

THIN: Final = 1.7
"""Visual density below which a lead looks grey against the light: 2 % passes, CIELAB L* 15
(chosen here)."""


def printed_black(profile: PrinterProfile, light: Light, *, films: int) -> FilmBlack:
    """The colour nearest to black that films alike can carry within the ink limit.

    All the ink a driver can lay is more than most films take: it puddles and does not dry. Where
    the limit binds, the darkest colour would be a deep blue; the nearest to black is a grey one.
    """
    model = make_stack(profile, light, films)
    black = np.zeros((1, 3))
    solved = solve(model, black, hold_hue=1.0)
    codes = quantise(model, solved.device, black, solved.miss)[0]
    return black_of(model, codes)


def black_of(model: StackModel, codes: NDArray[np.int64]) -> FilmBlack:
    """Leads of given device values. codes : (values,) 0-255, the same on every film"""
    told = describe_glass(model, codes / 255.0)
    r, g, b = (int(code) for code in codes)
    return FilmBlack(
        device=((r, g, b),) * model.films,
        status_a=triple(told.stack_density[:3]),
        visual=float(told.stack_density[3]),
        lit_srgb=triple(told.lit_srgb),
        ink_load=float(ink_load(codes / 255.0, kind=model.kind)),
    )


def grey_leads(separation: Separation, profile: PrinterProfile) -> tuple[Finding, ...]:
    """For a panel with printed leads: whether they will look grey."""
    black = separation.black
    if black.visual >= THIN:
        return ()
    films = counted(separation.count, "film")
    return (
        Finding(
            severity=Severity.WARNING,
            where="printed leads",
            what=f"let {100.0 * 10.0**-black.visual:.0f} % of the light through: density "
            f"{black.visual:.1f} on {films} within the ink limit of "
            f"{100.0 * profile.ink_limit:.0f} %, {THIN:g} looks black",
            hint="stack one more film, draw the leads wide enough to be cut, or raise ink_limit "
            "in the profile if the strip's square with more ink dries well",
        ),
    )
