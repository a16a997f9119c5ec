"""Colours the model can make are found again; those it cannot keep their hue."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00, hue_shift_deg
from glasswork.colour.film import ink_load
from glasswork.colour.predict import make_stack
from glasswork.colour.quantise import quantise
from glasswork.colour.solve import MET, solve, within_limit
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light

LIGHTS = (
    "a", "d50", "d65", "led-b1", "led-b2", "led-b3", "led-b4", "led-b5",
    "led-bh1", "led-rgb1", "led-v1", "led-v2",
)  # fmt: skip


def test_no_light_is_left_out(lights: dict[str, Light]) -> None:
    assert tuple(sorted(lights)) == LIGHTS


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("printer", ["dye-film", "pigment-film"])
def test_10000_colours_are_found_again(
    printer: str, light: str, printers: dict[str, PrinterProfile], lights: dict[str, Light]
) -> None:
    """The 10,000 are shared out over one, two and three films."""
    dice = np.random.default_rng(LIGHTS.index(light))
    offs = []
    for films, count in ((1, 3000), (2, 4000), (3, 3000)):
        model = make_stack(printers[printer], lights[light], films)
        made = within_limit(dice.random((count, 3)), model)
        wanted = model.lab(made)
        found = solve(model, wanted)
        offs.append(delta_e00(model.lab(found.device), wanted))
        assert ink_load(found.device, kind="rgb").max() <= model.ink_limit + 1e-9
        assert found.device.min() >= 0.0
        assert found.device.max() <= 1.0
    assert np.concatenate(offs).max() <= 0.1


@pytest.mark.parametrize("films", [1, 2, 3])
def test_out_of_reach_keeps_hue(
    films: int, printers: dict[str, PrinterProfile], led: Light
) -> None:
    rng = np.random.default_rng(12)
    hue, chroma = rng.uniform(0.0, 2.0 * np.pi, 600), rng.uniform(11.0, 120.0, 600)
    wanted = np.stack(
        (rng.uniform(3.0, 97.0, 600), chroma * np.cos(hue), chroma * np.sin(hue)), axis=-1
    )
    for printer in printers.values():
        model = make_stack(printer, led, films)
        found = solve(model, wanted)
        seen = model.lab(found.device)
        lost = found.miss > MET
        assert lost.sum() > 100
        # At a vanishing chroma the hue of what is printed means nothing.
        has_hue = lost & (np.hypot(seen[:, 1], seen[:, 2]) > 2.0)
        turned = hue_shift_deg(seen, wanted)[has_hue]
        assert turned.max() <= 3.0


def test_a_cmyk_printer_is_solved_too(led: Light, dye: PrinterProfile) -> None:
    rng = np.random.default_rng(2)
    peaks = np.array([[640.0], [545.0], [430.0], [560.0]])
    nm = np.arange(380.0, 731.0, 10.0)
    inks = np.exp(-(((nm - peaks) / np.array([[55.0], [35.0], [40.0], [400.0]])) ** 2) / 2.0)
    mesh = np.stack(np.meshgrid(*[(0.0, 1.0)] * 4, indexing="ij"), axis=-1)
    cmyk = replace(
        dye,
        device="cmyk",
        levels=((0.0, 1.0),) * 4,
        nodes=10.0 ** -(mesh @ inks),
        curves=(((0.0, 0.0), (1.0, 1.0)),) * 4,
        ink_limit=2.5,
    )
    model = make_stack(cmyk, led, 2)
    made = within_limit(rng.random((500, 4)), model)
    wanted = model.lab(made)
    found = solve(model, wanted)
    assert np.quantile(delta_e00(model.lab(found.device), wanted), 0.999) <= 0.1
    assert ink_load(found.device, kind="cmyk").max() <= 2.5 + 1e-9


def test_the_ink_limit_is_kept(dye: PrinterProfile, led: Light) -> None:
    lean = replace(dye, ink_limit=1.2)
    model = make_stack(lean, led, 2)
    dark = np.array([[5.0, 0.0, 0.0], [20.0, 10.0, -40.0]])
    found = solve(model, dark)
    assert ink_load(found.device, kind="rgb").max() <= 1.2 + 1e-9
    codes = quantise(model, found.device, dark, found.miss)
    assert ink_load(codes / 255.0, kind="rgb").max() <= 1.2 + 1e-9
    assert (solve(make_stack(dye, led, 2), dark).miss < found.miss).all()


def test_the_nearest_8_bit_stack_wins(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    wanted = model.lab(np.random.default_rng(6).uniform(0.1, 0.9, (300, 3)))
    found = solve(model, wanted)
    codes = quantise(model, found.device, wanted, found.miss)
    rounded = np.rint(found.device * 255.0) / 255.0
    best = delta_e00(model.lab(codes / 255.0), wanted)
    plain = delta_e00(model.lab(rounded), wanted)
    assert (best <= plain + 1e-9).all()
    assert best.mean() < 0.9 * plain.mean()


def test_the_same_targets_give_the_same_answer(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    wanted = model.lab(np.random.default_rng(1).random((50, 3)))
    assert (solve(model, wanted).device == solve(model, wanted).device).all()


def test_no_targets_give_nothing(dye: PrinterProfile, led: Light) -> None:
    found = solve(make_stack(dye, led, 2), np.empty((0, 3)))
    assert found.device.shape == (0, 3)


def test_what_is_refused(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    for wrong in ([[50.0, 0.0]], [50.0, 0.0, 0.0], [[np.nan, 0.0, 0.0]]):
        with pytest.raises(ColourError, match="finite CIELAB"):
            solve(model, np.array(wrong))
    with pytest.raises(ColourError, match="lets no ink"):
        solve(make_stack(replace(dye, ink_limit=0.0), led, 2), np.array([[50.0, 0.0, 0.0]]))


def test_a_colours_answer_does_not_hang_on_its_batch(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    rng = np.random.default_rng(3)
    wanted = rng.uniform((5.0, -90.0, -90.0), (95.0, 90.0, 90.0), (40, 3))
    together = solve(model, wanted)
    codes = quantise(model, together.device, wanted, together.miss)
    for i in range(0, 40, 5):
        alone = solve(model, wanted[i : i + 1])
        again = quantise(model, alone.device, wanted[i : i + 1], alone.miss)
        assert np.abs(again[0] - codes[i]).max() <= 1
