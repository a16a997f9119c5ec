"""What the maker should know of a calibration, and what the maker says of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from glasswork.calibrate.gather import Gathered
from glasswork.calibrate.inks import InkFit
from glasswork.calibrate.lattice import Lattice
from glasswork.calibrate.physics import Floats
from glasswork.model.film import PrinterProfile
from glasswork.model.finding import Finding, Severity
from glasswork.model.reading import Readings
from glasswork.model.words import counted

SOUND_MEAN: Final = 3.0
SOUND_P95: Final = 6.0
"""Cross-validated error above which a profile is not to be trusted [johnthemathguy], [song2001]."""


class Spread(Struct, frozen=True, kw_only=True):
    """CIEDE2000 over some patches."""

    mean: float
    p95: float
    most: float
    patches: int


def spread_of(values: Floats) -> Spread:
    """Mean, 95th percentile and most of some differences."""
    if not len(values):
        return Spread(mean=0.0, p95=0.0, most=0.0, patches=0)
    return Spread(
        mean=float(values.mean()),
        p95=float(np.percentile(values, 95)),
        most=float(values.max()),
        patches=len(values),
    )


class Wishes(Struct, frozen=True, kw_only=True):
    """What the maker says of the printer, film and fit; each may be left out.

    rule_mm : measured length of the strip's 100 mm rules, across and along the feed
    ink_limit : from the strip's figures, 2.4 for 240 %
    base : internal transmittance of the bare film, 36 values, if an instrument read it
    """

    title: str = ""
    rule_mm: tuple[float, float] | None = None
    ink_limit: float | None = None
    base: tuple[float, ...] = ()
    index: float | None = None
    film_thickness_mm: float | None = None
    unprintable_mm: tuple[float, float, float, float] | None = None
    settings: tuple[str, ...] = ()


def turning_ink(lattice: Lattice, colorant: str) -> float | None:
    """The least ink from which on more ink lets more light through, or None if none does.

    Puddles and inks that run apart look like that; below it more ink is at least not less. A step
    counts if the light grows by a twentieth.
    """
    ink = [1.0 - np.array(axis) if colorant == "rgb" else np.array(axis) for axis in lattice.levels]
    total = np.sum(np.meshgrid(*ink, indexing="ij"), axis=0)
    light = lattice.nodes.mean(axis=-1)
    found: list[float] = []
    for axis in range(light.ndim):
        order = np.argsort(ink[axis])
        rows, ink_rows = np.take(light, order, axis), np.take(total, order, axis)
        grows = np.diff(rows, axis=axis) > 0.05 * np.delete(rows, -1, axis)
        found += np.delete(ink_rows, -1, axis)[grows].tolist()
    return min(found) if found and min(found) >= 1.0 else None


def fit_findings(
    gathered: Gathered, error: tuple[Spread, ...], inks: InkFit | None, lattice: Lattice
) -> list[Finding]:
    """What the fit itself gives to think about."""
    found = []
    if error and (error[0].mean > SOUND_MEAN or error[0].p95 > SOUND_P95):
        found.append(
            Finding(
                severity=Severity.WARNING,
                where="fit",
                what=f"cross-validated ΔE00 {error[0].mean:.1f} mean, {error[0].p95:.1f} p95, over "
                f"{SOUND_MEAN:g} and {SOUND_P95:g}",
                hint="read the strip again, more evenly lit, or with an instrument",
            )
        )
    if inks is not None:
        found.append(
            Finding(
                severity=Severity.NOTE,
                where="fit",
                what="spectra are stood in for by plausible inks: measured were three bands alone, "
                "so the eye's colour is a good guess, best for one and two films",
                hint=""
                if len(gathered.sets) > 1
                else "photos of two and three films make it surer",
            )
        )
    if lattice.filled:
        found.append(
            Finding(
                severity=Severity.WARNING,
                where="lattice",
                what=f"{counted(len(lattice.filled), 'node')} not read, filled in from neighbours",
                hint="read these patches too",
            )
        )
    return found


def reading_findings(readings: Sequence[Readings]) -> list[Finding]:
    """What was noticed while reading."""
    found = []
    for reading in readings:
        for note in reading.notes:
            found.append(Finding(severity=Severity.NOTE, where=reading.source, what=note))
        doubtful = [r for r in reading.remarks if "uneven" in r.what]
        if doubtful:
            names = ", ".join(r.patch for r in doubtful[:8])
            found.append(
                Finding(
                    severity=Severity.WARNING,
                    where=reading.source,
                    what=f"{len(doubtful)} uneven patches count little: {names}",
                    hint="dust, a wet spot or banding; clean the film or print anew",
                )
            )
    return found


def ink_findings(
    profile: PrinterProfile,
    wishes: Wishes,
    former: PrinterProfile | None,
    turns: float | None,
) -> list[Finding]:
    """Where the ink limit and the print scale come from."""
    found = []
    if wishes.ink_limit is None:
        kept = "kept from the former profile" if former else "a usual value"
        if turns is not None and turns <= profile.ink_limit + 1e-9:
            kept = "where more ink begins to let more light through"
        found.append(
            Finding(
                severity=Severity.NOTE,
                where="ink limit",
                what=f"{100 * profile.ink_limit:.0f} % is {kept}",
                hint="judge it by the strip's squares and give it",
            )
        )
    if wishes.rule_mm is None:
        found.append(
            Finding(
                severity=Severity.NOTE,
                where="print scale",
                what="not measured",
                hint="measure the strip's two rules and give their lengths",
            )
        )
    return found
