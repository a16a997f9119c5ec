"""The colour engine handed to the fit, as the command line does it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from glasswork.calibrate.physics import Physics
from glasswork.colour.density import broadband_density
from glasswork.colour.film import make_film
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.stack import stack_transmittance
from glasswork.model.light import Light
from glasswork.readers.light import read_light

LIGHTS = Path(__file__).parents[2] / "profiles" / "lights"


def no_sibling(name: str) -> bytes:
    raise AssertionError(name)


def light(name: str) -> Light:
    file = LIGHTS / f"{name.lower()}.toml"
    return read_light(file.read_bytes(), where=file.name, sibling=no_sibling)


def physics(name: str = "led-b3") -> Physics:
    lamp = light(name)
    tiny = 1e-9
    status_a = 10.0 ** -broadband_density(np.eye(36) + tiny)[:, :3] - tiny
    return Physics(
        make_film=make_film,
        stack=stack_transmittance,
        weights=np.asarray(tristimulus_weights(lamp), dtype=float),
        power=np.asarray(lamp.spectrum, dtype=float),
        instrument=np.asarray(tristimulus_weights(light("d50")), dtype=float),
        status_a=status_a,
        light=lamp.name,
    )
