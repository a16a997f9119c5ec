"""The light plan against published spacing rules, a computed table, and worked resistor cases."""

from __future__ import annotations

from math import cos, radians

import numpy as np
import pytest

from glasswork.colour.backlight import (
    COIN_MA,
    coin_cell,
    falloff,
    grid_evenness,
    light_on_panel,
    mean_throughput,
    pair_spacing_mm,
    pitch_for_evenness,
    plan_backlight,
    row_spacing_mm,
    running_hours,
    series_resistor,
    square_spacing_mm,
)
from glasswork.errors import ProfileError
from glasswork.model.backlight import Led
from glasswork.model.film import FilmBlack, GlassOnFilm, Separation


def _separation(**visual: float) -> Separation:
    def entry(name: str, density: float) -> GlassOnFilm:
        return GlassOnFilm(
            glass=name,
            device=((0, 0, 0),) * 2,
            target_lab=(0.0, 0.0, 0.0),
            predicted_lab=(0.0, 0.0, 0.0),
            delta_e00=0.0,
            in_reach=True,
            status_a=(density,) * 3,
            visual=density,
            film_status_a=((density / 2.0,) * 3,) * 2,
            lit_srgb=(0.0, 0.0, 0.0),
            ink_load=(0.0, 0.0),
        )

    return Separation(
        count=2,
        identical=True,
        glasses=tuple(entry(name, density) for name, density in visual.items()),
        table=(),
        black=FilmBlack(
            device=((0, 0, 0),) * 2,
            status_a=(4.0, 4.0, 4.0),
            visual=4.0,
            lit_srgb=(0.0, 0.0, 0.0),
            ink_load=2.4,
        ),
        throughput=0.8,
    )


@pytest.mark.parametrize(("theta", "share"), [(0, 1.0), (30, 0.5625), (45, 0.25), (60, 0.0625)])
def test_a_matt_emitter_falls_off_by_the_fourth_power(theta, share) -> None:
    """cos⁴, computed: 1, 9/16, 1/4, 1/16."""
    assert falloff(theta) == pytest.approx(share)


def test_moreno_spacing_with_m_two_not_one() -> None:
    """[moreno2006]; on a parallel plane a matt diode is m = 2 and not 1: 0.8944 z and 1.0000 z
    (m = 1 gives 1.0000 z and 1.1547 z). The row's constants are from memory."""
    assert pair_spacing_mm(1.0) == pytest.approx(0.8944, abs=5e-5)
    assert square_spacing_mm(1.0) == pytest.approx(1.0000, abs=5e-5)
    assert pair_spacing_mm(1.0, m=1.0) == pytest.approx(1.0000, abs=5e-5)
    assert square_spacing_mm(1.0, m=1.0) == pytest.approx(1.1547, abs=5e-5)
    assert row_spacing_mm(10.0) == pytest.approx(10.0 * (3.2773 / 6.2539) ** 0.5)


def test_moreno_pair_is_where_the_dip_begins() -> None:
    """Without Moreno's formula: the second derivative midway between two cos⁴ sources is 0."""

    def light(x: float, d: float) -> float:
        return sum((1.0 + (x - s * d / 2.0) ** 2) ** -2.0 for s in (-1, 1))

    d = pair_spacing_mm(1.0)
    h = 1e-3
    bend = light(h, d) + light(-h, d) - 2.0 * light(0.0, d)
    assert abs(bend) < 1e-9
    assert light(h, 1.05 * d) > light(0.0, 1.05 * d)  # further apart: a dip
    assert light(h, 0.95 * d) < light(0.0, 0.95 * d)


@pytest.mark.parametrize(
    ("pitch", "evenness"), [(0.75, 0.993), (1.0, 0.952), (1.25, 0.854), (1.5, 0.716), (2.0, 0.439)]
)
def test_evenness_of_a_large_grid(pitch, evenness) -> None:
    """Computed table: least over most light on a bare plane, square grid, cos⁴."""
    assert grid_evenness((pitch, pitch), 1.0) == pytest.approx(evenness, abs=0.002)
    assert grid_evenness((pitch * 7.0, pitch * 7.0), 7.0) == pytest.approx(evenness, abs=0.002)


@pytest.mark.parametrize(("evenness", "pitch"), [(0.95, 1.006), (0.9, 1.149), (0.8, 1.354)])
def test_widest_pitch_for_an_evenness(evenness, pitch) -> None:
    """Computed table, in depths."""
    assert pitch_for_evenness(evenness, 1.0) == pytest.approx(pitch, abs=0.004)


@pytest.mark.parametrize("evenness", [0.05, 0.995, float("nan")])
def test_evenness_out_of_bounds(evenness) -> None:
    with pytest.raises(ProfileError, match=r"not between 0\.1 and 0\.99"):
        pitch_for_evenness(evenness, 30.0)


