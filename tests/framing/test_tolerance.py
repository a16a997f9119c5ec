"""The tolerance budget."""

from __future__ import annotations

import pytest

from glasswork.framing.fit import thickness_mm
from glasswork.framing.tolerance import bleed_for, contributions, rss_mm, worst_case_mm

from windows import board, cutter, printer  # isort: skip


def test_published_stack() -> None:
    """0.20, 0.10, 0.15: worst case 0.45, root-sum-square 0.2693 [scholz1995]."""
    parts = (("a", 0.20), ("b", 0.10), ("c", 0.15))
    assert worst_case_mm(parts) == pytest.approx(0.45)
    assert rss_mm(parts) == pytest.approx(0.2693, abs=5e-5)


def test_four_boards_of_two_mm() -> None:
    """Four 2 mm boards at ±0.1: 8 ±0.4 worst case, ±0.2 root-sum-square (computed by hand)."""
    total, worst, rss = thickness_mm(tuple((f"board {n}", 2.0, 0.1) for n in range(4)))
    assert (total, worst, rss) == (8.0, pytest.approx(0.4), pytest.approx(0.2))


def test_scale_error_grows_from_the_middle() -> None:
    """0.3 % on a panel of 150 mm is 0.225 mm at its edge (computed by hand)."""
    from msgspec.structs import replace

    worse = replace(printer(), print_scale_uncertainty=0.003)
    found = dict(contributions((150.0, 100.0), board(), cutter(), worse))
    assert found["print scale"] == pytest.approx(0.225)


@pytest.mark.parametrize(("worst", "bleed"), [(0.0, 0.0), (0.05, 0.05), (0.051, 0.1), (0.61, 0.65)])
def test_bleed_is_at_least_the_worst_case(worst: float, bleed: float) -> None:
    assert bleed_for(worst) == pytest.approx(bleed)
    assert bleed_for(worst) >= worst - 1e-9
