"""Piles of plates against closed forms, refractive indices and data sheets."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.colour.stack import fresnel, stack_plate, stack_transmittance
from glasswork.errors import ColourError

taus = st.lists(st.floats(0.001, 1.0), min_size=1, max_size=4)


@pytest.mark.parametrize(("films", "through"), [(1, 12 / 13), (2, 6 / 7), (3, 4 / 5), (4, 3 / 4)])
def test_pile_of_clear_plates(films: int, through: float) -> None:
    # Closed form (1 - R) / (1 + (2m - 1) R) with R = 0.04: [stokes1862], from memory.
    clear = np.ones((films, 1))
    assert stack_transmittance(clear, index=1.5)[0] == pytest.approx(through, abs=1e-12)


@given(taus)
@settings(max_examples=60, deadline=None)
def test_energy_is_kept_and_order_does_not_matter(internals: list[float]) -> None:
    films = np.array(internals)[:, None]
    pile = stack_plate(films, face=0.05)
    assert pile.transmittance[0] + pile.front[0] <= 1.0 + 1e-12
    turned = stack_plate(films[::-1], face=0.05)
    assert turned.transmittance == pytest.approx(pile.transmittance, rel=1e-12)
    assert turned.front == pytest.approx(pile.back, rel=1e-12)


@given(taus, st.floats(0.001, 1.0))
@settings(max_examples=60, deadline=None)
def test_another_film_never_lets_more_light_through(internals: list[float], more: float) -> None:
    films = np.array(internals)[:, None]
    longer = np.concatenate((films, [[more]]))
    before, after = stack_transmittance(films, index=1.57), stack_transmittance(longer, index=1.57)
    assert after[0] < before[0]


def test_no_light_is_lost_without_absorption() -> None:
    pile = stack_plate(np.ones((3, 1)), face=0.06)
    assert pile.transmittance + pile.front == pytest.approx(1.0, abs=1e-15)


def test_measured_index_gives_the_data_sheets_transmittance() -> None:
    # Polyester n = 1.57333 at 550 nm [zhang2020]; clear film TLT 90.5 % [melinex453].
    assert stack_transmittance(np.ones((1, 1)), index=1.57333)[0] == pytest.approx(0.905, abs=6e-3)
    # Acrylic n = 1.49: 92 % along the normal, 85 % under an even sky [acrylite].
    sheet = np.ones((1, 1))
    assert stack_transmittance(sheet, index=1.49)[0] == pytest.approx(0.92, abs=6e-3)
    assert stack_transmittance(sheet, index=1.49, diffuse=True)[0] == pytest.approx(0.85, abs=6e-3)


@pytest.mark.parametrize(
    ("index", "across", "diffuse"), [(1.5, 0.04, 0.8509), (1.57333, 0.04964, 0.8346)]
)
def test_face_reflectance(index: float, across: float, diffuse: float) -> None:
    assert fresnel(index)[0] == pytest.approx(across, abs=1e-5)
    # Angular averages calculated apart from this code, with another quadrature.
    sheet = np.ones((1, 1))
    found = stack_transmittance(sheet, index=index, diffuse=True)[0]
    assert found == pytest.approx(diffuse, abs=1e-4)


def test_densities_nearly_add_relative_to_clear_film() -> None:
    # Internal density 0.6 each, n = 1.57333: 0.6442, 1.2871, relative 1.2047.
    film = np.full((2, 1), 10**-0.6)
    one = -np.log10(stack_transmittance(film[:1], index=1.57333)[0])
    two = -np.log10(stack_transmittance(film, index=1.57333)[0])
    bare = -np.log10(stack_transmittance(np.ones((2, 1)), index=1.57333)[0])
    assert (one, two) == pytest.approx((0.6442, 1.2871), abs=1e-4)
    assert two - bare == pytest.approx(1.2047, abs=1e-4)


def test_contact_takes_the_inner_faces_away() -> None:
    films = np.array([[0.5], [0.4]])
    joined = stack_transmittance(films, index=1.5, contact=True)
    assert joined == pytest.approx(stack_transmittance(np.array([[0.2]]), index=1.5), rel=1e-12)
    assert joined[0] > stack_transmittance(films, index=1.5)[0]


def test_scalar_vector_and_grid_agree() -> None:
    rng = np.random.default_rng(1)
    grid = rng.uniform(0.1, 1.0, (2, 4, 5, 36))
    whole = stack_transmittance(grid, index=1.57)
    single = stack_transmittance(grid[:, 2, 3], index=1.57)
    assert whole[2, 3].tolist() == single.tolist()
    assert float(stack_transmittance(grid[:, 2, 3, 7], index=1.57)) == single[7]


def test_what_is_refused() -> None:
    with pytest.raises(ColourError, match="below 1"):
        fresnel(0.9)
    for wrong in ([[1.2]], [[-0.1]], [[float("nan")]]):
        with pytest.raises(ColourError, match="between 0 and 1"):
            stack_transmittance(wrong, index=1.5)
        with pytest.raises(ColourError, match="between 0 and 1"):
            stack_transmittance(wrong, index=1.5, diffuse=True)
    with pytest.raises(ColourError, match="no film"):
        stack_transmittance(np.empty((0, 3)), index=1.5)