def test_published_resistor_cases() -> None:
    """[led-resistor]: 12 V, three of 3.2 V, 20 mA: 120 Ω, 48 mW; 5 V, one: 90 Ω;
    12 V, 3.6 V, 30 mA: 280 Ω."""
    three = series_resistor(12.0, Led(forward_v=3.2, current_ma=20.0), in_series=3)
    assert three.exact_ohm == pytest.approx(120.0)
    assert three.ohm == 120.0
    assert three.power_mw == pytest.approx(48.0)
    assert three.rating_mw == 125.0  # at least twice the power
    one = series_resistor(5.0, Led(forward_v=3.2, current_ma=20.0))
    assert one.exact_ohm == pytest.approx(90.0)
    assert one.ohm == 91.0
    assert one.current_ma < 20.0
    strong = series_resistor(12.0, Led(forward_v=3.6, current_ma=30.0))
    assert strong.exact_ohm == pytest.approx(280.0)
    assert strong.ohm == 300.0


@pytest.mark.parametrize("count", [4, 5])
def test_a_string_that_needs_all_the_voltage_is_refused(count) -> None:
    """[led-resistor]: n·Vf must stay below Vs."""
    with pytest.raises(ProfileError, match=r"in series: 1\d V, the supply gives 12 V"):
        series_resistor(12.0, Led(forward_v=3.0), in_series=count)


def test_coin_cells_are_refused_above_their_rating() -> None:
    """[coin-capacity] 225 mAh, [coin-drain] about 0.2 mA; the often-told 45 h at 5 mA is hope."""
    assert running_hours(225.0, 5.0) == pytest.approx(45.0)
    assert coin_cell(5.0).hours is None
    assert "0.2 mA" in coin_cell(5.0).advice
    assert coin_cell(COIN_MA).hours == pytest.approx(1125.0)


def test_throughput_is_the_area_mean() -> None:
    found = mean_throughput(_separation(a=0.0, b=1.0), {"a": 300.0, "b": 100.0})
    assert found == pytest.approx(0.8 * (0.75 + 0.25 * 0.1))


def test_the_plan_keeps_its_promises() -> None:
    plan = plan_backlight((120.0, 180.0), _separation(a=0.3), {"a": 1.0}, depth_mm=30.0)
    assert plan.evenness >= 0.9
    assert max(plan.pitch_mm) <= 1.149 * 30.0 + 0.1
    assert plan.count == len(plan.places) == plan.columns * plan.rows
    assert plan.count == 4 * 6
    xs = [x for x, _ in plan.places]
    assert min(xs) == pytest.approx(plan.pitch_mm[0] / 2.0)
    assert max(xs) == pytest.approx(120.0 - plan.pitch_mm[0] / 2.0)
    assert plan.in_series == 1
    assert plan.strings == 24
    assert plan.current_ma == pytest.approx(24 * plan.resistor.current_ma)
    assert plan.power_w == pytest.approx(5.0 * plan.current_ma / 1000.0)
    assert any("coin" in run.supply and run.hours is None for run in plan.running)
    assert any("Cells:" in text for text in plan.cautions)
    on_twelve = plan_backlight((120.0, 180.0), _separation(a=0.3), {"a": 1.0}, supply_v=12.0)
    assert on_twelve.in_series == 3
    assert on_twelve.strings == 8


def test_fewer_leds_when_they_stand_further_off() -> None:
    near, far = (
        plan_backlight((150.0, 150.0), _separation(a=0.3), {"a": 1.0}, depth_mm=depth)
        for depth in (15.0, 50.0)
    )
    assert near.count > 4 * far.count


def test_spots_are_told_of_only_where_they_will_show() -> None:
    even, uneven = (
        plan_backlight((150.0, 150.0), _separation(a=0.3), {"a": 1.0}, evenness=share)
        for share in (0.9, 0.6)
    )
    assert not any("spots" in text for text in even.advice)
    assert any("spots will show" in text for text in uneven.advice)


def test_a_supply_too_low_for_one_led_is_refused() -> None:
    with pytest.raises(ProfileError, match=r"1 LED of 3\.2 V"):
        plan_backlight((100.0, 100.0), _separation(a=0.3), {"a": 1.0}, supply_v=3.0)
    with pytest.raises(ProfileError, match="depth 0 mm is not above 0"):
        plan_backlight((100.0, 100.0), _separation(a=0.3), {"a": 1.0}, depth_mm=0.0)


def test_light_on_the_panel_follows_the_law_and_the_walls_help() -> None:
    """Against a sum written out by hand, and against the same box with black walls."""
    plan = plan_backlight((60.0, 60.0), _separation(a=0.3), {"a": 1.0}, depth_mm=30.0)
    light = light_on_panel(plan, px_per_mm=1.0)
    assert light.shape == (60, 60)
    assert light.max() == pytest.approx(1.0)
    assert np.allclose(light, light[::-1], atol=1e-5)

    def bare(x: float, y: float) -> float:
        total = 0.0
        for px, py in plan.places:
            r2 = (x - px) ** 2 + (y - py) ** 2 + 900.0
            total += cos(np.arccos(30.0 / r2**0.5)) ** 4 / 900.0
        return total

    corner, middle = bare(0.5, 0.5), bare(30.5, 30.5)
    assert light[0, 0] / light[30, 30] > corner / middle + 0.1
    assert cos(radians(0.0)) == 1.0
