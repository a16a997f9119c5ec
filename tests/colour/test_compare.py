"""Films compared: composed stacks near the palette, stacks made by hand far from it."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from glasswork.colour.by_hand import by_hand_differences
from glasswork.colour.compare import by_hand_separation, compare_films

sys.path.insert(0, str(Path(__file__).parent / "finish"))  # its sheets.py makes the glass

from sheets import light, palette, printer, window


def test_captions_and_counts() -> None:
    trials = compare_films(window(), palette(), printer(), light())
    assert [separation.count for _, separation in trials] == [1, 2, 3, 1, 2]
    assert [caption.split(":")[0] for caption, _ in trials] == [
        "composed, one film",
        "composed, two films",
        "composed, three films",
        "by hand, one film",
        "by hand, two films",
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
    apart = by_hand_differences(palette().glasses, printer(), light(), films=films)
    assert [glass.delta_e00 for glass in made.glasses] == pytest.approx(apart, abs=0.02)
