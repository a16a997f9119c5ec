"""Camera bands: the stand-in spectra answer as the camera did, and their limits are measured."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00, linear_srgb_of_lab
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import separate
from glasswork.colour.solve import within_limit
from glasswork.colour.standin import LIMITS, spectra_of_camera
from glasswork.errors import ProfileError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light

EVEN = Light(name="even", title="even", spectrum=(1.0,) * 36)


def _camera(spectra: np.ndarray) -> np.ndarray:
    """Linear sRGB of spectra by an even light, cut to what a photo holds."""
    from glasswork.cielab import lab_of_ratios

    weights = tristimulus_weights(EVEN)
    ratios = spectra @ (weights / weights.sum(axis=0))
    return np.clip(linear_srgb_of_lab(lab_of_ratios(ratios)), 0.0, 1.0)


def test_the_camera_would_have_seen_the_same() -> None:
    rgb = np.random.default_rng(3).uniform(0.05, 0.95, (200, 3))
    spectra = spectra_of_camera(rgb, where="t")
    assert spectra.min() >= 0.0
    assert spectra.max() <= 1.0
    off = np.abs(_camera(spectra) - rgb).max(axis=1)
    # Some bands, such as a green far above both neighbours, no dye print can have.
    assert np.median(off) < 0.01


def test_white_and_grey() -> None:
    spectra = spectra_of_camera([[1.0, 1.0, 1.0], [0.2, 0.2, 0.2]], where="t")
    assert spectra[0].min() > 0.97
    weights = tristimulus_weights(EVEN)
    assert spectra[1] @ weights[:, 1] == pytest.approx(0.2, abs=0.004)


def test_stacks_are_predicted_within_stated_limits(
    printers: dict[str, PrinterProfile], led: Light
) -> None:
    """A printer known spectrally is photographed, and its stacks are foretold from the photo."""
    for printer in printers.values():
        camera = replace(printer, nodes=_camera(printer.nodes), bands="camera")
        for films, limit in ((1, 1.6), (2, 1.6), (3, 1.8)):
            truth, guess = make_stack(printer, led, films), make_stack(camera, led, films)
            device = within_limit(np.random.default_rng(1).random((500, 3)), truth)
            off = delta_e00(guess.lab(device), truth.lab(device))
            assert off.mean() < limit


def test_adding_broadband_densities_would_be_worse(dye: PrinterProfile, led: Light) -> None:
    """The stand-in against what it replaces: the camera's values multiplied, film on film."""
    from glasswork.cielab import encode_srgb, lab_of_srgb

    camera = replace(dye, nodes=_camera(dye.nodes), bands="camera")
    truth, guess = make_stack(dye, led, 2), make_stack(camera, led, 2)
    device = within_limit(np.random.default_rng(2).random((500, 3)), truth)
    wanted = truth.lab(device)
    one = np.clip(linear_srgb_of_lab(make_stack(dye, led, 1).lab(device)), 0.0, 1.0)
    multiplied = delta_e00(lab_of_srgb(encode_srgb(one**2)), wanted)
    stood_in = delta_e00(guess.lab(device), wanted)
    assert stood_in.mean() < multiplied.mean()


def test_the_limits_are_told(  # type: ignore[no-untyped-def]
    dye: PrinterProfile, led: Light, harbour, window_of
) -> None:
    camera = replace(dye, nodes=_camera(dye.nodes), bands="camera")
    _, told = separate(window_of(["amber"]), harbour, camera, led)
    assert LIMITS in [finding.what for finding in told]


def test_what_is_refused() -> None:
    for wrong in ([[0.1, 0.2]], [[0.1, 0.2, 1.2]], [[-0.1, 0.2, 0.2]]):
        with pytest.raises(ProfileError, match="three values"):
            spectra_of_camera(wrong, where="t")
