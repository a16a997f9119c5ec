"""Densities, looks and sentences of printed glasses."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.cielab import encode_srgb, lab_of_srgb
from glasswork.colour.density import broadband_density
from glasswork.colour.describe import describe_glass, sentence
from glasswork.colour.predict import make_stack
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light


@pytest.mark.parametrize(
    ("densities", "words"),
    [
        ([[1.21, 0.02, 0.0, 0.3]] * 2, "two films; about 1.2 above base in red each"),
        ([[0.3, 0.94, 0.01, 0.5]], "one film; about 0.9 above base in green, 0.3 in red"),
        ([[0.0, 0.0, 0.02, 0.0]] * 3, "three films; almost no ink each"),
        (
            [[1.0, 0.0, 0.0, 0.2], [0.0, 0.0, 0.6, 0.1]],
            "two films; film 1: about 1.0 above base in red; film 2: about 0.6 above base in blue",
        ),
        ([[0.5, 0.0, 0.0, 0.2]] * 5, "5 films; about 0.5 above base in red each"),
    ],
)
def test_sentences(densities: list[list[float]], words: str) -> None:
    assert sentence(np.array(densities)) == words


def test_densities_are_those_of_the_spectra(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    device = np.array([0.9, 0.1, 0.3])
    told = describe_glass(model, device)
    film = model.film.transmittance(device)
    assert told.film_density == pytest.approx(np.stack([broadband_density(film)] * 2))
    stack = broadband_density(model.transmittance(device) / model.clear)
    assert told.stack_density == pytest.approx(stack)
    # Two films darken the green by nearly twice, the eye's sum by much less.
    assert stack[1] > 1.9 * told.film_density[0, 1]
    assert stack[3] < 1.9 * told.film_density[0, 3]


def test_the_lit_look_is_the_predicted_colour(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    device = np.array([0.6, 0.7, 0.8])
    lit = describe_glass(model, device).lit_srgb
    assert lab_of_srgb(encode_srgb(lit)) == pytest.approx(model.lab(device), abs=1e-6)


def test_unlit_glass_is_dark_and_keeps_its_hue(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    clear = describe_glass(model, np.ones(3)).unlit_srgb
    ruby = describe_glass(model, np.array([0.85, 0.05, 0.2])).unlit_srgb
    # Half of the room's light comes back from the diffuser, less what two faces a film turn away.
    assert clear == pytest.approx([0.36] * 3, abs=0.05)
    assert ruby.max() < 0.25 * clear.max()
    assert ruby[0] > 5.0 * max(ruby[1], ruby[2])
