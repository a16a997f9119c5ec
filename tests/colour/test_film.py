"""One film: Demichel, Yule-Nielsen, lattices, slopes, and what is refused."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.colour.curve import Curve
from glasswork.colour.film import FilmModel, film_of, ink_load, make_film
from glasswork.errors import ColourError, ProfileError
from glasswork.model.film import PrinterProfile

STRAIGHT = ((0.0, 0.0), (1.0, 1.0))


def _shares(device: tuple[float, ...]) -> dict[tuple[int, ...], float]:
    """The share of each corner, read off a model whose corners are told apart by their band."""
    axes = len(device)
    corners = list(product((0, 1), repeat=axes))
    nodes = np.eye(len(corners)).reshape(*(2,) * axes, len(corners))
    film = make_film(((0.0, 1.0),) * axes, nodes, curves=(STRAIGHT,) * axes, n=1.0, where="t")
    return dict(zip(corners, film.transmittance(device).tolist(), strict=True))


def test_demichels_textbook_case() -> None:
    # c = y = 0.4, m = 0: 0.36 white, 0.24 each, 0.16 both [demichel1924], Westland p. 147.
    shares = _shares((0.4, 0.0, 0.4))
    assert shares[0, 0, 0] == pytest.approx(0.36, abs=1e-6)
    assert shares[1, 0, 0] == pytest.approx(0.24, abs=1e-6)
    assert shares[0, 0, 1] == pytest.approx(0.24, abs=1e-6)
    assert shares[1, 0, 1] == pytest.approx(0.16, abs=1e-6)


def test_demichel_with_three_inks() -> None:
    # Worked apart from this code: c .2, m .5, y .7.
    shares = _shares((0.2, 0.5, 0.7))
    wanted = {
        (0, 0, 0): 0.12, (1, 0, 0): 0.03, (0, 1, 0): 0.12, (0, 0, 1): 0.28,
        (0, 1, 1): 0.28, (1, 0, 1): 0.07, (1, 1, 0): 0.03, (1, 1, 1): 0.07,
    }  # fmt: skip
    for corner, share in wanted.items():
        assert shares[corner] == pytest.approx(share, abs=1e-6)


def _one_ink(density: float, n: float) -> FilmModel:
    nodes = np.array([[1.0], [10.0**-density]])
    return make_film(((0.0, 1.0),), nodes, curves=(STRAIGHT,), n=n, where="t")


@pytest.mark.parametrize(
    ("density", "n", "through"), [(1.0, 1.0, 0.55), (1.0, 2.0, 0.433114), (2.0, 2.0, 0.3025)]
)
def test_yule_nielsen_at_half(density: float, n: float, through: float) -> None:
    # T = [a·10^(-D/n) + 1 - a]^n at a = 0.5, worked apart from this code [yule-nielsen1951].
    assert _one_ink(density, n).transmittance([0.5])[0] == pytest.approx(through, abs=1e-6)


@pytest.mark.parametrize(
    ("n", "area"), [(1.0, 0.5151), (1.5, 0.4100), (1.7, 0.3843), (2.0, 0.3552)]
)
def test_area_from_densities(n: float, area: float) -> None:
    # Tone 0.30, solid 1.50: Murray-Davies for n = 1, Yule-Nielsen beyond.
    film = _one_ink(1.5, n)
    seen = film.transmittance(np.array([[area]]))[0, 0]
    assert -np.log10(seen) == pytest.approx(0.30, abs=1e-4)


def test_the_model_is_exact_at_its_nodes(printers: dict[str, PrinterProfile]) -> None:
    for printer in printers.values():
        film = film_of(printer)
        spots = np.array(list(product(*printer.levels)))
        wanted = printer.nodes.reshape(len(spots), -1)
        assert film.transmittance(spots) == pytest.approx(wanted, abs=1e-9)


def test_slopes_agree_with_finite_differences(printers: dict[str, PrinterProfile]) -> None:
    rng = np.random.default_rng(4)
    for printer in printers.values():
        film = film_of(printer)
        device = rng.uniform(0.01, 0.99, (200, 3))
        _, slopes = film.with_slopes(device)
        for axis in range(3):
            step = np.zeros(3)
            step[axis] = 1e-6
            moved = film.transmittance(device + step) - film.transmittance(device - step)
            # A lattice plane between the two points would be a kink; there is none this near.
            assert np.abs(moved / 2e-6 - slopes[axis]).max() < 1e-6


def test_scalar_vector_and_grid_agree(dye: PrinterProfile) -> None:
    film = film_of(dye)
    grid = np.random.default_rng(0).random((3, 4, 3))
    whole = film.transmittance(grid)
    assert whole.shape == (3, 4, 36)
    assert whole[1, 2] == pytest.approx(film.transmittance(grid[1, 2]), rel=1e-14)
    assert whole[1] == pytest.approx(film.transmittance(grid[1]), rel=1e-14)


@given(st.tuples(*[st.floats(0.0, 1.0)] * 3), st.integers(0, 2))
@settings(max_examples=60, deadline=None)
def test_a_lattice_of_a_coarser_one_changes_nothing(
    device: tuple[float, float, float], axis: int
) -> None:
    """Nodes put in where the model already is leave it as it was, with n and curves."""
    rng = np.random.default_rng(5)
    nodes = rng.uniform(0.05, 1.0, (2, 2, 2, 4))
    curves = (((0.0, 0.0), (0.4, 0.55), (1.0, 1.0)),) * 3
    coarse = make_film(((0.0, 1.0),) * 3, nodes, curves=curves, n=1.8, where="t")
    levels = [(0.0, 1.0)] * 3
    levels[axis] = (0.0, 0.3, 1.0)
    finer = coarse.transmittance(np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1))
    fine = make_film(tuple(levels), finer, curves=curves, n=1.8, where="t")
    assert fine.transmittance(device) == pytest.approx(coarse.transmittance(device), abs=1e-9)


def test_cmyk_and_many_steps() -> None:
    rng = np.random.default_rng(6)
    levels = ((0.0, 0.5, 1.0), (0.0, 1.0), (0.0, 0.2, 0.6, 1.0), (0.0, 1.0))
    nodes = rng.random((3, 2, 4, 2, 36))
    film = make_film(levels, nodes, curves=(STRAIGHT,) * 4, n=2.0, where="t")
    assert film.transmittance([0.5, 1.0, 0.6, 0.0]) == pytest.approx(nodes[1, 1, 2, 0], abs=1e-6)
    assert ink_load([0.5, 1.0, 0.6, 0.0], kind="cmyk") == pytest.approx(2.1)
    assert ink_load([0.5, 1.0, 0.6], kind="rgb") == pytest.approx(0.9)


def test_curves_rise_and_never_overshoot() -> None:
    curve = Curve.through(((0, 0), (0.1, 0.4), (0.2, 0.41), (0.9, 0.5), (1, 1)), where="t")
    at = np.linspace(0.0, 1.0, 2001)
    values, slopes = curve(at)
    assert (np.diff(values) > 0.0).all()
    assert (slopes >= 0.0).all()
    assert curve(np.array([0.1, 0.9]))[0] == pytest.approx([0.4, 0.5], abs=1e-12)


def test_curves_agree_with_scipy() -> None:
    from scipy import interpolate

    points = np.array([(0, 0), (0.15, 0.3), (0.4, 0.5), (0.8, 0.9), (1, 1)], dtype=float)
    at = np.linspace(0.0, 1.0, 101)
    wanted = interpolate.PchipInterpolator(*points.T)
    values, slopes = Curve.through(points, where="t")(at)
    assert values == pytest.approx(wanted(at), abs=1e-12)
    assert slopes == pytest.approx(wanted.derivative()(at), abs=1e-9)


def test_what_is_refused(dye: PrinterProfile) -> None:
    film = film_of(dye)
    with pytest.raises(ColourError, match="between 0 and 1"):
        film.transmittance([0.0, 1.1, 0.0])
    with pytest.raises(ColourError, match="3 device values"):
        film.transmittance([0.0, 1.0])
    two = ((0.0, 1.0),)
    good = np.array([[1.0], [0.1]])
    for nodes, curves, n, key in (
        (np.array([[1.0], [np.nan]]), (STRAIGHT,), 1.5, "node"),
        (np.array([[1.0], [1.2]]), (STRAIGHT,), 1.5, "node"),
        (np.array([[1.0], [0.5], [0.1]]), (STRAIGHT,), 1.5, "node"),
        (good, (((0, 0), (0.5, 0.6), (0.7, 0.6), (1, 1)),), 1.5, "curves"),
        (good, (((0, 0), (0.5, 1.6), (1, 1)),), 1.5, "curves"),
        (good, (), 1.5, "curves"),
        (good, (STRAIGHT,), 0.9, "n"),
    ):
        with pytest.raises(ProfileError) as caught:
            make_film(two, nodes, curves=curves, n=n, where="ferry.toml")
        assert f"ferry.toml, {key}" in caught.value.where
