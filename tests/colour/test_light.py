"""Lights: chromaticity and colour temperature against the CIE's tables."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.colour.light import correlated_temperature, describe_light, tristimulus_weights
from glasswork.errors import ColourError
from glasswork.model.light import Light

# CIE 1931 2° chromaticity calculated with colour-science 0.4.7 from the tables of [cie15], and CCT
# by Ohno's method; for B3 4103 K is published (CIE 251 abstract).
KNOWN = {
    "a": (0.44756, 0.40743, 2856),
    "d50": (0.34568, 0.35850, 5001),
    "d65": (0.31273, 0.32902, 6503),
    "led-b1": (0.45592, 0.40790, 2735),
    "led-b2": (0.43565, 0.40129, 2999),
    "led-b3": (0.37566, 0.37245, 4103),
    "led-b4": (0.34227, 0.35035, 5106),
    "led-b5": (0.31190, 0.32385, 6591),
    "led-v1": (0.45453, 0.40417, 2725),
    "led-v2": (0.37797, 0.37729, 4072),
}


@pytest.mark.parametrize("name", KNOWN)
def test_chromaticity_and_temperature(name: str, lights: dict[str, Light]) -> None:
    x, y, kelvin = KNOWN[name]
    found, xy = describe_light(lights[name])
    assert xy == pytest.approx((x, y), abs=5e-4)
    assert found == pytest.approx(kelvin, abs=10)


def test_every_shipped_light_is_the_cies(lights: dict[str, Light]) -> None:
    import colour

    assert len(lights) == 12
    for name, light in lights.items():
        table = colour.SDS_ILLUMINANTS[name.upper()]
        wanted = np.array([table[float(nm)] for nm in range(380, 781, 5)])
        assert np.array(light.fine) == pytest.approx(wanted / wanted.max(), abs=1e-12)
        assert "CIE 15:2018" in light.source


def test_temperature_against_colour_science() -> None:
    import colour

    for kelvin in (1800, 2700, 4000, 6500, 12000):
        sd = colour.sd_blackbody(kelvin, colour.SpectralShape(360, 780, 1))
        xy = colour.XYZ_to_xy(colour.sd_to_XYZ(sd, method="Integration"))
        found, away = correlated_temperature(*xy)
        assert found == pytest.approx(kelvin, rel=1e-3)
        assert away < 1e-4


def test_a_green_light_has_no_temperature(led: Light) -> None:
    green = tuple(float(np.exp(-(((nm - 530) / 15) ** 2))) for nm in range(380, 731, 10))
    kelvin, _ = describe_light(replace(led, fine=(), spectrum=green))
    assert kelvin is None


def test_a_diffuser_colours_the_light(led: Light) -> None:
    warm = tuple(np.linspace(0.2, 0.9, 36).tolist())
    before, _ = describe_light(led)
    after, _ = describe_light(replace(led, diffuser=warm))
    assert before is not None
    assert after is not None
    assert after < before - 300


def test_weights_make_white_one(lights: dict[str, Light]) -> None:
    for light in lights.values():
        assert np.ones(36) @ tristimulus_weights(light)[:, 1] == pytest.approx(1.0, abs=1e-12)


def test_what_is_refused(led: Light) -> None:
    for wrong in (
        replace(led, fine=(1.0,) * 80),
        replace(led, fine=(), spectrum=(1.0,) * 35),
        replace(led, fine=(-1.0,) + (1.0,) * 80),
        replace(led, fine=(0.0,) * 81),
        replace(led, diffuser=(1.0,) * 30),
    ):
        with pytest.raises(ColourError):
            tristimulus_weights(wrong)
