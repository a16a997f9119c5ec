"""Lights: TOML in, `Light` out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

import msgspec
import numpy as np

from glasswork.errors import ProfileError
from glasswork.model.light import Light
from glasswork.readers.daylight import DAYLIGHT
from glasswork.readers.spectrum import COARSE_NM, FINE_NM, Floats, onto_grid, read_spectrum
from glasswork.readers.toml import decode_toml

_C2 = 1.438776877e-2
"""Second radiation constant, m K. Source: [codata2018]"""


class LightFile(msgspec.Struct, frozen=True, kw_only=True):
    """The keys of a light. One of power, csv and kelvin says its spectrum.

    power : relative spectral power, 380-780 nm by 5 nm, 81 values
    csv : a file beside this one: wavelength in nm, power
    kelvin, family : a black body, or a phase of daylight (4000 to 25000 K), of that temperature
    diffuser_csv : a file beside this one: wavelength in nm, transmittance 0-1 of what lies
        between lamp and film
    """

    title: str
    power: tuple[float, ...] | None = None
    csv: str | None = None
    kelvin: float | None = None
    family: Literal["blackbody", "daylight"] = "blackbody"
    diffuser_csv: str | None = None
    source: str = ""


def read_light(data: bytes, *, where: str, sibling: Callable[[str], bytes]) -> Light:
    """The light in a TOML file; its name is the file's, without the ending.

    Raises: ProfileError, if a key is wrong, the spectrum is said twice or not at all, or has no
        power; ReadError, if a named file is not a spectrum
    """
    file = decode_toml(data, LightFile, where=where)
    said = [key for key in ("power", "csv", "kelvin") if getattr(file, key) is not None]
    if len(said) != 1:
        raise ProfileError(
            where, f"{' and '.join(said) or 'nothing'} says the spectrum", "power, csv or kelvin"
        )
    power = _power(file, where=where, sibling=sibling)
    if not np.isfinite(power).all() or power.min() < 0.0 or power.max() <= 0.0:
        raise ProfileError(
            f"{where}, {said[0]}",
            "power is below zero somewhere, or zero all over",
            "measure or copy it again",
        )
    diffuser: tuple[float, ...] = ()
    if file.diffuser_csv is not None:
        nm, values = read_spectrum(sibling(file.diffuser_csv), where=file.diffuser_csv)
        through = onto_grid(nm, values, COARSE_NM, where=file.diffuser_csv)
        if through.min() < 0.0 or through.max() > 1.0 or through.max() == 0.0:
            raise ProfileError(
                f"{where}, diffuser_csv",
                f"transmittance {through.min():g} to {through.max():g} is not within 0-1",
                "write shares of light, not percentages",
            )
        diffuser = tuple(through.tolist())
    power = power / power.max()
    return Light(
        name=where.rsplit("/", 1)[-1].removesuffix(".toml"),
        title=file.title,
        spectrum=tuple(np.interp(COARSE_NM, FINE_NM, power).tolist()),
        diffuser=diffuser,
        source=file.source,
        fine=tuple(power.tolist()),
    )


def _power(file: LightFile, *, where: str, sibling: Callable[[str], bytes]) -> Any:
    if file.power is not None:
        if len(file.power) != len(FINE_NM):
            raise ProfileError(
                f"{where}, power",
                f"{len(file.power)} values, {len(FINE_NM)} are wanted",
                "give 380-780 nm by 5 nm",
            )
        return np.asarray(file.power)
    if file.csv is not None:
        nm, values = read_spectrum(sibling(file.csv), where=file.csv)
        return onto_grid(nm, values, FINE_NM, where=file.csv)
    assert file.kelvin is not None
    low = 4000.0 if file.family == "daylight" else 1000.0
    if not low <= file.kelvin <= 25_000.0:
        raise ProfileError(
            f"{where}, kelvin",
            f"{file.kelvin:g} K is not between {low:g} and 25000 for a {file.family}",
            "lamps state it on the box",
        )
    return (_daylight if file.family == "daylight" else _blackbody)(file.kelvin)


def _blackbody(kelvin: float) -> Floats:
    """Relative power of a black body. Source: [planck] with [codata2018]"""
    metres = FINE_NM * 1e-9
    return np.asarray(1e-30 * metres**-5 / np.expm1(_C2 / (metres * kelvin)))


def _daylight(kelvin: float) -> Floats:
    """Relative power of a phase of daylight. Source: [cie15], section 4.1.2"""
    low = kelvin <= 7000.0
    c = (
        (-4.6070e9, 2.9678e6, 0.09911e3, 0.244063)
        if low
        else (-2.0064e9, 1.9018e6, 247.48, 0.237040)
    )
    x = c[0] / kelvin**3 + c[1] / kelvin**2 + c[2] / kelvin + c[3]
    y = -3.0 * x * x + 2.870 * x - 0.275
    below = 0.0241 + 0.2562 * x - 0.7341 * y
    first = (-1.3515 - 1.7703 * x + 5.9114 * y) / below
    second = (0.0300 - 31.4424 * x + 30.0717 * y) / below
    return np.asarray(DAYLIGHT[:, 1] + first * DAYLIGHT[:, 2] + second * DAYLIGHT[:, 3])
