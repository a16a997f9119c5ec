"""A quick strip says whether a profile still holds, and what changed."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.calibrate.drift import check
from glasswork.calibrate.physics import Physics
from glasswork.calibrate.strip import strip_code, strip_layout
from glasswork.errors import CalibrationError
from glasswork.model.film import PrinterProfile
from glasswork.model.reading import Readings
from tests.calibrate.chain import fitted, spectral_readings
from tests.calibrate.conftest import SIZE, photo_of, read
from tests.calibrate.simulate import DEVICES, SCENES, Device

DEVICE = DEVICES[0]


@pytest.fixture(scope="module")
def profile() -> PrinterProfile:
    return fitted([spectral_readings(DEVICE)], "LED-B3").profile


def quick(device: Device) -> Readings:
    ink = strip_layout(strip_code(quick=True)).device
    return Readings(
        kind="spectral", device=ink, values=device.spectra(ink), weight=np.ones(len(ink))
    )


def weaker(device: Device, ink: int, share: float) -> Device:
    inks = list(device.inks)
    inks[ink] = tuple((at, a, b, share * d) for at, a, b, d in inks[ink])
    return replace(device, inks=tuple(inks))


def test_an_unchanged_printer_holds(profile: PrinterProfile, physics: Physics) -> None:
    drift = check([quick(DEVICE)], profile, physics=physics)
    assert drift.holds
    assert drift.difference.mean < 0.5
    assert drift.changed == ("no ink changed by more than 5%",)


@pytest.mark.parametrize(("ink", "name"), [(0, "cyan"), (1, "magenta"), (2, "yellow")])
def test_a_weak_ink_is_named(
    ink: int, name: str, profile: PrinterProfile, physics: Physics
) -> None:
    drift = check([quick(weaker(DEVICE, ink, 0.75))], profile, physics=physics)
    assert not drift.holds
    ratios = dict(drift.inks)
    assert ratios[name] == pytest.approx(0.8, abs=0.08)
    assert any(line.startswith(name) and "thinner" in line for line in drift.changed)
    assert drift.lightness > 0.0


def test_a_photo_of_the_quick_strip_does(profile: PrinterProfile, physics: Physics) -> None:
    scene = SCENES[0].but(size=SIZE)
    same = read(photo_of(DEVICE, scene, quick=True)).readings
    drift = check([same], profile, physics=physics)
    assert drift.holds
    assert drift.difference.mean < 2.0
    assert all(abs(ratio - 1.0) < 0.12 for _, ratio in drift.inks)
    weak = weaker(weaker(weaker(DEVICE, 0, 0.7), 1, 0.7), 2, 0.7)
    other = read(photo_of(weak, scene, quick=True)).readings
    drift = check([other], profile, physics=physics)
    assert not drift.holds
    assert drift.lightness > 2.0


def test_another_kind_of_printer_is_refused(profile: PrinterProfile, physics: Physics) -> None:
    with pytest.raises(CalibrationError, match="is for cmyk"):
        check([quick(DEVICE)], replace(profile, device="cmyk"), physics=physics)
