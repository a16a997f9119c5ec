"""From a simulated device and scene to a fitted profile, and how far that is from the truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from glasswork.calibrate.fit import Calibration, Wishes, calibrate
from glasswork.calibrate.strip import strip_code, strip_layout
from glasswork.cielab import parse_hex
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import print_glasses
from glasswork.model.film import PrinterProfile
from glasswork.model.palette import Palette
from glasswork.model.reading import Readings
from tests.calibrate import glue
from tests.calibrate.conftest import photo_of, read
from tests.calibrate.simulate import Device, Scene, delta_e00, led

UNSEEN = np.round(255 * np.random.default_rng(20260102).random((200, 3))) / 255
"""Device colours the strip does not hold."""


@dataclass(frozen=True)
class Miss:
    """ΔE00 by colour-science's formula, mean and 95th percentile."""

    mean: float
    p95: float


def photo_profile(device: Device, scene: Scene, films: Sequence[int] = (1, 2, 3)) -> Calibration:
    readings = [read(photo_of(device, scene, k), films=k, picture=False).readings for k in films]
    return fitted(readings, scene.light)


def spectral_readings(device: Device) -> Readings:
    """An instrument that reads to a thousandth, as a file would give it."""
    ink = strip_layout(strip_code()).device
    return Readings(
        kind="spectral",
        device=ink,
        values=np.round(device.spectra(ink), 4),
        weight=np.ones(len(ink)),
        source="instrument.txt",
    )


def fitted(readings: Sequence[Readings], light: str, **more: object) -> Calibration:
    return calibrate(
        readings,
        name="varnholt",
        created="2026-01-02",
        physics=glue.physics(light),
        wishes=Wishes(ink_limit=3.0),
        **more,  # type: ignore[arg-type]
    )


def miss(profile: PrinterProfile, device: Device, scene: Scene, films: int) -> Miss:
    """Prediction of colours the strip does not hold, against the truth."""
    said = make_stack(profile, glue.light(scene.light), films).lab(UNSEEN)
    off = delta_e00(said, device.seen(UNSEEN, films, led(scene.light, scene.lamp_tilt)))
    return Miss(float(off.mean()), float(np.percentile(off, 95)))


def composed(
    profile: PrinterProfile, device: Device, scene: Scene, palette: Palette, films: int
) -> tuple[float, float]:
    """Mean ΔE00 of glasses in reach as really printed, and of all printed by hand: sRGB as is."""
    light = led(scene.light, scene.lamp_tilt)
    printed = print_glasses(palette.glasses, profile, glue.light(scene.light), films=films)
    real = device.seen(printed.codes / 255.0, films, light)
    landed = delta_e00(real, printed.wanted)[printed.off <= 3.0]
    plain = [i for i, glass in enumerate(palette.glasses) if glass.srgb]
    codes = np.array([np.round(255 * parse_hex(palette.glasses[i].srgb or "")) for i in plain])
    by_hand = delta_e00(device.seen(codes / 255.0, films, light), printed.wanted[plain])
    return float(landed.mean()), float(by_hand.mean())
