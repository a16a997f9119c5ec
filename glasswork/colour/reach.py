"""What one, two and three films reach: outlines at several lightnesses, and the palette in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.cielab import srgb_of_lab
from glasswork.colour.predict import StackModel, make_stack
from glasswork.colour.separate import COUNTS, WITHIN, print_glasses
from glasswork.colour.solve import solve
from glasswork.colour.spectra import Floats
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.reach import GlassReach, Pair, Reach, Slice

LIGHTNESSES: Final = (15.0, 30.0, 45.0, 60.0, 75.0, 90.0)
HUES: Final = 60

_TOUCHES: Final = 0.3
"""A colour is on the outline when it is missed by no more than this ΔE00."""

_MOST: Final = 160.0


def find_reach(
    palette: Palette,
    profile: PrinterProfile,
    light: Light,
    *,
    counts: Sequence[int] = COUNTS,
    lightnesses: Sequence[float] = LIGHTNESSES,
) -> Reach:
    """Outlines of the reach, and what each glass of the palette misses.

    Raises: ColourError, if the printer or light is wrong
    """
    slices = []
    for films in counts:
        model = make_stack(profile, light, films)
        outlines = reach_outlines(model, lightnesses)
        slices += [
            Slice(films=films, lightness=float(level), outline_ab=outline)
            for level, outline in zip(lightnesses, outlines, strict=True)
        ]
    stacks = [print_glasses(palette.glasses, profile, light, films=n) for n in counts]
    return Reach(
        printer=profile.name,
        light=light.name,
        palette=palette.name,
        counts=tuple(counts),
        limit=WITHIN,
        slices=tuple(slices),
        glasses=tuple(
            GlassReach(
                id=glass.id,
                title=glass.title,
                lab=_triple(stacks[0].wanted[i]),
                srgb=_triple(srgb_of_lab(stacks[0].wanted[i])),
                delta_e00=tuple(float(stack.off[i]) for stack in stacks),
            )
            for i, glass in enumerate(palette.glasses)
        ),
    )


def reach_outlines(
    model: StackModel, lightnesses: Sequence[float], *, hues: int = HUES
) -> list[tuple[Pair, ...]]:
    """The strongest colour at each lightness and hue, found by halving the chroma.

    Returns: for each lightness, a*, b* at even steps of hue; nothing where its grey is missed
    """
    rays = _Rays(model, np.asarray(lightnesses, dtype=float), hues)
    rays.halve(8, near=False)
    for _ in range(2):
        rays.ask_neighbours()
        rays.halve(4, near=True)
    points = (rays.low[:, None] * rays.ray).reshape(len(lightnesses), hues, 2)
    return [
        tuple((float(a), float(b)) for a, b in row) if grey else ()
        for row, grey in zip(points, rays.greys, strict=True)
    ]


class _Rays:
    """Rays of one hue at one lightness each. low : chroma that is met; high : that is not"""

    def __init__(self, model: StackModel, levels: Floats, hues: int) -> None:
        angle = np.linspace(0.0, 2.0 * np.pi, hues, endpoint=False)
        self.model, self.hues = model, hues
        self.level = np.repeat(levels, hues)
        self.ray = np.tile(np.stack((np.cos(angle), np.sin(angle)), axis=-1), (len(levels), 1))
        self.low, self.high = np.zeros(len(self.level)), np.full(len(self.level), _MOST)
        met, self.device = self._met(np.zeros(len(self.level)), None)
        self.greys = met[::hues]

    def halve(self, times: int, *, near: bool) -> None:
        """near : begin each search at the last colour met on the ray, not anywhere"""
        for _ in range(times):
            middle = 0.5 * (self.low + self.high)
            met, found = self._met(middle, self.device if near else None)
            self.low = np.where(met, middle, self.low)
            self.high = np.where(met, self.high, middle)
            self.device = np.where(met[:, None], found, self.device)

    def ask_neighbours(self) -> None:
        """A ray that falls short of its neighbours begins anew from where they ended."""
        for side in (1, -1, 2, -2):
            chroma = self._turned(self.low, side)
            met, found = self._met(chroma, self._turned(self.device, side))
            longer = met & (chroma > self.low)
            self.low = np.where(longer, chroma, self.low)
            self.device = np.where(longer[:, None], found, self.device)
        self.high = np.maximum(1.1 * self.low, self.low + 2.0)

    def _turned(self, values: Floats, side: int) -> Floats:
        shaped = values.reshape(-1, self.hues, *values.shape[1:])
        return np.roll(shaped, side, axis=1).reshape(values.shape)

    def _met(self, chroma: Floats, starts: Floats | None) -> tuple[NDArray[np.bool_], Floats]:
        wanted = np.concatenate((self.level[:, None], chroma[:, None] * self.ray), axis=1)
        found = solve(self.model, wanted, starts=starts, rounds=14, thorough=False)
        return found.miss <= _TOUCHES, found.device


def _triple(values: Floats) -> tuple[float, float, float]:
    a, b, c = (float(v) for v in values)
    return (a, b, c)
