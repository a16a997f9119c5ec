"""Lights that starve a glass: too little power where the glass lets light through."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from glasswork.colour.light import describe_light, fine_power
from glasswork.colour.spectra import FINE_NM, WAVELENGTHS_NM, Floats
from glasswork.model.finding import Finding, Severity
from glasswork.model.light import Light
from glasswork.model.palette import Glass

STARVED: Final = 0.8
"""A glass is starved when its light sends less than this share of what an even light would.

A choice, not a standard: with it a warm white LED starves cobalt and a cool one starves ruby.
"""

SERVED: Final = 0.85
"""A light serves a glass from this share on."""


def supply(transmittance: Floats, light: Light) -> Floats:
    """Power the light sends through, against an even light of the same visible power.

    transmittance : (..., 36) of glass or stack, relative to clear
    Returns: (...) about 1; 0.5 where the light sends half of what an even light would
    """
    power = np.interp(WAVELENGTHS_NM, FINE_NM, fine_power(light))
    seen = (WAVELENGTHS_NM >= 410.0) & (WAVELENGTHS_NM <= 680.0)
    t = np.asarray(transmittance, dtype=float)[..., seen]
    lamp, total = power[seen], float(seen.sum())
    return np.asarray((t @ lamp) / t.sum(axis=-1) / (lamp.sum() / total))


def serving_light(transmittance: Floats, light: Light, others: Sequence[Light]) -> Light | None:
    """The light that serves a glass and lies nearest in colour temperature to the present one."""
    here, _ = describe_light(light)
    served = [other for other in others if float(supply(transmittance, other)) >= SERVED]
    if not served:
        return None

    def away(other: Light) -> float:
        kelvin, _ = describe_light(other)
        return abs(1e6 / (kelvin or 1e4) - 1e6 / (here or 1e4))

    return min(served, key=away)


def starved_band(transmittance: Floats) -> str:
    """Where a glass lets most through: "blue", "green" or "red"."""
    t = np.asarray(transmittance, dtype=float)
    nm = WAVELENGTHS_NM
    bands = {"blue": (410, 490), "green": (490, 580), "red": (580, 680)}
    means = {name: float(t[(nm >= a) & (nm < b)].mean()) for name, (a, b) in bands.items()}
    return max(means, key=lambda name: means[name])


def starved_glasses(
    glasses: Sequence[Glass], through: Floats, light: Light, others: Sequence[Light]
) -> tuple[Finding, ...]:
    """A warning for the glasses a light starves, with the light that would serve them.

    through : (glasses, 36) transmittance of the printed stacks relative to the clear one
    others : lights to choose from; none gives a general hint
    """
    share = supply(through, light)
    poor = np.flatnonzero(share < STARVED)
    if not len(poor):
        return ()
    worst = int(poor[share[poor].argmin()])
    band = starved_band(through[worst])
    other = serving_light(through[worst], light, others)
    if other is not None:
        hint = f"{other.name} would serve them: {other.title}"
    elif band == "red":
        hint = "a warmer light would serve them, or one with more red in it"
    else:
        hint = "a light of 4000 K or more would serve them"
    names = ", ".join(glasses[int(i)].id for i in poor)
    return (
        Finding(
            severity=Severity.WARNING,
            where=f"light {light.name}",
            what=f"has little {band} and starves {names}: {glasses[worst].id} gets "
            f"{100.0 * share[worst]:.0f} % of what an even light would send, "
            f"{100.0 * STARVED:.0f} % is the limit",
            hint=hint,
        ),
    )
