"""Lights that starve a glass, and the light that would serve it."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.colour.separate import separate
from glasswork.colour.starve import serving_light, starved_band, supply
from glasswork.model.finding import Finding
from glasswork.model.light import Light

NM = np.arange(380.0, 731.0, 10.0)
BLUE = np.exp(-(((NM - 460.0) / 25.0) ** 2))
RED = 1.0 / (1.0 + np.exp(-(NM - 610.0) / 8.0))


def _starved(told: tuple[Finding, ...]) -> list[Finding]:
    return [finding for finding in told if "starves" in finding.what]


def test_an_even_light_starves_nothing() -> None:
    even = Light(name="even", title="even", spectrum=(1.0,) * 36)
    assert supply(np.stack([BLUE, RED]), even) == pytest.approx([1.0, 1.0], abs=1e-9)


def test_warm_leds_lack_blue_and_cool_ones_red(lights: dict[str, Light]) -> None:
    assert float(supply(BLUE, lights["led-b1"])) < 0.6 < float(supply(BLUE, lights["led-b4"]))
    assert float(supply(RED, lights["led-b5"])) < float(supply(RED, lights["led-b1"]))
    assert starved_band(BLUE) == "blue"
    assert starved_band(RED) == "red"


def test_a_warm_led_is_told_to_starve_cobalt(  # type: ignore[no-untyped-def]
    harbour, dye, lights, window_of
) -> None:
    window = window_of(["cobalt", "ruby"])
    others = tuple(light for name, light in sorted(lights.items()) if name.startswith("led-b"))
    _, told = separate(window, harbour, dye, lights["led-b1"], films=2, lights=others)
    (finding,) = _starved(told)
    assert "starves cobalt:" in finding.what
    named = finding.hint.split()[0]
    _, served = separate(window, harbour, dye, lights[named], films=2)
    assert not any("cobalt" in f.what for f in _starved(served))
    _, general = separate(window, harbour, dye, lights["led-b1"], films=2)
    assert "4000 K or more" in _starved(general)[0].hint


def test_the_default_light_starves_no_shipped_glass(  # type: ignore[no-untyped-def]
    harbour, dye, led, window_of
) -> None:
    window = window_of(glass.id for glass in harbour.glasses)
    _, told = separate(window, harbour, dye, led)
    assert _starved(told) == []


def test_no_light_may_serve(lights: dict[str, Light]) -> None:
    assert serving_light(BLUE, lights["led-b1"], [lights["led-b1"]]) is None
