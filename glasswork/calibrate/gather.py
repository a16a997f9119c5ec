"""Readings brought together: one row a colour, one table for each number of films."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.calibrate.eyes import Eye, typical_camera
from glasswork.calibrate.inks import EMPTY, InkFit, Seen, fit_inks
from glasswork.calibrate.physics import Floats, Physics
from glasswork.cielab import XYZ_OF_SRGB, lab_of_ratios, ratios_of_lab
from glasswork.errors import CalibrationError
from glasswork.model.reading import Readings

_SAME = 1e-3
_LEAST_PATCHES = 20
MANY = 600
"""Colours from which on fewer rounds do: so many patches settle the inks sooner."""


class Gathered(Struct, frozen=True, eq=False):
    """Colours once each, without bare film.

    device : (colours, axes); sets : what was seen of them through 1, 2, 3 films
    repeat : spread of a colour that was read more than once, in cube roots of light, or None
    """

    kind: str
    colorant: str
    device: Floats
    sets: tuple[Seen, ...]
    strip: str
    repeat: float | None
    left_out: int
    slant_deg: float = 0.0


def gather(readings: Sequence[Readings]) -> Gathered:
    """All readings of one printer as one table.

    Raises: CalibrationError, if there are none, kinds or colorants are mixed, strips differ, or
        too few colours are left
    """
    if not readings:
        raise CalibrationError("calibrate", "no readings", "give a photo, a CSV or a CGATS file")
    where = ", ".join(dict.fromkeys(r.source for r in readings if r.source)) or "readings"
    for what, values in (
        ("kinds of reading", {r.kind for r in readings}),
        ("colorants", {r.colorant for r in readings}),
        ("strips", {r.strip for r in readings if r.strip}),
    ):
        if len(values) > 1:
            raise CalibrationError(
                where,
                f"different {what} together: {', '.join(sorted(values))}",
                "give one at a time",
            )
    first = readings[0]
    device = np.concatenate([r.device for r in readings])
    keys, place = np.unique(np.round(device / _SAME).astype(int), axis=0, return_inverse=True)
    place = place.ravel()
    bare = 1.0 if first.colorant == "rgb" else 0.0
    inked = np.asarray(~(np.abs(keys * _SAME - bare) < 2 * _SAME).all(axis=1))
    colours = np.zeros((len(keys), device.shape[1]))
    colours[place] = device
    sets, spreads, at = [], [], 0
    rows_of = []
    for reading in readings:
        rows_of.append(place[at : at + len(reading.device)])
        at += len(reading.device)
    for films in sorted({r.films for r in readings}):
        parts = [(r, rows) for r, rows in zip(readings, rows_of, strict=True) if r.films == films]
        seen, spread = _averaged(parts, len(keys), films)
        spreads += spread
        sets.append(_rows(seen, inked))
    useful = np.zeros(int(inked.sum()), dtype=bool)
    for one in sets:
        useful |= one.weight > 0.0
    if useful.sum() < _LEAST_PATCHES:
        raise CalibrationError(
            where,
            f"{int(useful.sum())} usable colours, at least {_LEAST_PATCHES} are wanted",
            "read the whole strip",
        )
    return Gathered(
        kind=first.kind,
        colorant=first.colorant,
        device=np.clip(colours[inked], 0.0, 1.0)[useful],
        sets=tuple(_rows(one, useful) for one in sets),
        strip=next((r.strip for r in readings if r.strip), ""),
        repeat=float(np.median(spreads)) if len(spreads) >= 3 else None,
        left_out=int((~useful).sum()),
        slant_deg=float(np.mean([r.slant_deg for r in readings])),
    )


def _averaged(
    parts: Sequence[tuple[Readings, NDArray[np.intp]]], colours: int, films: int
) -> tuple[Seen, list[float]]:
    bands = parts[0][0].values.shape[1]
    total, trust = np.zeros((colours, bands)), np.zeros(colours)
    square, times = np.zeros((colours, bands)), np.zeros(colours)
    least = np.zeros((colours, bands), dtype=bool)
    for reading, rows in parts:
        np.add.at(total, rows, reading.values * reading.weight[:, None])
        np.add.at(trust, rows, reading.weight)
        root = np.cbrt(np.maximum(reading.values, 0.0))
        np.add.at(square, rows, root**2)
        np.add.at(times, rows, 1.0)
        if reading.least is not None:
            least[rows] |= reading.least
    values = np.where(trust[:, None] > 0, total / np.maximum(trust, 1e-12)[:, None], np.nan)
    spreads: list[float] = []
    if (times > 1).any():
        sums = np.zeros((colours, bands))
        for reading, rows in parts:
            np.add.at(sums, rows, np.cbrt(np.maximum(reading.values, 0.0)))
        many = times > 1
        mean = sums[many] / times[many, None]
        spread = np.sqrt(np.maximum(square[many] / times[many, None] - mean**2, 0.0))
        spreads = spread.mean(axis=1).tolist()
    return Seen(films, values, np.minimum(trust, 1.0), least), spreads


def _rows(seen: Seen, keep: NDArray[np.bool_]) -> Seen:
    least = None if seen.least is None else seen.least[keep]
    return Seen(seen.films, seen.values[keep], seen.weight[keep], least)


def printed_spectra(
    gathered: Gathered,
    *,
    physics: Physics,
    base: Floats,
    index: float,
    solids: Floats | None = None,
) -> tuple[Floats, InkFit | None]:
    """Transmittance of every colour on one film, relative to the bare film, (colours, 36).

    solids : densities of the inks where they are known, (4, 36)

    Spectra are freed of what the faces reflect; bands get the spectra of plausible inks.
    """
    if gathered.kind == "spectral":
        seen = gathered.sets[0]
        return _internal(seen, physics=physics, base=base, index=index), None
    eye, change = _eye(gathered.kind, physics)
    sets = [Seen(s.films, change(s.values), s.weight, s.least) for s in gathered.sets]
    fit = fit_inks(
        sets,
        start=starting_areas(gathered.device, gathered.colorant),
        eye=eye,
        physics=physics,
        base=base,
        index=index,
        rounds=40 if len(gathered.device) < MANY else 12,
        solids=solids,
    )
    return upright(fit.printed, gathered.slant_deg, index), fit


def upright(printed: Floats, slant_deg: float, index: float) -> Floats:
    """What light along the normal passes, from what slanted light did: its way is longer.

    Source: [hecht], refraction; density goes with the length of the way
    """
    way = 1.0 / np.sqrt(1.0 - (np.sin(np.radians(slant_deg)) / index) ** 2)
    return np.asarray(np.clip(printed, 0.0, 1.0) ** (1.0 / way))


def _internal(seen: Seen, *, physics: Physics, base: Floats, index: float) -> Floats:
    """What the print itself lets through, from a stack read against a bare one: by halving."""
    wanted = np.clip(np.nan_to_num(seen.values, nan=1.0), 0.0, 1.0)
    low, high = np.zeros_like(wanted), np.ones_like(wanted)
    for _ in range(40):
        middle = (low + high) / 2.0
        above = physics.stacked(middle, seen.films, base=base, index=index) > wanted
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.asarray((low + high) / 2.0)


def _eye(kind: str, physics: Physics) -> tuple[Eye, Callable[[Floats], Floats]]:
    """What looked, and how its values become relative light."""
    same = np.eye(3)
    if kind == "camera":
        return typical_camera(physics.power, physics.weights), lambda values: values
    if kind == "density":
        return Eye(physics.status_a, same, free=False), lambda values: 10.0 ** -np.asarray(values)
    weights = physics.instrument / physics.instrument.sum(axis=0)
    eye = Eye(weights, same, free=False)
    return eye, (lambda values: values) if kind == "xyz" else ratios_of_lab


def starting_areas(device: Floats, colorant: str) -> Floats:
    """Areas of C, M, Y, K to begin with, (patches, 4)."""
    if colorant == "cmyk":
        return np.asarray(device)
    cmy = 1.0 - device
    grey = cmy.min(axis=1, keepdims=True)
    return np.asarray(np.concatenate((cmy - 0.5 * grey**2, 0.6 * grey**2), axis=1))


def seen_lab(gathered: Gathered, physics: Physics, films: int) -> Floats | None:
    """What was measured of so many films, as CIELAB by the measuring device's own lights: for
    telling readings apart, not for truth. Raises nothing; None if they were not read."""
    for one in gathered.sets:
        if one.films != films:
            continue
        if gathered.kind == "spectral":
            ratios = (one.values @ physics.weights) / physics.weights.sum(axis=0)
        elif gathered.kind == "camera":
            xyz = np.maximum(one.values, EMPTY / 4) @ XYZ_OF_SRGB.T
            ratios = xyz / xyz_white()
        else:
            _, change = _eye(gathered.kind, physics)
            ratios = change(one.values)
        return lab_of_ratios(ratios)
    return None


def xyz_white() -> Floats:
    """Of linear sRGB 1, 1, 1."""
    return np.asarray(np.ones(3) @ XYZ_OF_SRGB.T)
