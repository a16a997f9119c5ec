"""Instruments' files: nine real ones, and every way in which such files go wrong."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.errors import GlassworkError, ReadError
from glasswork.model.reading import Readings
from glasswork.readers.cgats import read_cgats, read_tables
from glasswork.readers.readings_table import numbers
from glasswork.writers.cgats import write_cgats

ICC = Path("/usr/share/color/icc")
COUNTS = {
    "FOGRA28L": 1485,
    "FOGRA29L": 1485,
    "FOGRA30L": 1485,
    "FOGRA39L": 1617,
    "FOGRA40L": 1617,
    "TR002": 928,
    "TR003": 1617,
    "TR005": 1617,
    "TR006": 1617,
}
"""Set counts as the files state them. Debian icc-profiles-free 2.0.1+dfsg-1.1, zlib licence."""

needs_files = pytest.mark.skipif(
    not (ICC / "FOGRA39L.ti3").exists(), reason="Debian package icc-profiles-free is not installed"
)


@needs_files
@pytest.mark.parametrize(("name", "count"), COUNTS.items())
def test_real_characterisation_files(name: str, count: int) -> None:
    """Set counts as stated; the file's own Lab follows from its XYZ within 0.35 ΔE*ab."""
    data = (ICC / f"{name}.ti3").read_bytes()
    (table,) = read_tables(data, where=name)
    assert len(table.rows) == count

    def columns(*names: str) -> np.ndarray:
        return numbers(table, [table.fields.index(n) for n in names], name)

    xyz, lab = columns("XYZ_X", "XYZ_Y", "XYZ_Z"), columns("LAB_L", "LAB_A", "LAB_B")
    # CIELAB against D50 as ISO 13655 has it (X 96.422, Z 82.521).
    t = xyz / [96.422, 100.0, 82.521]
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t * 841 / 108 + 4 / 29)
    own = np.stack(
        (116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])), axis=1
    )
    assert np.linalg.norm(own - lab, axis=1).max() <= 0.35
    readings = read_cgats(data, where=name)
    assert (readings.kind, readings.colorant) == ("xyz", "cmyk")
    assert readings.device.shape == (count, 4)
    assert readings.device.min() == 0.0
    assert readings.device.max() == 1.0


HEAD = 'CGATS.17\nORIGINATOR "Varnholt pilot station (invented)"\n'


def text(
    fields: str,
    rows: list[str],
    *,
    sets: int | None = None,
    wide: int | None = None,
    head: str = HEAD,
) -> bytes:
    names = fields.split()
    return (
        head
        + f"NUMBER_OF_FIELDS {wide if wide is not None else len(names)}\n"
        + f"BEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\n"
        + f"NUMBER_OF_SETS {sets if sets is not None else len(rows)}\n"
        + "BEGIN_DATA\n"
        + "\n".join(rows)
        + "\nEND_DATA\n"
    ).encode()


XYZ = "SAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z"
ROWS = ["1 255 255 255 90 92 80", "2 0 0 0 1 1 1", "3 255 0 0 40 20 4"]


def test_scale_and_relation_to_bare_film() -> None:
    readings = read_cgats(text(XYZ, ROWS), where="a")
    assert readings.device[1:].tolist() == [[0, 0, 0], [1, 0, 0]]
    assert np.allclose(readings.values[0], 1.0)
    assert np.allclose(readings.values[2], [40 / 90, 20 / 92, 4 / 80])


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d.replace(b"\n", b"\r\n"),
        lambda d: d.replace(b" ", b"\t"),
        lambda d: d.replace(b"CGATS.17", b"CTI3"),
        lambda d: d.replace(b"BEGIN_DATA\n", b"# noted by \xe9 hand\nBEGIN_DATA\n# here too\n\n"),
        lambda d: d.replace(b" 40 ", b" 40,0 "),
        lambda d: b"\xef\xbb\xbf" + d,
        lambda d: d.decode().encode("utf-16"),
        lambda d: d.replace(b"BEGIN_DATA_FORMAT\nSAMPLE_ID ", b"BEGIN_DATA_FORMAT\nSAMPLE_ID\n"),
        lambda d: d.replace(b"1 255 255 255", b'"A 1" 255 255 255'),
    ],
    ids=[
        "crlf",
        "tabs",
        "identifier",
        "comments",
        "decimal comma",
        "bom",
        "utf16",
        "folded",
        "quotes",
    ],
)
def test_hazards_seen_in_real_files(change) -> None:  # type: ignore[no-untyped-def]
    plain, odd = (
        read_cgats(text(XYZ, ROWS), where="a"),
        read_cgats(change(text(XYZ, ROWS)), where="a"),
    )
    assert np.allclose(plain.values, odd.values)
    assert np.allclose(plain.device, odd.device)


