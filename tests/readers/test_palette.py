"""Palettes: every way to say a colour, and every way to say it wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.errors import Faults, GlassworkError, ProfileError, ReadError
from glasswork.readers.palette import read_palette

HARBOUR = Path(__file__).parents[2] / "profiles" / "palettes" / "harbour.toml"


def _none(name: str) -> bytes:
    raise ReadError(name, "no such file", "")


def _read(body: str, *, files: dict[str, bytes] | None = None):  # type: ignore[no-untyped-def]
    kept = files or {}
    return read_palette(
        f'title = "t"\n{body}'.encode(),
        where="rack.toml",
        sibling=lambda name: kept[name] if name in kept else _none(name),
    )


def test_each_way_to_say_a_colour() -> None:
    flat = ", ".join(["0.5"] * 36)
    csv = b"nm,T\n" + b"".join(b"%d,%.2f\n" % (nm, nm / 1000) for nm in range(380, 781, 20))
    found = _read(
        '[[glass]]\nid = "a"\nsrgb = "#AA2233"\n'
        '[[glass]]\nid = "b"\nlab = [40, 50, 30]\nfinish = "opal"\n'
        f'[[glass]]\nid = "c"\ntransmittance = [{flat}]\n'
        '[[glass]]\nid = "d"\ncsv = "d.csv"\ntitle = "Dee"\n',
        files={"d.csv": csv},
    )
    a, b, c, d = found.glasses
    assert a.srgb == "#aa2233"
    assert b.lab == (40.0, 50.0, 30.0)
    assert b.finish == "opal"
    assert c.transmittance == (0.5,) * 36
    assert d.transmittance is not None
    assert d.transmittance[12] == pytest.approx(0.5)
    assert (a.title, d.title) == ("a", "Dee")


@pytest.mark.parametrize(
    ("body", "where", "what"),
    [
        ('[[glass]]\nid = "a"\n', "glass[0]", "nothing says the colour"),
        (
            '[[glass]]\nid = "a"\nsrgb = "#000000"\nlab = [1, 2, 3]\n',
            "glass[0]",
            "srgb and lab says",
        ),
        ('[[glass]]\nid = "a"\nsrgb = "red"\n', "glass[0].srgb", '"red" is not a colour'),
        ('[[glass]]\nid = "A b"\nsrgb = "#000000"\n', "glass[0].id", "not a short name"),
        ('[[glass]]\nid = "a"\nlab = [140, 0, 0]\n', "glass[0].lab", "not a CIELAB"),
        ('[[glass]]\nid = "a"\ntransmittance = [0.5]\n', "glass[0].transmittance", "1 values, 36"),
        (
            f'[[glass]]\nid = "a"\ntransmittance = [{", ".join(["50"] * 36)}]\n',
            "glass[0].transmittance",
            "50 is not between",
        ),
        ('[[glass]]\nid = "a"\nsrgb = "#000000"\nfinish = "shiny"\n', "glass[0].finish", "shiny"),
        ('[[glass]]\nid = "a"\ncolor = "#000000"\n', "glass[0]", 'unknown key "color"'),
        ("glass = []\n", "glass", "0 glasses"),
        ("", "rack.toml", '"glass" is missing'),
    ],
)
def test_what_is_refused(body: str, where: str, what: str) -> None:
    with pytest.raises(ProfileError) as caught:
        _read(body)
    assert where in caught.value.where
    assert what in caught.value.what


def test_one_id_twice_and_several_faults() -> None:
    with pytest.raises(Faults) as caught:
        _read('[[glass]]\nid = "a"\nsrgb = "#000000"\n[[glass]]\nid = "a"\nsrgb = "#fff"\n')
    assert [fault.what for fault in caught.value.faults] == [
        'the id "a" is there twice',
        '"#fff" is not a colour',
    ]


def test_a_named_file_that_is_missing_or_no_spectrum() -> None:
    body = '[[glass]]\nid = "a"\ncsv = "a.csv"\n'
    with pytest.raises(ReadError, match="no such file"):
        _read(body)
    for data in (
        b"",
        b"nm,T\n400,x\n",
        b"400,0.5\n300,0.4\n",
        b"0.4,1\n0.5,1\n",
        b"500,1\n510,1\n",
    ):
        with pytest.raises(GlassworkError):
            _read(body, files={"a.csv": data})


def test_the_shipped_palette_covers_the_trade() -> None:
    found = read_palette(HARBOUR.read_bytes(), where=HARBOUR.name, sibling=_none)
    assert found.invented
    assert len(found.glasses) >= 24
    ids = {glass.id for glass in found.glasses}
    assert {"ruby", "cobalt", "amber", "opal-white", "flesh", "straw", "emerald", "violet"} <= ids
    finishes = {glass.finish for glass in found.glasses}
    assert finishes == {
        "clear", "cathedral", "seedy", "streaky", "wispy", "hammered", "rippled", "opal", "antique",
    }  # fmt: skip
