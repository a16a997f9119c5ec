"""Densities against colormath, and the reason why broadband ones are never added."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.colour.density import broadband_density
from glasswork.colour.spectra import WAVELENGTHS_NM
from glasswork.colour.stack import stack_transmittance
from glasswork.errors import ColourError

MAGENTA = 1.5 * np.exp(-(((WAVELENGTHS_NM - 540.0) / 35.0) ** 2) / 2.0)
"""A test ink of one band; what it gives was calculated apart from this code, 340-830 nm."""


def _colormath(transmittance: np.ndarray) -> list[float]:
    from colormath import density_standards as tables
    from colormath.color_objects import SpectralColor
    from colormath.density import ansi_density

    nm = np.arange(340, 831, 10)
    full = np.interp(nm, WAVELENGTHS_NM, transmittance)
    spectrum = SpectralColor(**{f"spec_{n}nm": v for n, v in zip(nm, full, strict=True)})
    kinds = ("ANSI_STATUS_A_RED", "ANSI_STATUS_A_GREEN", "ANSI_STATUS_A_BLUE", "ISO_VISUAL")
    return [ansi_density(spectrum, getattr(tables, kind)) for kind in kinds]


def test_any_spectrum_agrees_with_colormath() -> None:
    spectra = np.random.default_rng(8).uniform(0.001, 1.0, (20, 36))
    found = broadband_density(spectra)
    for row, spectrum in zip(found, spectra, strict=True):
        assert row == pytest.approx(_colormath(spectrum), abs=1e-9)


def test_neutral_densities() -> None:
    for through, density in ((0.5, 0.3010), (0.1, 1.0), (0.01, 2.0), (0.001, 3.0)):
        assert broadband_density(np.full(36, through)) == pytest.approx([density] * 4, abs=1e-4)


def test_a_ramp_filter() -> None:
    ramp = np.clip((WAVELENGTHS_NM - 400.0) / 300.0, 0.001, 1.0)
    assert broadband_density(ramp) == pytest.approx([0.1191, 0.3460, 0.8319, 0.2410], abs=2e-4)


def test_broadband_densities_do_not_add() -> None:
    one = broadband_density(10.0**-MAGENTA)
    two = broadband_density(10.0 ** (-2.0 * MAGENTA))
    assert (one[1], two[1]) == pytest.approx((1.3826, 2.7185), abs=1e-4)
    assert (one[3], two[3]) == pytest.approx((0.5402, 0.7512), abs=1e-4)
    # Twice the visual density would claim 1.08: a third too much.
    assert 2.0 * one[3] - two[3] > 0.3


def test_spectral_densities_do_add() -> None:
    film = 10.0**-MAGENTA
    pile = stack_transmittance(np.stack([film, film]), index=1.0)
    assert -np.log10(pile) == pytest.approx(2.0 * MAGENTA, abs=1e-12)


def test_scalar_vector_and_grid_agree() -> None:
    grid = np.random.default_rng(2).uniform(0.01, 1.0, (2, 3, 36))
    whole = broadband_density(grid)
    assert whole.shape == (2, 3, 4)
    assert whole[1, 2] == pytest.approx(broadband_density(grid[1, 2]), rel=1e-14)


def test_viewing_a_film_in_a_lit_room() -> None:
    # L = La + L0·10^-D with L0 2000, La 10: 1271.91 and 12.00 cd/m² (DICOM PS3.14 D.2.2, published;
    # formula from memory), with densities made by this code from neutral films.
    for density, luminance in ((0.20, 1271.91), (3.00, 12.00)):
        visual = float(broadband_density(np.full(36, 10.0**-density))[3])
        assert 10.0 + 2000.0 * 10.0**-visual == pytest.approx(luminance, abs=0.005)


def test_what_is_refused() -> None:
    for wrong in (np.zeros(36), np.full(36, -0.1), np.full(35, 0.5)):
        with pytest.raises(ColourError):
            broadband_density(wrong)
