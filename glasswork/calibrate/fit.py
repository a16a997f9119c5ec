"""Readings become a printer profile, with what is known of its error."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from glasswork.calibrate.findings import (
    Spread,
    Wishes,
    fit_findings,
    ink_findings,
    reading_findings,
    spread_of,
    turning_ink,
)
from glasswork.calibrate.gather import Gathered, gather, printed_spectra
from glasswork.calibrate.inks import InkFit
from glasswork.calibrate.lattice import FilmFit, Lattice, fit_film, make_lattice
from glasswork.calibrate.physics import BASE_UNKNOWN, Floats, Physics
from glasswork.cielab import delta_e00
from glasswork.errors import CalibrationError
from glasswork.model.film import PrinterProfile
from glasswork.model.finding import Finding
from glasswork.model.reading import Readings

__all__ = ["Calibration", "Spread", "Wishes", "calibrate", "renamed", "spread_of"]

FOLDS: Final = 5
INDEX: Final = 1.573
"""Of polyester film [zhang2020]."""
FILMS: Final = (1, 2, 3)
REFUSED_MEAN: Final = 8.0
MOST_BETWEEN: Final = 200


class Calibration(Struct, frozen=True, kw_only=True, eq=False):
    """A profile, and how far to trust it.

    error : for one, two and three films: prediction of patches between the nodes that the fit
        did not see, five-fold. It tells of interpolation and noise; a camera's own colour error
        it cannot see
    stack : for each number of films over one that was read: what was seen against what the
        profile says, through the same eyes; None for instruments that read one film
    former : how far the profile that was there before is off these readings
    ramps : what the report draws: axis, then (device value, ink seen 0-1)
    residual : (patches,) difference of each patch between the nodes, cross-validated, one film
    """

    profile: PrinterProfile
    kind: str
    error: tuple[Spread, ...]
    stack: tuple[tuple[int, float], ...]
    former: Spread | None
    device: Floats
    printed: Floats
    checked: Floats
    residual: Floats
    findings: tuple[Finding, ...]
    readings: tuple[Readings, ...]
    strip: str
    created: str
    physics_light: str


def calibrate(
    readings: Sequence[Readings],
    *,
    name: str,
    created: str,
    physics: Physics,
    wishes: Wishes | None = None,
    former: PrinterProfile | None = None,
) -> Calibration:
    """A printer profile from readings of its strip.

    readings : all of one kind, of one or more films
    name : of the profile, as its file is called
    created : date, ISO 8601, given by the caller
    former : the profile used so far, for what the readings do not tell and for comparison
    Raises: CalibrationError, if the readings make no profile that could be trusted
    """
    wishes = wishes or Wishes()
    gathered = gather(readings)
    where = ", ".join(dict.fromkeys(r.source for r in readings if r.source)) or name
    index = wishes.index or (former.index if former else INDEX)
    base = np.array(wishes.base or (former.base if former else BASE_UNKNOWN), dtype=float)
    _check_values(gathered, where)
    printed, inks = printed_spectra(gathered, physics=physics, base=base, index=index)
    bare = np.ones((1, gathered.device.shape[1])) * (1.0 if gathered.colorant == "rgb" else 0.0)
    lattice = make_lattice(
        np.concatenate((gathered.device, bare)),
        np.concatenate((printed, np.ones((1, printed.shape[1])))),
        where=where,
    )
    off = _between(lattice, gathered.device)
    device, spectra = gathered.device[off], printed[off]
    weight = np.max([s.weight for s in gathered.sets], axis=0)[off]
    some = _some(len(device))
    fit = fit_film(
        lattice,
        device[some],
        spectra[some],
        weight[some],
        physics=physics,
        base=base,
        index=index,
    )
    residuals = _cross_validated(fit, device, spectra, weight, physics, base, index)
    error = tuple(spread_of(row[weight > 0.3]) for row in residuals) if len(device) else ()
    if error and error[0].mean > REFUSED_MEAN:
        raise CalibrationError(
            where,
            f"the readings do not fit together: patches are predicted with a mean ΔE00 of "
            f"{error[0].mean:.1f}, at most {REFUSED_MEAN:g}",
            "is this the right strip and file? are device values on the right scale?",
        )
    profile = _profile(
        fit, gathered, wishes, former, name=name, created=created, base=base, index=index
    )
    findings = (
        *fit_findings(gathered, error, inks, lattice),
        *reading_findings(readings),
        *ink_findings(profile, wishes, former, turning_ink(lattice, gathered.colorant)),
    )
    return Calibration(
        profile=profile,
        kind=gathered.kind,
        error=error,
        stack=_stack_check(gathered, inks, printed, physics, base, index),
        former=_former_error(former, gathered, printed, physics, base, index),
        device=gathered.device,
        printed=printed,
        checked=device,
        residual=residuals[0] if len(device) else np.zeros(0),
        findings=findings,
        readings=tuple(readings),
        strip=gathered.strip,
        created=created,
        physics_light=physics.light,
    )


def _check_values(gathered: Gathered, where: str) -> None:
    """Something other than a strip reads as noise: more ink must be darker, by and large."""
    ink = (1.0 - gathered.device if gathered.colorant == "rgb" else gathered.device).sum(axis=1)
    values = gathered.sets[0].values
    light = values.mean(axis=1)
    if gathered.kind == "lab":
        light = values[:, 0]
    if gathered.kind == "density":
        light = -light
    known = np.isfinite(light)
    ranks = np.argsort(np.argsort(ink[known])), np.argsort(np.argsort(light[known]))
    tie = float(np.corrcoef(*ranks)[0, 1])
    if not tie < -0.4:
        raise CalibrationError(
            where,
            f"more ink does not read darker (rank correlation {tie:+.2f}, wanted below -0.4)",
            "is this the strip that was printed? are the values of the kind that the file says?",
        )


def _some(patches: int) -> np.ndarray:
    """Evenly spread rows, at most so many: curves and n need no more."""
    step = max(1, patches // MOST_BETWEEN)
    return np.arange(0, patches, step)


def _between(lattice: Lattice, device: Floats) -> np.ndarray:
    """Which patches are no nodes."""
    on = np.ones(len(device), dtype=bool)
    for axis, levels in enumerate(lattice.levels):
        on &= np.abs(device[:, [axis]] - np.array(levels)).min(axis=1) < 0.003
    return ~on


def _cross_validated(
    fit: FilmFit,
    device: Floats,
    spectra: Floats,
    weight: Floats,
    physics: Physics,
    base: Floats,
    index: float,
) -> Floats:
    """ΔE00 of each patch where the fit did not see it, (films, patches)."""
    found = np.zeros((len(FILMS), len(device)))
    fold = np.arange(len(device)) % FOLDS
    for part in range(FOLDS):
        out = fold == part
        if not out.any():
            continue
        one = fit_film(
            fit.lattice,
            device[~out][(some := _some(int((~out).sum())))],
            spectra[~out][some],
            weight[~out][some],
            physics=physics,
            base=base,
            index=index,
            start=fit,
            rounds=2,
        )
        seen = np.clip(one.film.transmittance(device[out]), 0.0, 1.0)
        for row, films in enumerate(FILMS):
            found[row, out] = delta_e00(
                physics.lab(seen, films, base=base, index=index),
                physics.lab(spectra[out], films, base=base, index=index),
            )
    return found


def _stack_check(
    gathered: Gathered,
    inks: InkFit | None,
    printed: Floats,
    physics: Physics,
    base: Floats,
    index: float,
) -> tuple[tuple[int, float], ...]:
    """For stacks that were read: how far the model of the stack is off, in L*-like units."""
    rows = []
    for place, seen in enumerate(gathered.sets):
        if inks is not None:
            known = inks.residual[place][seen.weight > 0.3]
            rows.append((seen.films, float(116.0 * np.sqrt((known**2).mean()))))
        elif place:
            said = physics.stacked(printed, seen.films, base=base, index=index)
            off = np.cbrt(np.clip(said, 0, 1)) - np.cbrt(np.clip(seen.values, 0, 1))
            rows.append((seen.films, float(116.0 * np.sqrt(np.nanmean(off**2)))))
    return tuple(rows)


def _former_error(
    former: PrinterProfile | None,
    gathered: Gathered,
    printed: Floats,
    physics: Physics,
    base: Floats,
    index: float,
) -> Spread | None:
    if former is None or former.device != gathered.colorant or former.bands != "spectral":
        return None
    film = physics.make_film(
        former.levels, former.nodes, curves=former.curves, n=former.n, where=former.name
    )
    said = np.clip(film.transmittance(gathered.device), 0.0, 1.0)
    return spread_of(
        np.asarray(
            delta_e00(
                physics.lab(said, 1, base=base, index=index),
                physics.lab(printed, 1, base=base, index=index),
            )
        )
    )


def _profile(
    fit: FilmFit,
    gathered: Gathered,
    wishes: Wishes,
    former: PrinterProfile | None,
    *,
    name: str,
    created: str,
    base: Floats,
    index: float,
) -> PrinterProfile:
    axes = gathered.device.shape[1]
    scale, unsure = _print_scale(wishes, former)
    limit = wishes.ink_limit or (former.ink_limit if former else min(2.6, float(axes)))
    turns = turning_ink(fit.lattice, gathered.colorant)
    if wishes.ink_limit is None and turns is not None:
        limit = min(limit, turns)
    how = {
        "spectral": "spectra",
        "camera": "camera bands; spectra stood in for by plausible inks",
        "xyz": "tristimulus values; spectra stood in for by plausible inks",
        "lab": "CIELAB; spectra stood in for by plausible inks",
        "density": "Status A densities; spectra stood in for by plausible inks",
    }[gathered.kind]
    counts = ", ".join(str(s.films) for s in gathered.sets)
    source = (
        f"measured {created[:10]}: {len(gathered.device)} colours, {how}; films read: {counts}"
        + (f"; strip {gathered.strip}" if gathered.strip else "")
    )
    return PrinterProfile(
        name=name,
        title=wishes.title or (former.title if former and not former.invented else name),
        device=gathered.colorant,
        levels=fit.lattice.levels,
        nodes=np.clip(fit.lattice.nodes, 0.0, 1.0),
        curves=fit.curves,
        n=fit.n,
        base=tuple(base.tolist()),
        index=index,
        ink_limit=min(limit, float(axes)),
        print_scale=scale,
        print_scale_uncertainty=unsure,
        film_thickness_mm=wishes.film_thickness_mm or (former.film_thickness_mm if former else 0.1),
        unprintable_mm=wishes.unprintable_mm
        or (former.unprintable_mm if former else (4.0, 4.0, 4.0, 7.0)),
        settings=wishes.settings or (former.settings if former else ()),
        invented=False,
        source=source,
        bands="spectral",
    )


def _print_scale(
    wishes: Wishes, former: PrinterProfile | None
) -> tuple[tuple[float, float], float]:
    """Printed over nominal length, and how sure: a rule read to 0.1 mm in 100."""
    if wishes.rule_mm is None:
        return (
            (former.print_scale, former.print_scale_uncertainty) if former else ((1.0, 1.0), 0.002)
        )
    for axis, length in zip(("across", "along the feed"), wishes.rule_mm, strict=True):
        if not 95.0 <= length <= 105.0:
            raise CalibrationError(
                "rule_mm",
                f"the 100 mm rule {axis} measures {length:g} mm, not between 95 and 105",
                "print at 100 %, not fitted to the page; measure long end tick to long end tick",
            )
    return (wishes.rule_mm[0] / 100.0, wishes.rule_mm[1] / 100.0), 0.001


def renamed(calibration: Calibration, name: str) -> Calibration:
    """The same with its profile called otherwise."""
    return replace(calibration, profile=replace(calibration.profile, name=name))
