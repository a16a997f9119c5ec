"""Ways to bring a glass into reach, compared on the shipped palette.

nearest: the smallest weighted difference, whatever becomes of the hue; held: the same with the hue
held (the one that is used); chroma: lightness and hue kept, chroma given up until it can be met.
"""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.cielab import delta_e00, hue_shift_deg
from glasswork.colour.predict import StackModel, make_stack
from glasswork.colour.solve import MET, solve
from glasswork.colour.targets import target_labs
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Palette


def _chroma_given_up(model: StackModel, wanted: np.ndarray) -> np.ndarray:
    low, high = np.zeros(len(wanted)), np.ones(len(wanted))
    for _ in range(12):
        share = 0.5 * (low + high)
        met = solve(model, wanted * np.stack((np.ones_like(share), share, share), 1)).miss <= 0.3
        low, high = np.where(met, share, low), np.where(met, high, share)
    final = wanted * np.stack((np.ones_like(low), low, low), axis=1)
    return model.lab(solve(model, final).device)


def _compare(
    palette: Palette, printers: dict[str, PrinterProfile], light: Light
) -> dict[str, tuple[float, float, int]]:
    """Mean ΔE00, largest turn of hue in degrees, and how many, over glasses out of reach with 1 to
    3 films of every printer, for each way."""
    off: dict[str, list[float]] = {"nearest": [], "held": [], "chroma": []}
    turn: dict[str, list[float]] = {"nearest": [], "held": [], "chroma": []}
    for printer in printers.values():
        for films in (1, 2, 3):
            model = make_stack(printer, light, films)
            wanted = target_labs(palette.glasses, model)
            lost = solve(model, wanted).miss > MET
            wanted = wanted[lost & (np.hypot(wanted[:, 1], wanted[:, 2]) > 10.0)]
            ways = {
                "nearest": model.lab(solve(model, wanted, hold_hue=1.0).device),
                "held": model.lab(solve(model, wanted).device),
                "chroma": _chroma_given_up(model, wanted),
            }
            for way, seen in ways.items():
                off[way] += delta_e00(seen, wanted).tolist()
                turn[way] += hue_shift_deg(seen, wanted).tolist()
    return {way: (float(np.mean(off[way])), max(turn[way]), len(off[way])) for way in off}


@pytest.fixture(scope="module")
def compared(
    harbour: Palette, printers: dict[str, PrinterProfile], led: Light
) -> dict[str, tuple[float, float, int]]:
    return _compare(harbour, printers, led)


def test_the_hue_is_held_and_little_is_paid_for_it(
    compared: dict[str, tuple[float, float, int]],
) -> None:
    held, turn, count = compared["held"]
    assert count > 30
    assert turn <= 3.0
    assert held <= compared["nearest"][0] + 1.0


def test_the_others_are_worse(compared: dict[str, tuple[float, float, int]]) -> None:
    assert compared["nearest"][1] > 3.0
    assert compared["chroma"][0] > compared["held"][0]
