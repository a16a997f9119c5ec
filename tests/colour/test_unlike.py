"""Unlike films: never worse, and better where bright strong colours are asked for."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.cielab import delta_e00
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import print_glasses, print_unlike, separate
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Palette


@pytest.mark.parametrize(("printer", "gain"), [("dye-film", 0.03), ("pigment-film", 0.2)])
@pytest.mark.parametrize("films", [2, 3])
def test_unlike_films_come_nearer(  # type: ignore[no-untyped-def]
    printer: str, gain: float, films: int, harbour: Palette, printers, led: Light
) -> None:
    profile = printers[printer]
    same = print_glasses(harbour.glasses, profile, led, films=films)
    unlike = print_unlike(harbour.glasses, profile, led, films=films)
    assert (unlike.off <= same.off + 1e-9).all()
    assert same.off.mean() - unlike.off.mean() > gain
    model = make_stack(profile, led, films, unlike=True)
    assert unlike.off == pytest.approx(delta_e00(model.lab(unlike.codes / 255.0), unlike.wanted))
    inks = (255 - unlike.codes).reshape(-1, films, 3).sum(axis=2) / 255.0
    assert inks.max() <= profile.ink_limit + 1e-9


def test_one_film_cannot_differ(harbour: Palette, dye: PrinterProfile, led: Light) -> None:
    same = print_glasses(harbour.glasses, dye, led, films=1)
    assert (print_unlike(harbour.glasses, dye, led, films=1).codes == same.codes).all()


def test_the_separation_says_that_films_differ(  # type: ignore[no-untyped-def]
    harbour: Palette, dye: PrinterProfile, led: Light, window_of
) -> None:
    window = window_of(["port-green", "clear"])
    plain, _ = separate(window, harbour, dye, led, films=2)
    unlike, _ = separate(window, harbour, dye, led, films=2, films_differ=True)
    assert plain.identical
    assert not unlike.identical
    green = unlike.glass("port-green")
    assert green.device[0] != green.device[1]
    assert green.delta_e00 < plain.glass("port-green").delta_e00
    assert "film 1:" in green.sentence
    clear = unlike.glass("clear")
    assert np.ptp(np.array(clear.device), axis=0).max() <= 1


def test_it_is_said_when_unlike_films_pay(  # type: ignore[no-untyped-def]
    harbour: Palette, dye: PrinterProfile, led: Light, window_of
) -> None:
    window = window_of(["port-green", "clear"])
    _, told = separate(window, harbour, dye, led, films=2)
    (lost,) = [finding for finding in told if finding.where == "glass port-green"]
    assert "films that differ would bring it to" in lost.hint
    _, differing = separate(window, harbour, dye, led, films=2, films_differ=True)
    (still,) = [finding for finding in differing if finding.where == "glass port-green"]
    assert "films that differ" not in still.hint
