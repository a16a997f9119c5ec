"""Does a profile still hold? A quick strip says so, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from glasswork.calibrate.fit import Spread, spread_of
from glasswork.calibrate.gather import gather, printed_spectra
from glasswork.calibrate.physics import Film, Floats, Physics
from glasswork.calibrate.shapes import common_inks
from glasswork.cielab import delta_e00
from glasswork.errors import CalibrationError
from glasswork.model.film import PrinterProfile
from glasswork.model.reading import Readings

HOLDS_MEAN: Final = 2.0
HOLDS_P95: Final = 4.0
"""Good for print [johnthemathguy]; twice that for single patches [common practice]."""
_SURE: Final = (0.05, 0.12)
"""Change of an ink's density that an instrument, and that a camera, is sure of: unchanged
simulated printers read within 0.01 and 0.11."""
_INKS: Final = {
    "rgb": ("cyan", "magenta", "yellow"),
    "cmyk": ("cyan", "magenta", "yellow", "black"),
}


class Drift(Struct, frozen=True, kw_only=True, eq=False):
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
            profile.name,
            f"is for {profile.device}, the readings are {gathered.colorant}",
            "read a strip that was printed as the profile says",
        )
    if profile.bands != "spectral":
        raise CalibrationError(
            profile.name, "knows camera bands only", "calibrate anew: profiles now hold spectra"
        )
    base = np.array(profile.base)
    film = physics.make_film(
        profile.levels, profile.nodes, curves=profile.curves, n=profile.n, where=profile.name
    )
    printed, _ = printed_spectra(
        gathered,
        physics=physics,
        base=base,
        index=profile.index,
        solids=_known_inks(film, profile.device),
    )
    said = np.clip(film.transmittance(gathered.device), 0.0, 1.0)
    now = physics.lab(printed, 1, base=base, index=profile.index)
    before = physics.lab(said, 1, base=base, index=profile.index)
    off = delta_e00(now, before)
    difference = spread_of(off)
    inks = _ink_ratios(gathered.device, printed, said, physics.weights, profile.device)
    lightness = float((now - before)[:, 0].mean())
    worst = np.argsort(-off)[:5]
    return Drift(
        holds=difference.mean <= HOLDS_MEAN and difference.p95 <= HOLDS_P95,
        difference=difference,
        inks=inks,
        lightness=lightness,
        changed=_sentences(inks, lightness, _SURE[gathered.kind == "camera"]),
        worst=tuple((tuple(gathered.device[i].tolist()), float(off[i])) for i in worst),
    )


def _known_inks(film: Film, colorant: str) -> Floats:
    """Densities of the profile's inks where solid, (4, 36); black of RGB as it commonly is."""
    axes = 3 if colorant == "rgb" else 4
    ink = np.eye(axes)
    printed = np.clip(film.transmittance(1.0 - ink if colorant == "rgb" else ink), 1e-4, 1.0)
    solids = -np.log10(printed)
    return solids if axes == 4 else np.vstack((solids, common_inks()[3:]))


def _ink_ratios(
    device: Floats, now: Floats, before: Floats, weights: Floats, colorant: str
) -> tuple[tuple[str, float], ...]:
    """Density now over density before where one ink prints alone.

    Cyan is weighed by X, magenta and black by Y, yellow by Z: bands that a camera knows too,
    whereas a density at one wavelength would be a guess where spectra are stood in for.
    """
    ink = 1.0 - device if colorant == "rgb" else device
    bands = weights / weights.sum(axis=0)
    found = []
    for axis, name in enumerate(_INKS[colorant]):
        others = np.delete(ink, axis, axis=1).max(axis=1)
        alone = (others < 0.01) & (ink[:, axis] > 0.2)
        if not alone.any():
            continue
        band = bands[:, {"cyan": 0, "magenta": 1, "yellow": 2, "black": 1}[name]]
        new, old = (-np.log10(np.maximum(t[alone] @ band, 1e-5)).sum() for t in (now, before))
        found.append((name, float(new / max(old, 1e-6))))
    return tuple(found)


def _sentences(inks: Sequence[tuple[str, float]], lightness: float, sure: float) -> tuple[str, ...]:
    found = [
        f"{name} prints {abs(ratio - 1.0):.0%} {'denser' if ratio > 1.0 else 'thinner'} than it did"
        for name, ratio in inks
        if abs(ratio - 1.0) > sure
    ]
    if abs(lightness) > 1.0:
        found.append(
            f"all in all {'lighter' if lightness > 0 else 'darker'} by {abs(lightness):.1f} L*"
        )
    return tuple(found) or (f"no ink changed by more than {sure:.0%}",)
