"""The whole chain against a simulated printer, light and camera that share no code with it.

Each device and each scene occurs once here; all of them together run in
tests/bench/test_calibrate.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.model.palette import Palette
from glasswork.readers.palette import read_palette
from tests.calibrate.chain import composed, fitted, miss, photo_profile, spectral_readings
from tests.calibrate.conftest import SIZE
from tests.calibrate.simulate import DEVICES, SCENES, Device, Scene

PALETTE = Path(__file__).parents[2] / "profiles" / "palettes" / "harbour.toml"
PAIRS = [(DEVICES[(2 * i + 1) % 6], scene.but(size=SIZE)) for i, scene in enumerate(SCENES)]


@pytest.fixture(scope="module")
def palette() -> Palette:
    def none(name: str) -> bytes:
        raise AssertionError(name)

    return read_palette(PALETTE.read_bytes(), where=PALETTE.name, sibling=none)


@pytest.mark.parametrize(("device", "scene"), PAIRS, ids=lambda x: x.name)
def test_photos_make_a_profile_to_trust(device: Device, scene: Scene, palette: Palette) -> None:
    """200 unseen device colours on one and two films: mean ΔE00 at most 3, p95 at most 6; glasses
    in reach land at a mean of at most 3, where printing by hand lands over 8."""
    made = photo_profile(device, scene, films=(1, 2))
    for films in (1, 2):
        off = miss(made.profile, device, scene, films)
        assert off.mean <= 3.0
        assert off.p95 <= 6.0
    landed, by_hand = composed(made.profile, device, scene, palette, 2)
    assert landed <= 3.0
    assert by_hand > 8.0


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_spectra_make_a_better_one(device: Device, palette: Palette) -> None:
    """The same from an instrument: at most 1 and 2; glasses land at a mean of at most 1.2."""
    scene = SCENES[0]
    made = fitted([spectral_readings(device)], scene.light)
    for films in (1, 2, 3):
        off = miss(made.profile, device, scene, films)
        assert off.mean <= 1.0
        assert off.p95 <= 2.0
    landed, by_hand = composed(made.profile, device, scene, palette, 2)
    assert landed <= 1.2
    assert by_hand > 8.0


def test_cross_validated_error_tells_the_truth() -> None:
    """What the fit says of itself is near what unseen colours show, from spectra."""
    for device in DEVICES[:3]:
        made = fitted([spectral_readings(device)], "LED-B3")
        said, real = made.error[0], miss(made.profile, device, SCENES[0], 1)
        assert said.patches > 50
        assert 0.5 < said.mean / real.mean < 2.0
