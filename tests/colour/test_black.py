"""Printed leads: inked within the limit, as near to black as that lets them come."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00
from glasswork.colour.black import THIN, grey_leads, printed_black
from glasswork.colour.film import ink_load
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import separate
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Palette


@pytest.mark.parametrize("films", [1, 2, 3])
def test_nothing_within_the_limit_is_nearer_to_black(
    films: int, printers: dict[str, PrinterProfile], led: Light
) -> None:
    """Against every one of 35 steps of each ink, tried one by one."""
    steps = np.array(list(product(np.linspace(0.0, 1.0, 35), repeat=3)))
    for printer in printers.values():
        model = make_stack(printer, led, films)
        black = printed_black(printer, led, films=films)
        allowed = steps[ink_load(steps, kind="rgb") <= printer.ink_limit + 1e-9]
        tried = delta_e00(model.lab(allowed), np.zeros((len(allowed), 3)))
        seen = model.lab(np.array(black.device[0]) / 255.0)
        assert float(delta_e00(seen, np.zeros(3))) <= tried.min() + 0.3
        assert len(set(black.device)) == 1
        assert len(black.device) == films
        assert black.ink_load == pytest.approx(3.0 - sum(black.device[0]) / 255.0)
        assert black.ink_load <= printer.ink_limit + 1e-9


def test_a_film_that_takes_more_ink_is_blacker(dye: PrinterProfile, led: Light) -> None:
    limits = (1.6, 2.0, 2.4, 2.8, 3.0)
    made = [printed_black(replace(dye, ink_limit=limit), led, films=2) for limit in limits]
    densities = [black.visual for black in made]
    assert densities == sorted(densities)
    assert densities[-1] > 2.9


def test_visual_density_is_that_of_the_light_let_through(dye: PrinterProfile, led: Light) -> None:
    """Y of the stack before the LED and ISO visual density differ by the light only, and a near
    neutral black hardly knows the light."""
    for films in (1, 2, 3):
        model = make_stack(dye, led, films)
        black = printed_black(dye, led, films=films)
        y = (model.transmittance(np.array(black.device[0]) / 255.0) @ model.weights)[1]
        assert black.visual == pytest.approx(-np.log10(y), abs=0.1)


def test_grey_leads_are_told(
    window_of: Any, harbour: Palette, dye: PrinterProfile, led: Light
) -> None:
    whole = window_of(glass.id for glass in harbour.glasses)
    one, _ = separate(whole, harbour, dye, led, films=1)
    two, _ = separate(whole, harbour, dye, led, films=2)
    assert grey_leads(two, dye) == ()
    (told,) = grey_leads(one, dye)
    assert one.black.visual < THIN < two.black.visual
    assert "let 7 % of the light through" in told.what
    assert "ink limit of 260 %" in told.what
    assert "one more film" in told.hint
