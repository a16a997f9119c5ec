"""Fitting a film model: known films come back, and a lattice tells of its printer."""

from __future__ import annotations

import importlib.util
import sys
from itertools import product
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from glasswork.cielab import delta_e00, lab_of_ratios
from glasswork.colour.film import make_film
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.predict import make_stack
from glasswork.colour.stack import stack_transmittance
from glasswork.errors import CalibrationError, ProfileError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from tests.colour.film_fitting import fit_film

TWO = ((0.0, 1.0),) * 3


@pytest.fixture(scope="module")
def invented() -> ModuleType:
    path = Path(__file__).parent / "invented_printers.py"
    spec = importlib.util.spec_from_file_location("invented_for_fit", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["invented_for_fit"] = module
    spec.loader.exec_module(module)
    return module


def _solids() -> np.ndarray:
    """A lattice of solids with the densities of the invented dyes, (2, 2, 2, 3) as X, Y, Z."""
    inks = np.array([[0.15, 0.25, 0.6], [0.4, 0.2, 0.3], [0.75, 0.8, 0.1]])
    mesh = np.stack(np.meshgrid(*TWO, indexing="ij"), axis=-1)
    return np.prod(np.where(mesh[..., None] == 1.0, 1.0, inks), axis=3)


@pytest.mark.parametrize("n", [1.0, 1.4, 2.0])
def test_a_known_film_comes_back(n: float) -> None:
    curves = (
        ((0.0, 0.0), (0.3, 0.2), (0.7, 0.6), (1.0, 1.0)),
        ((0.0, 0.0), (0.3, 0.4), (0.7, 0.8), (1.0, 1.0)),
        ((0.0, 0.0), (0.3, 0.3), (0.7, 0.7), (1.0, 1.0)),
    )
    truth = make_film(TWO, _solids(), curves=curves, n=n, where="t")
    rng = np.random.default_rng(1)
    spots = np.concatenate((np.array(list(product((0.0, 1.0), repeat=3))), rng.random((40, 3))))
    fitted = fit_film(spots, truth.transmittance(spots), levels=TWO, knots=(0.3, 0.7))
    assert fitted.n == pytest.approx(n, abs=0.06)
    assert fitted.mean_delta_e00 < 0.1
    for mine, wanted in zip(fitted.curves, curves, strict=True):
        assert np.array(mine) == pytest.approx(np.array(wanted), abs=0.01)
    others = rng.random((200, 3))
    off = delta_e00(
        lab_of_ratios(fitted.film.transmittance(others)), lab_of_ratios(truth.transmittance(others))
    )
    assert off.max() < 0.6


@pytest.mark.parametrize(("name", "limit"), [("DYE", 0.8), ("PIGMENT", 0.4)])
def test_the_shipped_lattice_tells_of_the_printer_it_was_read_from(
    name: str,
    limit: float,
    invented: ModuleType,
    printers: dict[str, PrinterProfile],
    led: Light,
) -> None:
    """27 or 125 nodes and three ramps against the invented driver and inks themselves."""
    made = getattr(invented, name)
    profile = printers[made.name]
    device = np.random.default_rng(0).random((800, 3))
    printed = invented.printed(device, made)
    for films in (1, 2):
        model = make_stack(profile, led, films)
        truth = stack_transmittance(np.stack([printed * model.base] * films), index=profile.index)
        off = delta_e00(model.lab(device), lab_of_ratios(truth @ model.weights))
        assert off.mean() < limit


def test_spectra_are_fitted_through_the_eye(invented: ModuleType, led: Light) -> None:
    weights = tristimulus_weights(led)
    eye = weights / weights.sum(axis=0)
    levels = ((0.0, 0.5, 1.0),) * 3
    rng = np.random.default_rng(2)
    spots = np.concatenate((np.array(list(product(levels[0], repeat=3))), rng.random((60, 3))))
    read = invented.printed(spots, invented.DYE)
    fitted = fit_film(spots, read, levels=levels, knots=(0.1, 0.25, 0.75, 0.9), eye=eye)
    others = rng.random((300, 3))
    off = delta_e00(
        lab_of_ratios(fitted.film.transmittance(others) @ eye),
        lab_of_ratios(invented.printed(others, invented.DYE) @ eye),
    )
    assert off.mean() < 1.0


def test_what_is_refused() -> None:
    corners = np.array(list(product((0.0, 1.0), repeat=3)))
    seen = _solids().reshape(-1, 3)
    fit = {"levels": TWO, "knots": (0.5,)}
    with pytest.raises(CalibrationError, match="1 lattice nodes were not read"):
        fit_film(corners[:-1], seen[:-1], **fit)  # type: ignore[arg-type]
    with pytest.raises(CalibrationError, match="finite readings"):
        fit_film(corners, np.where(seen == seen[0, 0], np.nan, seen), **fit)  # type: ignore[arg-type]
    with pytest.raises(ProfileError, match="not between 0 and 1"):
        fit_film(corners, seen * 1.3, **fit)  # type: ignore[arg-type]
