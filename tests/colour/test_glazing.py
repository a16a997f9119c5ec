"""Which pane gets which glass."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from glasswork.colour.glazing import choose_glass, even_scheme
from glasswork.errors import Faults, ProfileError
from glasswork.model.palette import Glass, Palette
from glasswork.model.window import Window

Windows = Callable[..., Window]


def test_the_drawn_colour_finds_its_glass(harbour: Palette, window_of: Windows) -> None:
    ruby, cobalt = harbour.glass("ruby").srgb, harbour.glass("cobalt").srgb
    window = window_of([None] * 3, fills=[ruby, cobalt, "#a31820"])
    glazed, told = choose_glass(window, harbour, chosen={}, groups={})
    assert [pane.glass for pane in glazed.panes] == ["ruby", "cobalt", "ruby"]
    assert told == ()


def test_the_chosen_glass_wins(harbour: Palette, window_of: Windows) -> None:
    window = window_of([None] * 2, fills=["#a4161f", "#a4161f"])
    glazed, _ = choose_glass(window, harbour, chosen={"p1": "kelp"}, groups={})
    assert [pane.glass for pane in glazed.panes] == ["ruby", "kelp"]


def test_a_far_colour_is_told_of(harbour: Palette, window_of: Windows) -> None:
    window = window_of([None], fills=["#ff00ff"])
    _, told = choose_glass(window, harbour, chosen={}, groups={})
    assert "ΔE00" in told[0].what
    assert told[0].where == "colour #ff00ff"


@pytest.mark.parametrize("fills", [None, ["#ffffff"] * 6])
def test_without_colours_neighbours_differ(
    harbour: Palette, fills: list[str] | None, window_of: Windows
) -> None:
    window = window_of([None] * 6, fills=fills)
    groups = {f"p{i}": i % 3 for i in range(6)}
    glazed, told = choose_glass(window, harbour, chosen={}, groups=groups)
    for one, other in zip(glazed.panes, glazed.panes[1:], strict=False):
        assert one.glass != other.glass
    assert "glazed by scheme" in told[-1].what


def test_a_scheme_never_shares_a_glass(harbour: Palette) -> None:
    scheme = even_scheme(harbour, 6)
    used = [glass for family in scheme for glass in family]
    assert len(used) == len(set(used))
    labs = [harbour.glass(family[0]) for family in scheme]
    assert len({glass.id for glass in labs}) == 6


def test_a_small_palette_still_glazes(window_of: Windows) -> None:
    palette = Palette(
        name="tiny", title="tiny", glasses=(Glass(id="a", title="a", srgb="#336699"),)
    )
    glazed, _ = choose_glass(window_of([None] * 3), palette, chosen={}, groups={"p1": 1, "p2": 2})
    assert {pane.glass for pane in glazed.panes} == {"a"}


def test_unknown_names_list_the_near_ones(harbour: Palette, window_of: Windows) -> None:
    window = window_of([None])
    with pytest.raises(ProfileError, match=r"near names: .*cobalt") as caught:
        choose_glass(window, harbour, chosen={"p0": "kobalt"}, groups={})
    assert 'no glass "kobalt"' in caught.value.what
    with pytest.raises(Faults) as both:
        choose_glass(window, harbour, chosen={"p9": "nosuch"}, groups={})
    assert len(both.value.faults) == 2


def test_lab_and_spectral_glasses_match_fills(window_of: Windows) -> None:
    grey = Glass(id="grey", title="grey", transmittance=(0.5,) * 36)
    red = Glass(id="red", title="red", lab=(40.0, 60.0, 40.0))
    palette = Palette(name="two", title="two", glasses=(grey, red))
    window = window_of([None] * 2, fills=["#b0b0b0", "#b02020"])
    glazed, _ = choose_glass(window, palette, chosen={}, groups={})
    assert [pane.glass for pane in glazed.panes] == ["grey", "red"]
