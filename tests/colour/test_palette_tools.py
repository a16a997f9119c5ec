"""Palette tools: within reach, look-alikes, out of a photo, mapped pictures."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.cielab import delta_e00, hue_shift_deg, lab_of_srgb, parse_hex
from glasswork.colour.palette_tools import (
    colour_word,
    look_alikes,
    mapped_picture,
    palette_from_photo,
    reachable_palette,
    suggest_instead,
)
from glasswork.colour.separate import WITHIN, print_glasses
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.readers.palette import read_palette
from glasswork.writers.palette import write_palette


def test_every_glass_comes_into_reach(harbour: Palette, printers, led: Light) -> None:  # type: ignore[no-untyped-def]
    pigment = printers["pigment-film"]
    before = print_glasses(harbour.glasses, pigment, led, films=2)
    mended = reachable_palette(harbour, pigment, led, films=2)
    after = print_glasses(mended.glasses, pigment, led, films=2)
    assert (before.off > WITHIN).sum() >= 4
    assert after.off[before.off > WITHIN].max() < 0.6
    for i in np.flatnonzero(before.off > WITHIN):
        assert "brought into reach" in mended.glasses[i].note
        if np.hypot(*before.wanted[i, 1:]) > 10.0:
            assert float(hue_shift_deg(after.seen[i], before.wanted[i])) <= 3.0
    kept = [g for g, off in zip(mended.glasses, before.off, strict=True) if off <= WITHIN]
    assert all(glass in harbour.glasses for glass in kept)


def _twins() -> Palette:
    """Two greens beyond any ink, one ruby, and a green that can be had."""
    return Palette(
        name="twins",
        title="twins",
        glasses=(
            Glass(id="green-one", title="", lab=(75.0, -95.0, 40.0)),
            Glass(id="green-two", title="", lab=(75.0, -120.0, 50.5)),
            Glass(id="green-three", title="", lab=(70.0, -30.0, 20.0)),
            Glass(id="ruby", title="", srgb="#a4161f"),
        ),
    )


def test_look_alikes_are_found_and_another_glass_is_named(dye: PrinterProfile, led: Light) -> None:
    palette = _twins()
    ((one, other, left),) = look_alikes(palette, dye, led, films=2)
    assert (one, other) == ("green-one", "green-two")
    assert left < 2.0
    used = ["green-one", "green-two", "ruby"]
    assert suggest_instead("green-two", used, palette, dye, led, films=2) == "green-three"
    everything = [glass.id for glass in palette.glasses]
    assert suggest_instead("green-two", everything, palette, dye, led, films=2) is None


def test_the_shipped_palette_has_no_look_alikes(
    harbour: Palette, dye: PrinterProfile, led: Light
) -> None:
    assert look_alikes(harbour, dye, led, films=2) == ()


def test_a_palette_out_of_a_photo(harbour: Palette) -> None:
    chosen = ["ruby", "cobalt", "gold", "kelp"]
    rng = np.random.default_rng(4)
    codes = np.array([255.0 * parse_hex(harbour.glass(g).srgb or "") for g in chosen])
    shares = np.array([0.4, 0.3, 0.2, 0.1])
    picture = codes[rng.choice(4, (120, 160), p=shares)] + rng.normal(0.0, 3.0, (120, 160, 3))
    found = palette_from_photo(np.clip(picture, 0, 255).astype(np.uint8), count=4)
    assert len(found.glasses) == 4
    for glass, code in zip(found.glasses, codes, strict=True):
        assert (
            float(delta_e00(lab_of_srgb(parse_hex(glass.srgb or "")), lab_of_srgb(code / 255.0)))
            < 2.0
        )
    assert found.glasses[0].note == "40 % of the picture"
    again = palette_from_photo(np.clip(picture, 0, 255).astype(np.uint8), count=4)
    assert again == found


def test_one_colour_makes_one_glass() -> None:
    plain = np.full((20, 20, 3), 90, dtype=np.uint8)
    assert len(palette_from_photo(plain, count=8).glasses) == 1
    with pytest.raises(ColourError):
        palette_from_photo(np.empty((0, 0, 3), dtype=np.uint8))
    with pytest.raises(ColourError):
        palette_from_photo(plain, count=1)


@pytest.mark.parametrize(
    ("code", "word"),
    [
        ("#fdfdfb", "clear"), ("#202020", "black"), ("#808080", "grey"), ("#a4161f", "red"),
        ("#1c2a63", "deep-blue"), ("#cde3f0", "pale-blue"), ("#e3b12d", "amber"),
        ("#19804d", "green"), ("#6a4a94", "violet"),
    ],
)  # fmt: skip
def test_plain_words(code: str, word: str) -> None:
    assert colour_word(lab_of_srgb(parse_hex(code))) == word


def test_palettes_read_back_equal(harbour: Palette) -> None:
    spectral = Glass(id="s", title="S", transmittance=(0.25,) * 36, finish="opal", note="n")
    whole = Palette(
        name="rack", title="t", glasses=(*harbour.glasses, spectral), invented=True, source="s"
    )
    read = read_palette(write_palette(whole), where="rack.toml", sibling=lambda name: name.encode())
    assert read == whole


def test_a_mapped_picture_shows_what_the_stack_would(dye: PrinterProfile, led: Light) -> None:
    code = np.array([[[164, 22, 31], [0, 208, 96], [255, 255, 255], [64, 64, 64]]], dtype=np.uint8)
    shown = mapped_picture(code, dye, led, films=2)
    seen, asked = lab_of_srgb(shown / 255.0)[0], lab_of_srgb(code / 255.0)[0]
    off = delta_e00(seen, asked)
    assert off[0] < 2.5
    assert off[1] > 4.0
    assert float(hue_shift_deg(seen[1], asked[1])) < 6.0
    assert off[2] < 0.5
    assert off[3] < 2.0
