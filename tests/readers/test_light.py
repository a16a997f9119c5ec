"""Lights: tables, files, temperatures, diffusers."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.errors import ProfileError, ReadError
from glasswork.readers.light import read_light
from glasswork.readers.spectrum import FINE_NM, onto_grid, read_spectrum


def _read(body: str, **files: bytes):  # type: ignore[no-untyped-def]
    kept = {name.replace("_", "."): data for name, data in files.items()}
    return read_light(f'title = "t"\n{body}'.encode(), where="lamp.toml", sibling=kept.__getitem__)


def _csv(nm: np.ndarray, values: np.ndarray, separator: str = ",") -> bytes:
    rows = (f"{a:g}{separator}{b:.6g}" for a, b in zip(nm, values, strict=True))
    return ("nm" + separator + "power\n" + "\n".join(rows)).encode()


def test_a_black_body_is_that_of_colour_science() -> None:
    import colour

    found = _read("kelvin = 2700")
    table = colour.sd_blackbody(2700, colour.SpectralShape(380, 780, 5)).values
    assert np.array(found.fine) == pytest.approx(table / table.max(), rel=5e-4)  # it rounds c2


@pytest.mark.parametrize("kelvin", [4500, 6504, 9300])
def test_daylight_is_that_of_colour_science(kelvin: int) -> None:
    import colour

    found = _read(f'kelvin = {kelvin}\nfamily = "daylight"')
    xy = colour.CCT_to_xy(kelvin, method="CIE Illuminant D Series")
    table = colour.sd_CIE_illuminant_D_series(xy, shape=colour.SpectralShape(380, 780, 5)).values
    assert np.array(found.fine) == pytest.approx(table / table.max(), abs=2e-3)


def test_a_csv_of_any_step() -> None:
    smooth = lambda nm: np.exp(-(((nm - 560.0) / 90.0) ** 2))  # noqa: E731
    wanted = smooth(FINE_NM)
    for step in (1, 2, 5, 10):
        nm = np.arange(360.0, 801.0, step)
        for separator in (",", ";", "\t", " "):
            found = _read('csv = "lamp.csv"', lamp_csv=_csv(nm, smooth(nm), separator))
            assert np.array(found.fine) == pytest.approx(wanted, abs=4e-3)


def test_a_narrow_line_keeps_its_power() -> None:
    nm = np.arange(380.0, 781.0, 1.0)
    for line in (545.0, 546.0, 547.0, 548.0):
        values = np.where(nm == line, 1.0, 0.0)
        assert onto_grid(nm, values, FINE_NM, where="t").sum() == pytest.approx(1.0 / 5.0, rel=1e-6)


def test_decimal_commas_and_remarks() -> None:
    nm, values = read_spectrum(b"# lamp\n380;0,5\n\n390;0,75\n", where="t")
    assert nm.tolist() == [380.0, 390.0]
    assert values.tolist() == [0.5, 0.75]


def test_a_diffuser() -> None:
    nm = np.arange(380.0, 731.0, 10.0)
    found = _read('kelvin = 3000\ndiffuser_csv = "d.csv"', d_csv=_csv(nm, nm / 1000.0))
    assert found.diffuser[0] == pytest.approx(0.38)
    assert len(found.diffuser) == 36


@pytest.mark.parametrize(
    ("body", "what"),
    [
        ("", "nothing says the spectrum"),
        ('kelvin = 3000\ncsv = "x.csv"', "csv and kelvin says"),
        ("kelvin = 300", "300 K is not between 1000"),
        ('kelvin = 3000\nfamily = "daylight"', "3000 K is not between 4000"),
        ("power = [1, 2, 3]", "3 values, 81 are wanted"),
        (f"power = [{', '.join(['0'] * 81)}]", "zero all over"),
        (f"power = [{', '.join(['1'] * 80 + ['-1'])}]", "below zero"),
        ("watts = 3", 'unknown key "watts"'),
    ],
)
def test_what_is_refused(body: str, what: str) -> None:
    with pytest.raises(ProfileError) as caught:
        _read(body)
    assert what in caught.value.what


def test_files_that_are_no_spectrum() -> None:
    for data in (b"", b"nm,power\n", b"400,1,2\n410,1,2\n", b"\xff\xfe\x00", b"500,1\n600,1\n"):
        with pytest.raises(ReadError):
            _read('csv = "x.csv"', x_csv=data)
    nm = np.arange(380.0, 731.0, 10.0)
    with pytest.raises(ProfileError, match="not within 0-1"):
        _read('kelvin = 3000\ndiffuser_csv = "d.csv"', d_csv=_csv(nm, nm / 100.0))
