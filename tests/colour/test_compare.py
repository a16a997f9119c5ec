"""Films compared: composed stacks near the palette, stacks made by hand far from it."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from glasswork.colour.backlight import suit_bulbs
from glasswork.colour.by_hand import print_by_hand
from glasswork.colour.compare import by_hand_separation, compare_films
from glasswork.colour.separate import separate
from glasswork.model.light import Light
from glasswork.readers.light import read_light

sys.path.insert(0, str(Path(__file__).parent / "finish"))  # its sheets.py makes the glass

from sheets import PROFILES, light, palette, printer, window


def test_captions_and_counts() -> None:
    trials = compare_films(window(), palette(), printer(), light())
    assert [separation.count for _, separation in trials] == [1, 2, 3, 1, 2, 3]
    assert [caption.split(":")[0] for caption, _ in trials] == [
        "composed, one film",
        "composed, two films",
        "composed, three films",
        "by hand, one film",
        "by hand, two films",
        "by hand, three films",
    ]
    composed, doubled = trials[1][1], trials[4][1]
    off = [sum(g.delta_e00 for g in s.glasses) / len(s.glasses) for s in (composed, doubled)]
    assert off[0] < 1.5 < 8.0 < off[1]


@pytest.mark.parametrize("films", [1, 2])
def test_by_hand_is_the_palette_printed_as_it_is(films) -> None:
    """Device values are the display's, and the differences agree with the plain sum elsewhere."""
    made = by_hand_separation(window(), palette(), printer(), light(), films=films)
    ruby = made.glass("ruby-clear")
    assert ruby.device == ((0xA4, 0x16, 0x1F),) * films
    apart = print_by_hand(palette().glasses, printer(), light(), films=films).off
    assert [glass.delta_e00 for glass in made.glasses] == pytest.approx(apart, abs=0.02)


def test_bulbs_are_ranked_by_what_the_films_reach_before_them() -> None:
    """The row of a light is what `separate` finds before it; the best comes first."""
    lights = [light(), _light("a"), _light("led-rgb1")]
    rows = suit_bulbs(window(), palette(), printer(), lights, films=1)
    assert {row.light for row in rows} == {found.name for found in lights}
    means = [row.mean_delta_e00 for row in rows]
    assert means == sorted(means)
    for found in lights:
        separation, _ = separate(window(), palette(), printer(), found, films=1)
        row = next(row for row in rows if row.light == found.name)
        table = next(entry for entry in separation.table if entry.count == 1)
        assert row.mean_delta_e00 == pytest.approx(table.mean_delta_e00)
        assert row.area_within_3 == pytest.approx(table.area_within_3)


def _light(name: str) -> Light:
    data = (PROFILES / f"lights/{name}.toml").read_bytes()
    return read_light(data, where=name, sibling=lambda other: (PROFILES / other).read_bytes())