@pytest.mark.parametrize("name", ["SPECTRAL_{}", "nm{}", "SPECTRAL_NM_{}", "SPECTRAL_NM{}"])
@pytest.mark.parametrize("percent", [False, True])
def test_both_forms_of_spectral_fields(name: str, percent: bool) -> None:
    nm = list(range(380, 731, 10))
    fields = "SAMPLE_ID RGB_R RGB_G RGB_B " + " ".join(name.format(n) for n in nm)
    full = 100.0 if percent else 1.0
    rows = [
        "1 255 255 255 " + " ".join([f"{0.9 * full:g}"] * 36),
        "2 0 0 0 " + " ".join(f"{full * 0.9 * (n - 370) / 400:.6g}" for n in nm),
    ]
    readings = read_cgats(text(fields, rows), where="a")
    assert readings.kind == "spectral"
    assert np.allclose(readings.values[1], [(n - 370) / 400 for n in nm], atol=1e-4)


def test_twenty_nm_spectra_are_brought_onto_the_grid() -> None:
    nm = list(range(400, 701, 20))
    fields = "RGB_R RGB_G RGB_B " + " ".join(f"SPECTRAL_{n}" for n in nm)
    rows = ["255 255 255 " + " ".join(["1"] * 16), "0 0 0 " + " ".join(f"{n / 1000:g}" for n in nm)]
    values = read_cgats(text(fields, rows), where="a").values[1]
    assert np.allclose(values[2:33], np.arange(400, 701, 10) / 1000)
    assert values[0] == pytest.approx(0.4)


def test_densities_are_taken_above_the_base() -> None:
    rows = ["255 255 255 0.05 0.06 0.07", "0 0 0 1.05 1.06 1.07"]
    readings = read_cgats(text("RGB_R RGB_G RGB_B D_RED D_GREEN D_BLUE", rows), where="a")
    assert readings.kind == "density"
    assert np.allclose(readings.values, [[0, 0, 0], [1, 1, 1]])


def test_second_table_is_found_if_the_first_holds_no_colours() -> None:
    first = text("SAMPLE_ID NOTE", ["1 fine"])
    assert read_cgats(first + text(XYZ, ROWS, head=""), where="a").kind == "xyz"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"hello\n", "no BEGIN_DATA"),
        (b"\x00\x01\x02" * 100, "not a text file"),
        (text(XYZ, ROWS, sets=4), "NUMBER_OF_SETS says 4, found 3"),
        (text(XYZ, ROWS, wide=9), "NUMBER_OF_FIELDS says 9, found 7"),
        (text(XYZ, ["1 255 255 255 90 92"], sets=1), "6 values for 7 fields"),
        (text(XYZ, [ROWS[0], ROWS[1].replace("1 1 1", "1 NaN 1")]), "not a finite number"),
        (text(XYZ, [ROWS[0], ROWS[1].replace("1 1 1", "1 -- 1")]), "is not a number"),
        (text("RGB_R RGB_G XYZ_X XYZ_Y XYZ_Z", ["255 255 9 9 9"]), "field RGB_B is missing"),
        (text("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", ["1 9 9 9"]), "no device values"),
        (text("RGB_R RGB_G RGB_B", ["255 255 255"]), "nothing measured"),
        (text("RGB_R RGB_R RGB_B", ["255 255 255"]), "stands twice"),
        (text(XYZ, [ROWS[1], ROWS[2]]), "no patch without ink"),
        (text(XYZ, ["1 300 255 255 9 9 9"]), "not within 0 to 255"),
        (text(XYZ, [*ROWS, "4 0 255 0 190 192 180"]), "times as bright as bare film"),
        (text(XYZ, ROWS).split(b"END_DATA\n")[0], "without END_DATA"),
        (text("RGB_R RGB_G RGB_B SPECTRAL_400 SPECTRAL_500", ["255 255 255 1 1"]), "2 spectral"),
    ],
)
def test_bad_input_is_named(data: bytes, says: str) -> None:
    with pytest.raises(GlassworkError, match=says) as caught:
        read_cgats(data, where="wrong.txt")
    assert "wrong.txt" in str(caught.value)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=300), st.integers(0, 250))
