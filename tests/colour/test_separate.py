"""The separation of the shipped palette, and what is promised of it."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00, hue_shift_deg
from glasswork.colour.by_hand import by_hand_delta_e00
from glasswork.colour.predict import make_stack
from glasswork.colour.separate import (
    WITHIN,
    fewest_films,
    print_glasses,
    print_unlike,
    separate,
)
from glasswork.errors import ProfileError
from glasswork.model.film import FilmsRow, PrinterProfile
from glasswork.model.finding import Severity
from glasswork.model.light import Light
from glasswork.model.palette import Palette


@pytest.fixture(scope="module")
def whole(harbour: Palette, window_of):  # type: ignore[no-untyped-def]
    return window_of(glass.id for glass in harbour.glasses)


def test_auto_takes_two_films(whole, harbour, dye, led) -> None:  # type: ignore[no-untyped-def]
    # Common practice: a backlit print is doubled, exactly aligned, to bring its density back.
    found, _ = separate(whole, harbour, dye, led, films="auto")
    assert found.count == 2
    assert [row.count for row in found.table] == [1, 2, 3]
    assert found.table[0].area_within_3 < 0.95 <= found.table[1].area_within_3


def test_printing_by_hand_fails_and_the_composed_stack_does_not(  # type: ignore[no-untyped-def]
    whole, harbour, dye, led
) -> None:
    by_hand = by_hand_delta_e00(whole, harbour, dye, led)
    assert min(by_hand[1], by_hand[2]) > 8.0
    found, _ = separate(whole, harbour, dye, led, films="auto")
    reached = [glass.delta_e00 for glass in found.glasses if glass.in_reach]
    assert np.mean(reached) < 1.5
    assert len(reached) >= 0.9 * len(found.glasses)


def test_a_few_glasses_are_honestly_out_of_reach(  # type: ignore[no-untyped-def]
    whole, harbour, dye, led
) -> None:
    found, told = separate(whole, harbour, dye, led, films=3)
    lost = {glass.glass for glass in found.glasses if not glass.in_reach}
    assert lost == {"mackerel", "port-green"}
    assert {f.where for f in told if "out of reach" in f.what} == {f"glass {g}" for g in lost}
    assert any(f.severity is Severity.DECISION for f in told)


def test_each_entry_says_what_its_device_values_give(  # type: ignore[no-untyped-def]
    whole, harbour, dye: PrinterProfile, led: Light
) -> None:
    found, _ = separate(whole, harbour, dye, led, films=2)
    model = make_stack(dye, led, 2)
    for glass in found.glasses:
        assert len(glass.device) == 2
        assert len(set(glass.device)) == 1
        seen = model.lab(np.array(glass.device[0]) / 255.0)
        assert seen == pytest.approx(glass.predicted_lab, abs=1e-9)
        assert float(delta_e00(seen, glass.target_lab)) == pytest.approx(glass.delta_e00)
        assert glass.in_reach == (glass.delta_e00 <= WITHIN)
        assert max(glass.ink_load) <= dye.ink_limit + 1e-9
        assert glass.sentence.startswith("two films")


@pytest.mark.parametrize("films", [1, 2, 3])
def test_out_of_reach_keeps_its_hue(  # type: ignore[no-untyped-def]
    films: int, harbour: Palette, printers, lights
) -> None:
    """In 8 bits, for every printer and light, identical and unlike."""
    lost = 0
    for printer in printers.values():
        for light in lights.values():
            for way in (print_glasses, print_unlike):
                stack = way(harbour.glasses, printer, light, films=films)
                has_hue = np.hypot(stack.wanted[:, 1], stack.wanted[:, 2]) > 10.0
                out = has_hue & (stack.off > WITHIN)
                lost += int(out.sum())
                assert hue_shift_deg(stack.seen, stack.wanted)[out].max(initial=0.0) <= 3.0
    assert lost > 50


@pytest.mark.parametrize(
    ("rows", "count"),
    [
        (((2.0, 0.96), (1.0, 0.99), (0.5, 1.0)), 1),
        (((2.0, 0.5), (1.0, 0.95), (0.5, 1.0)), 2),
        (((2.0, 0.5), (1.0, 0.6), (1.5, 0.96)), 3),
        # none has enough: the least mean counts, unless a film fewer is nearly as good
        (((2.6, 0.78), (2.0, 0.7), (2.2, 0.7)), 2),
        (((2.2, 0.5), (2.0, 0.8), (2.0, 0.81)), 1),
        (((4.0, 0.5), (3.0, 0.8), (2.0, 0.9)), 3),
    ],
)
def test_fewest_films(rows: tuple[tuple[float, float], ...], count: int) -> None:
    table = [
        FilmsRow(count=i, mean_delta_e00=mean, area_within_3=within)
        for i, (mean, within) in enumerate(rows, 1)
    ]
    assert fewest_films(table) == count


def test_area_counts(harbour: Palette, dye, led, window_of) -> None:  # type: ignore[no-untyped-def]
    mostly_clear = window_of(["clear"] * 30 + ["port-green"])
    found, _ = separate(mostly_clear, harbour, dye, led)
    assert found.count == 1
    assert found.table[0].area_within_3 == pytest.approx(30 / 31)


def test_what_is_refused(harbour, dye, led, window_of) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ProfileError, match="no glass was chosen"):
        separate(window_of([None]), harbour, dye, led)
    with pytest.raises(ProfileError, match='no glass "unobtainium"'):
        separate(window_of(["unobtainium"]), harbour, dye, led)


@pytest.mark.parametrize("differ", [False, True])
def test_values_kept_from_an_earlier_run_give_the_same_to_the_last_digit(  # type: ignore[no-untyped-def]
    window_of, harbour, dye, led, monkeypatch: pytest.MonkeyPatch, differ: bool
) -> None:
    class Shelf(dict[str, bytes]):
        def put(self, key: str, data: bytes) -> None:
            self[key] = data

    shelf = Shelf()
    window = window_of(["oilskin", "reed", "mackerel"])
    plain = separate(window, harbour, dye, led, films_differ=differ)
    first = separate(window, harbour, dye, led, films_differ=differ, cache=shelf)
    assert len(shelf) == 3
    for key in list(shelf)[:1]:
        shelf[key] = shelf[key][:-1] + b"?"
    mended = separate(window, harbour, dye, led, films_differ=differ, cache=shelf)
    assert plain == first == mended

    def searched(*_: object, **__: object) -> None:
        raise AssertionError("searched again")

    monkeypatch.setattr("glasswork.colour.separate.print_glasses", searched)
    assert separate(window, harbour, dye, led, films=1, films_differ=differ, cache=shelf)
    others = window_of(["oilskin", "reed"])
    for changed in ((others, dye, led), (window, replace(dye, n=dye.n + 0.1), led)):
        with pytest.raises(AssertionError, match="searched again"):
            separate(changed[0], harbour, *changed[1:], films_differ=differ, cache=shelf)
