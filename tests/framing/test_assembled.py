"""Panels put together by lot, against the closed forms."""

from __future__ import annotations

from math import erf, sqrt

import numpy as np
import pytest

from glasswork.framing.assembled import VISIBLE_MM, Sample, assemble, draw_errors
from glasswork.framing.slender import sag_mm
from glasswork.framing.tolerance import rss_mm, worst_case_mm

from windows import quarries  # isort: skip

PUBLISHED = (("a", 0.20), ("b", 0.10), ("c", 0.15))
"""Worst case 0.45, root-sum-square 0.2693 [scholz1995]."""


def test_one_dimension_agrees_with_the_root_sum_square() -> None:
    runs = 200_000
    total = draw_errors(PUBLISHED, runs=runs, seed=7).sum(axis=1)
    three_sigma = 3.0 * total.std()
    sampling = 3.0 * total.std() / sqrt(2.0 * runs)  # standard error of a standard deviation
    assert abs(three_sigma - 0.2693) < 4.0 * sampling + 5e-5
    assert three_sigma == pytest.approx(rss_mm(PUBLISHED), rel=0.01)


def test_one_dimension_stays_within_the_worst_case() -> None:
    total = np.abs(draw_errors(PUBLISHED, runs=200_000, seed=7, spread="uniform").sum(axis=1))
    assert total.max() <= 0.45
    assert total.max() > 0.43
    assert worst_case_mm(PUBLISHED) == pytest.approx(0.45)


def test_share_of_panels_with_light_is_the_tail_of_the_normal_law() -> None:
    """One edge, the films' alignment alone: both faces stand back together."""
    cover, tolerance = 0.15, 0.3
    sample = Sample(
        at=np.zeros((1, 2)),
        out=np.array([[1.0, 0.0]]),
        cover_mm=np.array([cover]),
        white=np.array([True]),
    )
    parts = (
        ("print scale", 0.0),
        ("film alignment", tolerance),
        ("cut accuracy", 0.0),
        ("kerf", 0.0),
        ("board growth", 0.0),
    )
    runs = 100_000
    found = assemble(sample, parts, half_mm=50.0, runs=runs, seed=3)
    expected = 0.5 * (1.0 - erf((cover + VISIBLE_MM) / (tolerance / 3.0) / sqrt(2.0)))
    sampling = sqrt(expected * (1.0 - expected) / runs)
    assert found.white_share == pytest.approx(expected, abs=4.0 * sampling)
    assert found.colour_share == 0.0
    assert found.white_mean_mm > VISIBLE_MM


def test_the_second_face_shuts_light_out() -> None:
    """Cut errors of the two faces are independent: both must gape at once."""
    sample = Sample(
        at=np.zeros((1, 2)),
        out=np.array([[0.0, 1.0]]),
        cover_mm=np.array([0.05]),
        white=np.array([True]),
    )
    names = ("print scale", "film alignment", "cut accuracy", "kerf", "board growth")
    parts = tuple((name, 0.3 if name == "cut accuracy" else 0.0) for name in names)
    one = 0.5 * (1.0 - erf(0.1 / 0.1 / sqrt(2.0)))
    found = assemble(sample, parts, half_mm=50.0, runs=100_000, seed=5)
    assert found.white_share == pytest.approx(one**2, abs=0.002)


def test_the_same_seed_gives_the_same_panels_and_bleed_keeps_the_light_out(plan) -> None:
    window = quarries(150.0, 200.0, columns=5, rows=6, lead_mm=1.2, border_mm=6.0)
    first, _ = plan(window)
    again, _ = plan(window)
    assert first.assembled == again.assembled
    assert first.assembled.white_share == 0.0  # covered by the worst case all round the border


def test_strip_deflects_by_hand_calculation() -> None:
    """Both ends fixed, load at midspan: F·L³/(192·E·I) [gere-beams].

    60 × 2 × 2 mm greyboard, 0.5 N: I = 2·8/12 = 1.3333, δ = 0.5·216000/(192·2500·1.3333).
    """
    assert sag_mm(60.0, 2.0, thickness_mm=2.0, modulus_mpa=2500.0) == pytest.approx(0.16875)


def test_slender_members_are_listed(plan) -> None:
    made, findings = plan(quarries(160.0, 160.0, columns=1, rows=2, lead_mm=1.2, border_mm=6.0))
    slender = [weak for weak in made.weak if weak.kind == "slender"]
    assert [weak.member for weak in slender] == ["h0-0"]
    assert slender[0].value > slender[0].limit
    assert any("so slender" in f.what for f in findings)
