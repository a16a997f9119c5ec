"""Does a profile still hold? A quick strip says so, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from glasswork.calibrate.fit import Spread, spread_of
from glasswork.calibrate.gather import gather, printed_spectra
from glasswork.calibrate.physics import Floats, Physics
from glasswork.errors import CalibrationError
from glasswork.model.film import PrinterProfile
from glasswork.model.reading import Readings

HOLDS_MEAN: Final = 2.0
HOLDS_P95: Final = 4.0
"""Good for print [johnthemathguy]; twice that for single patches [common practice]."""
_INKS: Final = {
    "rgb": ("cyan", "magenta", "yellow"),
    "cmyk": ("cyan", "magenta", "yellow", "black"),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drift:
    """What a quick strip says of a profile.

    difference : ΔE00 of one film, read against predicted
    inks : for each ink the density it has now over the density it had
    lightness : mean step of L*: positive prints lighter
    changed : the same in sentences
    """

    holds: bool
    difference: Spread
    inks: tuple[tuple[str, float], ...]
    lightness: float
    changed: tuple[str, ...]
    worst: tuple[tuple[tuple[float, ...], float], ...]


def check(readings: Sequence[Readings], profile: PrinterProfile, *, physics: Physics) -> Drift:
    """Compare readings of a strip, quick or whole, with what a profile predicts.

    Raises: CalibrationError, if the readings and the profile are of unlike kinds
    """
    gathered = gather(readings)
    if gathered.colorant != profile.device:
        raise CalibrationError(
            profile.name, f"is for {profile.device}, the readings are {gathered.colorant}", ""
        )
    if profile.bands != "spectral":
        raise CalibrationError(
            profile.name, "knows camera bands only", "calibrate anew: profiles now hold spectra"
        )
    base = np.array(profile.base)
    printed, _ = printed_spectra(gathered, physics=physics, base=base, index=profile.index)
    film = physics.make_film(
        profile.levels, profile.nodes, curves=profile.curves, n=profile.n, where=profile.name
    )
    said = np.clip(film.transmittance(gathered.device), 0.0, 1.0)
    now = physics.lab(printed, 1, base=base, index=profile.index)
    before = physics.lab(said, 1, base=base, index=profile.index)
    off = np.asarray(physics.delta_e00(now, before))
    difference = spread_of(off)
    inks = _ink_ratios(gathered.device, printed, said, profile.device)
    lightness = float((now - before)[:, 0].mean())
    worst = np.argsort(-off)[:5]
    return Drift(
        holds=difference.mean <= HOLDS_MEAN and difference.p95 <= HOLDS_P95,
        difference=difference,
        inks=inks,
        lightness=lightness,
        changed=_sentences(inks, lightness),
        worst=tuple((tuple(gathered.device[i].tolist()), float(off[i])) for i in worst),
    )


def _ink_ratios(
    device: Floats, now: Floats, before: Floats, colorant: str
) -> tuple[tuple[str, float], ...]:
    """Density now over density before where one ink prints alone, at its own peak."""
    ink = 1.0 - device if colorant == "rgb" else device
    found = []
    for axis, name in enumerate(_INKS[colorant]):
        others = np.delete(ink, axis, axis=1).max(axis=1)
        alone = (others < 0.01) & (ink[:, axis] > 0.2)
        if not alone.any():
            continue
        old = -np.log10(np.maximum(before[alone], 1e-5))
        new = -np.log10(np.maximum(now[alone], 1e-5))
        peak = old.sum(axis=0) > 0.7 * old.sum(axis=0).max()
        found.append((name, float(new[:, peak].sum() / max(old[:, peak].sum(), 1e-6))))
    return tuple(found)


def _sentences(inks: Sequence[tuple[str, float]], lightness: float) -> tuple[str, ...]:
    found = [
        f"{name} prints {abs(ratio - 1.0):.0%} {'denser' if ratio > 1.0 else 'thinner'} than it did"
        for name, ratio in inks
        if abs(ratio - 1.0) > 0.05
    ]
    if abs(lightness) > 1.0:
        found.append(
            f"all in all {'lighter' if lightness > 0 else 'darker'} by {abs(lightness):.1f} L*"
        )
    return tuple(found) or ("no ink changed by more than 5 %",)
