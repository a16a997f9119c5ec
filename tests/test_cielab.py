"""CIELAB and CIEDE2000 against published pairs and other libraries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.cielab import (
    bytes_of_linear,
    decode_srgb,
    delta_e00,
    encode_srgb,
    encode_value,
    hue_shift_deg,
    lab_of_ratios,
    lab_of_srgb,
    linear_srgb_of_lab,
    parse_hex,
    ratios_of_lab,
)
from glasswork.errors import ColourError

# All 34 pairs of the paper's table 1, read in two public test suites: [sharma2005].
PAIRS = """
50.0000 2.6772 -79.7751 50.0000 0.0000 -82.7485 2.0425
50.0000 3.1571 -77.2803 50.0000 0.0000 -82.7485 2.8615
50.0000 2.8361 -74.0200 50.0000 0.0000 -82.7485 3.4412
50.0000 -1.3802 -84.2814 50.0000 0.0000 -82.7485 1.0000
50.0000 -1.1848 -84.8006 50.0000 0.0000 -82.7485 1.0000
50.0000 -0.9009 -85.5211 50.0000 0.0000 -82.7485 1.0000
50.0000 0.0000 0.0000 50.0000 -1.0000 2.0000 2.3669
50.0000 -1.0000 2.0000 50.0000 0.0000 0.0000 2.3669
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0009 7.1792
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0010 7.1792
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0011 7.2195
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0012 7.2195
50.0000 -0.0010 2.4900 50.0000 0.0009 -2.4900 4.8045
50.0000 -0.0010 2.4900 50.0000 0.0010 -2.4900 4.8045
50.0000 -0.0010 2.4900 50.0000 0.0011 -2.4900 4.7461
50.0000 2.5000 0.0000 50.0000 0.0000 -2.5000 4.3065
50.0000 2.5000 0.0000 73.0000 25.0000 -18.0000 27.1492
50.0000 2.5000 0.0000 61.0000 -5.0000 29.0000 22.8977
50.0000 2.5000 0.0000 56.0000 -27.0000 -3.0000 31.9030
50.0000 2.5000 0.0000 58.0000 24.0000 15.0000 19.4535
50.0000 2.5000 0.0000 50.0000 3.1736 0.5854 1.0000
50.0000 2.5000 0.0000 50.0000 3.2972 0.0000 1.0000
50.0000 2.5000 0.0000 50.0000 1.8634 0.5757 1.0000
50.0000 2.5000 0.0000 50.0000 3.2592 0.3350 1.0000
60.2574 -34.0099 36.2677 60.4626 -34.1751 39.4387 1.2644
63.0109 -31.0961 -5.8663 62.8187 -29.7946 -4.0864 1.2630
61.2901 3.7196 -5.3901 61.4292 2.2480 -4.9620 1.8731
35.0831 -44.1164 3.7933 35.0232 -40.0716 1.5901 1.8645
22.7233 20.0904 -46.6940 23.0331 14.9730 -42.5619 2.0373
36.4612 47.8580 18.3852 36.2715 50.5065 21.2231 1.4146
90.8027 -2.0831 1.4410 91.1528 -1.6435 0.0447 1.4441
90.9257 -0.5406 -0.9208 88.6381 -0.8985 -0.7239 1.5381
6.7747 -0.2908 -2.4247 5.8714 -0.0985 -2.2286 0.6377
2.0776 0.0795 -1.1350 0.9033 -0.0636 -0.5514 0.9082
"""
TABLE = np.array([line.split() for line in PAIRS.strip().splitlines()], dtype=float)

labs = st.tuples(st.floats(0.0, 100.0), st.floats(-120.0, 120.0), st.floats(-120.0, 120.0))


def test_all_published_pairs_in_both_orders() -> None:
    assert len(TABLE) == 34
    for one, two in ((TABLE[:, :3], TABLE[:, 3:6]), (TABLE[:, 3:6], TABLE[:, :3])):
        assert np.abs(delta_e00(one, two) - TABLE[:, 6]).max() <= 1e-4


def test_scalar_vector_and_grid_agree() -> None:
    one, two = TABLE[:, :3], TABLE[:, 3:6]
    vector = delta_e00(one, two)
    assert [float(delta_e00(a, b)) for a, b in zip(one, two, strict=True)] == vector.tolist()
    grid = delta_e00(one.reshape(2, 17, 3), two.reshape(2, 17, 3))
    assert grid.reshape(-1).tolist() == vector.tolist()


def test_agrees_with_colour_science_on_random_colours() -> None:
    import colour

    rng = np.random.default_rng(7)
    colours = rng.uniform((0, -100, -100), (100, 100, 100), (200, 3))
    for lab in colours[:20]:
        wanted = colour.delta_E(np.tile(lab, (200, 1)), colours, method="CIE 2000")
        assert delta_e00(lab, colours) == pytest.approx(wanted, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(labs)
def test_lab_round_trip(lab: tuple[float, float, float]) -> None:
    assert lab_of_ratios(ratios_of_lab(lab)) == pytest.approx(lab, abs=1e-9)


def test_srgb_codes() -> None:
    # From memory of IEC 61966-2-1, not re-read: code 128 and 64 in linear light.
    assert decode_srgb(128 / 255) == pytest.approx(0.2158605, abs=1e-6)
    assert decode_srgb(64 / 255) == pytest.approx(0.0512695, abs=1e-6)
    assert 255.0 * encode_srgb(0.1) == pytest.approx(89.04, abs=0.01)
    assert 255.0 * encode_srgb(0.01) == pytest.approx(25.46, abs=0.01)


def test_one_value_is_encoded_as_arrays_are() -> None:
    values = np.linspace(-0.1, 1.1, 241)
    one_by_one = [encode_value(value) for value in values.tolist()]
    assert one_by_one == pytest.approx(encode_srgb(values).tolist(), abs=1e-12)
    assert bytes_of_linear((0.0, 0.2158605, 2.0)) == (0, 128, 255)


def test_srgb_to_lab_against_colour_science() -> None:
    import colour

    code = np.random.default_rng(3).random((50, 3))
    xyz = colour.sRGB_to_XYZ(code)
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    assert np.abs(lab_of_srgb(code) - colour.XYZ_to_Lab(xyz, white)).max() < 0.05
    assert encode_srgb(linear_srgb_of_lab(lab_of_srgb(code))) == pytest.approx(code, abs=1e-9)


def test_white_is_white_and_hue_wraps() -> None:
    assert lab_of_srgb((1.0, 1.0, 1.0)) == pytest.approx((100.0, 0.0, 0.0), abs=0.02)
    assert hue_shift_deg((50, 10, 1), (50, 10, -1)) == pytest.approx(2 * 5.710593, abs=1e-5)


def test_hex() -> None:
    assert parse_hex("#ff8000") * 255.0 == pytest.approx((255, 128, 0))
    assert parse_hex("#f80") == pytest.approx(parse_hex("#ff8800"))
    for wrong in ("#ff80", "ruby", "#gg0000", ""):
        with pytest.raises(ColourError):
            parse_hex(wrong)