def test_damaged_files_never_crash(noise: bytes, at: int) -> None:
    good = text(XYZ, ROWS)
    with suppress(GlassworkError):
        read_cgats(good[:at] + noise + good[at + len(noise) :], where="a")


@pytest.mark.parametrize(("kind", "bands"), [("spectral", 36), ("xyz", 3), ("density", 3)])
def test_what_is_written_is_read_back(kind: str, bands: int) -> None:
    rng = np.random.default_rng(3)
    device = np.vstack(([1.0, 1.0, 1.0], rng.integers(0, 256, (30, 3)) / 255))
    values = rng.uniform(0.01, 0.9, (31, bands))
    values[0] = 0.0 if kind == "density" else 1.0
    told = Readings(
        kind=kind,
        device=device,
        values=values,
        weight=np.ones(31),
        films=2,
        source="b",
        strip="GLASSWORK F5 17",
        names=tuple(f"A{i}" for i in range(31)),
    )
    data = write_cgats([told], created="2026-01-02")
    back = read_cgats(data, where="b")
    assert (back.kind, back.films, back.strip) == (kind, 2, "GLASSWORK F5 17")
    assert back.names == told.names
    assert np.allclose(back.device, device, atol=2e-5)
    assert np.allclose(back.values, values, rtol=1e-4, atol=1e-5)


def test_a_camera_s_readings_are_read_back_whole() -> None:
    """Values below zero, trust, and which values are the least that could be shown."""
    rng = np.random.default_rng(5)
    device = np.vstack(([1.0, 1.0, 1.0], rng.integers(0, 256, (20, 3)) / 255))
    values = rng.uniform(-0.05, 1.05, (21, 3))
    values[0] = 1.0
    told = Readings(
        kind="camera",
        device=device,
        values=values,
        weight=np.round(rng.uniform(0, 1, 21), 2),
        least=rng.random((21, 3)) < 0.3,
    )
    back = read_cgats(write_cgats([told], created="2026-01-02"), where="b")
    assert back.kind == "camera"
    assert np.allclose(back.values, values, atol=1e-5)
    assert np.allclose(back.weight, told.weight, atol=1e-3)
    assert back.least is not None
    assert (back.least == told.least).all()


def test_written_file_follows_the_standard() -> None:
    """Identifier first, quoted strings, counts that agree, extra keywords declared [cgats17]."""
    told = Readings(kind="xyz", device=np.ones((1, 3)), values=np.ones((1, 3)), weight=np.ones(1))
    lines = write_cgats([told], created="2026-01-02").decode().split("\r\n")
    assert lines[0] == "CGATS.17"
    assert 'CREATED "2026-01-02"' in lines
    for word in ("FILMS", "DEVICE_SCALE", "WEIGHT"):
        assert f'KEYWORD "{word}"' in lines
    with pytest.raises(ReadError):
        read_cgats("\n".join(lines[:-3]).encode(), where="cut")
