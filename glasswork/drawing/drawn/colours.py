"""Colour schemes of drawn windows: what glass each part takes.

The colours are those of the invented palette `harbour`; another palette takes its nearest glasses.
"""

from __future__ import annotations

from random import Random

from msgspec import Struct


class Scheme(Struct, frozen=True, kw_only=True):
    """Colours by part, #rrggbb.

    field : quarries, from sill to apex · strip : the border's pieces in turn · ground : what is
    left between tracery and arch · medallion : round about a foil · foil, eye : the foil and its
    middle · petals : in turn, one pair for each ring
    """

    title: str
    field: tuple[str, ...]
    strip: tuple[str, ...]
    ground: str
    medallion: str
    foil: str
    eye: str
    petals: tuple[tuple[str, str], ...]


SCHEMES: dict[str, Scheme] = {
    "tide": Scheme(
        title="from deep water to morning sky, amber about it",
        field=("#1c7479", "#63b3be", "#8ec5aa", "#cfe9df", "#cde3f0", "#7db0da"),
        strip=("#d98a1f", "#f0cd84"),
        ground="#213f93",
        medallion="#1c2a63",
        foil="#d98a1f",
        eye="#a4161f",
        petals=(("#63b3be", "#1c7479"), ("#d98a1f", "#e3b12d"), ("#213f93", "#2f5fa6")),
    ),
    "lamp": Scheme(
        title="a ferry lamp at night: straw and amber, ruby about it",
        field=("#a9580f", "#d98a1f", "#e3b12d", "#f0cd84", "#f4e6b4", "#efcbae"),
        strip=("#7a0f1c", "#a4161f"),
        ground="#1c2a63",
        medallion="#7a0f1c",
        foil="#e3b12d",
        eye="#f4e6b4",
        petals=(("#f0cd84", "#d98a1f"), ("#a4161f", "#7a0f1c"), ("#213f93", "#443063")),
    ),
    "reeds": Scheme(
        title="reed beds: greens over old clear glass, copper about it",
        field=("#47692b", "#86a544", "#d5e2b0", "#eff3e9", "#f4e6b4", "#8ec5aa"),
        strip=("#8a4a2c", "#b88a5c"),
        ground="#1f5a3c",
        medallion="#1c7479",
        foil="#e3b12d",
        eye="#9c2350",
        petals=(("#86a544", "#47692b"), ("#f0cd84", "#e3b12d"), ("#1c7479", "#1f5a3c")),
    ),
    "dusk": Scheme(
        title="the last light over the quay: deep water below, amber and rose above",
        field=("#2f5fa6", "#1c7479", "#63b3be", "#d98a1f", "#e3b12d", "#f0cd84", "#efcbae"),
        strip=("#a4161f", "#7a0f1c"),
        ground="#213f93",
        medallion="#a4161f",
        foil="#e3b12d",
        eye="#f4e6b4",
        petals=(("#d98a1f", "#e3b12d"), ("#2f5fa6", "#63b3be"), ("#a4161f", "#7a0f1c")),
    ),
    "salt": Scheme(
        title="old clear glass and pale tints within amber, for bright workrooms",
        field=("#cfe9df", "#fbfbf7", "#d5e2b0", "#eff3e9", "#cde3f0", "#f4e6b4"),
        strip=("#d98a1f", "#e3b12d"),
        ground="#2f5fa6",
        medallion="#2f5fa6",
        foil="#e3b12d",
        eye="#f4e6b4",
        petals=(("#eff3e9", "#cde3f0"), ("#e3b12d", "#d98a1f"), ("#2f5fa6", "#7db0da")),
    ),
    "clear": Scheme(
        title="old clear glass and pale tints, for houses and workshops",
        field=("#eff3e9", "#cfe9df", "#fbfbf7", "#cde3f0", "#f4e6b4", "#eff3e9"),
        strip=("#8ec5aa", "#cfe9df"),
        ground="#cde3f0",
        medallion="#7db0da",
        foil="#f0cd84",
        eye="#d98a1f",
        petals=(("#cfe9df", "#8ec5aa"), ("#f4e6b4", "#f0cd84"), ("#cde3f0", "#7db0da")),
    ),
}
NO_COLOURS = "none"


class Glazier:
    """Gives out colours by part; the same ones for the same seed. Without a scheme, none."""

    def __init__(self, scheme: str, seed: int) -> None:
        self.scheme = SCHEMES.get(scheme)
        self._dice = Random(seed)

    def field(self, height: float) -> str | None:
        """A quarry at a height between sill 0 and apex 1, a little at random."""
        if self.scheme is None:
            return None
        tints = self.scheme.field
        place = height * len(tints) + self._dice.uniform(-0.9, 0.9)
        return tints[min(len(tints) - 1, max(0, int(place)))]

    def strip(self, index: int) -> str | None:
        return None if self.scheme is None else self.scheme.strip[index % len(self.scheme.strip)]

    def petal(self, ring: int, index: int) -> str | None:
        if self.scheme is None:
            return None
        return self.scheme.petals[ring % len(self.scheme.petals)][index % 2]

    def part(self, name: str) -> str | None:
        """ground, medallion, foil or eye."""
        return None if self.scheme is None else str(getattr(self.scheme, name))
