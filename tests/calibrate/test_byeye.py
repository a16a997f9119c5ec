"""Tones by eye: a simulated maker matches tints to lines, and tones come out better."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.calibrate.byeye import COVERS, INKS, STEPS, EyeAnswers, fit_by_eye, step_ink
from glasswork.calibrate.physics import Physics
from glasswork.errors import CalibrationError, GlassworkError
from glasswork.readers.eye_answers import read_eye_answers
from tests.calibrate.chain import fitted, miss, spectral_readings
from tests.calibrate.simulate import DEVICES, SCENES, Device, led, observer

OLD = DEVICES[0]
NEW = replace(OLD, gain=0.30, name="the same inks, more dot gain")
SCENE = SCENES[0]


def luminance(device: Device, rgb: np.ndarray) -> np.ndarray:
    weight = observer()[:, 1] * led(SCENE.light)
    return device.stack([device.film(rgb)]) @ weight / (device.clear(1) @ weight)


def matched(device: Device) -> dict[str, float]:
    """What an eye that errs by no more than half a step would write down."""
    found = {}
    for axis, ink in enumerate(INKS):
        solid = np.ones(3)
        solid[axis] = 0.0
        dark = float(luminance(device, solid[None])[0])
        for cover in COVERS:
            tints = np.ones((STEPS, 3))
            tints[:, axis] = 1.0 - np.array(step_ink(cover))
            light = luminance(device, tints)
            lines = 1.0 - cover / 100.0 * (1.0 - dark)
            step = float(np.interp(-lines, -light, np.arange(1, STEPS + 1)))
            found[f"{ink}-{cover}"] = round(2 * step) / 2
    return found


def test_tones_by_eye_come_nearer(physics: Physics) -> None:
    former = fitted([spectral_readings(OLD)], SCENE.light).profile
    profile, findings = fit_by_eye(
        EyeAnswers(matches=matched(NEW), ink_limit=2.2),
        former,
        name="by-eye",
        created="2026-01-02",
        physics=physics,
    )
    before, after = miss(former, NEW, SCENE, 1), miss(profile, NEW, SCENE, 1)
    assert before.mean > 2.0
    assert after.mean < 0.7 * before.mean
    assert profile.ink_limit == 2.2
    assert "coarse" in findings[0].hint
    assert "by eye 2026-01-02" in profile.source


def test_an_unchanged_printer_stays_near(physics: Physics) -> None:
    former = fitted([spectral_readings(OLD)], SCENE.light).profile
    profile, _ = fit_by_eye(
        EyeAnswers(matches=matched(OLD)), former, name="x", created="2026-01-02", physics=physics
    )
    assert miss(profile, OLD, SCENE, 1).mean < 2.5


def test_answers_are_checked(physics: Physics) -> None:
    former = fitted([spectral_readings(OLD)], SCENE.light).profile
    good = matched(OLD)

    def ask(matches: dict[str, float]) -> None:
        fit_by_eye(
            EyeAnswers(matches=matches), former, name="x", created="2026-01-02", physics=physics
        )

    with pytest.raises(CalibrationError, match="1 of 9 matches are missing: cyan-25"):
        ask({k: v for k, v in good.items() if k != "cyan-25"})
    with pytest.raises(CalibrationError, match="step 14 is not between"):
        ask({**good, "cyan-25": 14})
    with pytest.raises(CalibrationError, match='no row "red-25"'):
        ask({**good, "red-25": 4})
    with pytest.raises(CalibrationError, match="do not rise"):
        ask({**good, "cyan-25": 13, "cyan-50": 1, "cyan-75": 1})


def test_answers_are_read_from_a_file() -> None:
    file = read_eye_answers(b"ink_limit = 2.4\n[matches]\ncyan-25 = 7.5\n", where="a.toml")
    assert file.matches == {"cyan-25": 7.5}
    assert file.ink_limit == 2.4
    with pytest.raises(GlassworkError, match="unknown key"):
        read_eye_answers(b"match = 2\n", where="a.toml")
