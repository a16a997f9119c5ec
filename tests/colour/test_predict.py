"""The forward model against colour-science's integration, and its slopes."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.cielab import delta_e00
from glasswork.colour.film import film_of
from glasswork.colour.predict import make_stack
from glasswork.colour.solve import within_limit
from glasswork.colour.spectra import WAVELENGTHS_NM
from glasswork.colour.stack import stack_transmittance
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light


def _reference_lab(through: np.ndarray, clear: np.ndarray, light: str) -> np.ndarray:
    """CIELAB by colour-science: the light's table and the stack's spectrum brought to 1 nm."""
    import colour

    shape = colour.SpectralShape(380, 780, 1)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    lamp = colour.SDS_ILLUMINANTS[light.upper()].copy().align(shape)

    def xyz(values: np.ndarray) -> np.ndarray:
        sd = colour.SpectralDistribution(values, WAVELENGTHS_NM)
        constant = {"method": "Constant", "left": None, "right": None}
        sd.align(
            shape,
            interpolator=colour.SpragueInterpolator,
            interpolator_kwargs={},
            extrapolator_kwargs=constant,
        )
        return colour.sd_to_XYZ(sd, cmfs, lamp, method="Integration")

    white = xyz(clear)
    return colour.XYZ_to_Lab(xyz(through) / white[1], colour.XYZ_to_xy(white))


@pytest.mark.parametrize("light", ["led-b3", "led-b1", "led-v2", "d65", "a"])
@pytest.mark.parametrize("films", [1, 2, 3])
def test_colours_agree_with_colour_science(
    light: str, films: int, dye: PrinterProfile, lights: dict[str, Light]
) -> None:
    model = make_stack(dye, lights[light], films)
    device = within_limit(np.random.default_rng(films).random((6, 3)), model)
    through = model.transmittance(device)
    for row, mine in zip(through, model.lab(device), strict=True):
        assert float(delta_e00(mine, _reference_lab(row, model.clear, light))) <= 0.01


def test_a_stack_is_what_its_films_make(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 3)
    device = np.array([0.2, 0.7, 0.9])
    film = film_of(dye).transmittance(device) * np.array(dye.base)
    wanted = stack_transmittance(np.stack([film] * 3), index=dye.index)
    assert model.transmittance(device) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("films", [1, 2, 3])
@pytest.mark.parametrize("unlike", [False, True])
def test_slopes_agree_with_finite_differences(
    films: int, unlike: bool, printers: dict[str, PrinterProfile], led: Light
) -> None:
    for printer in printers.values():
        model = make_stack(printer, led, films, unlike=unlike)
        device = np.random.default_rng(9).uniform(0.02, 0.98, (100, model.values))
        lab, slopes = model.lab_with_slopes(device)
        assert lab == pytest.approx(model.lab(device), abs=1e-9)
        for value in range(model.values):
            step = np.zeros(model.values)
            step[value] = 1e-5
            moved = (model.lab(device + step) - model.lab(device - step)) / 2e-5
            scale = np.maximum(np.abs(slopes[:, :, value]), 1.0)
            assert (np.abs(moved - slopes[:, :, value]) / scale).max() < 1e-6


def test_scalar_vector_and_grid_agree(dye: PrinterProfile, led: Light) -> None:
    model = make_stack(dye, led, 2)
    grid = np.random.default_rng(3).random((2, 3, 3))
    whole = model.lab(grid)
    assert whole[1, 2] == pytest.approx(model.lab(grid[1, 2]), abs=1e-11)
    assert whole[1] == pytest.approx(model.lab(grid[1]), abs=1e-11)


def test_no_ink_is_white_and_throughput_is_the_clear_stack(
    printers: dict[str, PrinterProfile], lights: dict[str, Light]
) -> None:
    for printer in printers.values():
        before = 1.0
        for films in (1, 2, 3):
            model = make_stack(printer, lights["led-b3"], films)
            assert model.lab([1.0, 1.0, 1.0]) == pytest.approx((100.0, 0.0, 0.0), abs=0.05)
            assert 0.6 < model.throughput < before
            before = model.throughput


def test_unlike_films_that_are_alike_are_the_identical_stack(
    dye: PrinterProfile, led: Light
) -> None:
    device = np.random.default_rng(4).random((20, 3))
    same = make_stack(dye, led, 2).lab(device)
    unlike = make_stack(dye, led, 2, unlike=True).lab(np.tile(device, (1, 2)))
    assert unlike == pytest.approx(same, abs=1e-10)


def test_what_is_refused(dye: PrinterProfile, led: Light) -> None:
    with pytest.raises(ColourError, match="0 films"):
        make_stack(dye, led, 0)
    with pytest.raises(ColourError, match="device values"):
        make_stack(dye, led, 2).lab([0.5, 0.5])
    with pytest.raises(ColourError, match="below 1"):
        make_stack(replace(dye, index=0.5), led, 2)
