"""Density steps of a finish become device values, so that the pane's mean stays its colour.

At offset t a colour of linear light w becomes g · w^(1 + c·τ) · 10^(-k·τ), with τ = t less the
pane's mean offset: its density swings by the share c of itself and by k. The gains g, one for each
of three wide channels, make the mean of what leaves the pane equal to the flat colour. Where that
cannot be (nothing is lighter than bare film) the swing is halved until it can.

The stack model is asked only for each glass in each finish, along τ and for gains a step up and
down; every pane is then solved from these by straight lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import delta_e00, encode_srgb, lab_of_ratios, linear_srgb_of_lab
from glasswork.colour.finish.cut import OFFSET_OF_LEVEL
from glasswork.colour.finish.fields import FINISH
from glasswork.colour.predict import StackModel
from glasswork.colour.spectra import Floats
from glasswork.colour.table import Cube, codes_of_linear, linear_of_lab, look_up
from glasswork.model.film import GlassOnFilm

MEAN_WITHIN: Final = 0.5
"""A textured pane's mean is this near its flat colour, ΔE00."""

MATT_DARKEST: Final = 0.78
"""Heaviest matting takes the device values down by this share."""

_AIM: Final = 0.2
_TAU: Final = np.linspace(-2.0, 2.0, 33)
_STEP: Final = 0.08
"""Step of a gain, up and down."""
_MOST: Final = 0.35
"""Gains move at most so far from 1."""
_HALVINGS: Final = 6
_WORKERS, _AT_ONCE = 2, 256
"""Panes whose tables are made at once, by so many threads."""


class Tone(Struct, frozen=True, kw_only=True, eq=False):
    """What each level of a pane is.

    device : (films, 256, 3) uint8, what is printed
    lit : (256, 3) uint8, sRGB of the lit stack
    matt_lit : (256,) uint8, by how much matting of 0-255 dims the sRGB picture, 255 = not
    off : ΔE00 of the mean from the flat colour; swing : share of the finish's contrast kept
    """

    device: NDArray[np.uint8]
    lit: NDArray[np.uint8]
    matt_lit: NDArray[np.uint8]
    off: float
    swing: float


class _Rack(Struct, frozen=True, eq=False):
    """Each glass in each finish of the window, once.

    flat : (kinds, films, 3) device values 0-255, one film for all if they are identical
    ratios : (kinds, 3) X/Xn, Y/Yn, Z/Zn of them
    contrast, depth : (kinds,)
    """

    flat: Floats
    ratios: Floats
    contrast: Floats
    depth: Floats
    model: StackModel
    cube: Cube

    def light(self, which: Any) -> Floats:
        """Linear wide RGB of the flat colours, (…, 3)."""
        wide = linear_of_lab(lab_of_ratios(self.ratios[which]))
        return np.asarray(np.clip(wide, 1e-6, 1.0))

    def device(self, which: Any, gains: Floats, swing: Any) -> Floats:
        """Device values 0-255 along τ, (…, τ, films, 3). gains : (…, 3)"""
        light = self.light(which)[:, None, :]
        c = (self.contrast[which] * swing)[:, None, None]
        k = (self.depth[which] * swing)[:, None, None]
        tau = _TAU[None, :, None]
        swung = light ** np.maximum(1.0 + c * tau, 0.05) * 10.0 ** (-k * tau) * gains[:, None, :]
        step = look_up(self.cube, codes_of_linear(swung))
        step -= look_up(self.cube, codes_of_linear(light))
        found = self.flat[which][:, None, :, :] + step[:, :, None, :]
        return np.asarray(np.clip(found, 0.0, 255.0))

    def seen(self, device: Floats) -> Floats:
        """X/Xn, Y/Yn, Z/Zn of device values, (…, 3)."""
        return self.model.transmittance(_values(device, self.model)) @ self.model.weights


class _Lines(Struct, frozen=True, eq=False):
    """What the stack shows along τ, at one swing, for every kind.

    level : (kinds, τ, 3) X/Xn, Y/Yn, Z/Zn at gains of 1
    up, down : (kinds, τ, 3, 3) their slopes by each gain, last axis the gain
    """

    level: Floats
    up: Floats
    down: Floats

    @classmethod
    def of(cls, rack: _Rack, swing: float) -> _Lines:
        kinds = np.arange(len(rack.flat))

        def seen(gains: Floats) -> Floats:
            return rack.seen(rack.device(kinds, np.broadcast_to(gains, (len(kinds), 3)), swing))

        level = seen(np.ones(3))
        slopes = [
            np.stack(
                [
                    (seen(1.0 + sign * _STEP * np.eye(3)[j]) - level) * sign / _STEP
                    for j in range(3)
                ],
                axis=-1,
            )
            for sign in (1.0, -1.0)
        ]
        return cls(level, slopes[0], slopes[1])

    def slopes(self, kinds: Any, gains: Floats) -> Floats:
        """(panes, τ, 3, 3) slopes for gains above or below 1."""
        above = (gains > 0.0)[:, None, None, :]
        return np.asarray(np.where(above, self.up[kinds], self.down[kinds]))


def tones_of(
    glasses: Sequence[GlassOnFilm],
    finishes: Sequence[str],
    histograms: NDArray[np.int64],
    *,
    model: StackModel,
    cube: Cube,
    strength: float = 1.0,
) -> tuple[Tone, ...]:
    """Tones of many panes at once.

    glasses, finishes : one for each pane
    histograms : (panes, 256) pixels at each level, of what shows between the leads
    model : the stack; with device values for each film of its own if the films are unlike
    cube : device values of identical films, see `colour.table`
    """
    rack, kinds = _racked(glasses, finishes, model, cube)
    tau = OFFSET_OF_LEVEL[None, :] - _mean_offset(histograms)[:, None]
    share = _tau_shares(histograms, tau)
    panes = len(kinds)
    off, swing = np.full(panes, np.inf), np.full(panes, strength)
    gains, lit = np.zeros((panes, 3)), np.zeros((panes, len(_TAU), 3))
    left, size = np.arange(panes), strength
    for turn in range(_HALVINGS):
        lines = _Lines.of(rack, size)
        found, miss = _solved(lines, rack, kinds[left], share[left])
        gains[left], off[left], swing[left] = found, miss, size
        slope = lines.slopes(kinds[left], found)
        lit[left] = lines.level[kinds[left]] + (slope @ found[:, None, :, None])[..., 0]
        left = left[miss > _AIM]
        if not len(left):
            break
        size = 0.0 if turn == _HALVINGS - 2 else size * 0.5
    return _tables(rack, kinds, tau, gains, swing, lit, off, strength)


def _racked(
    glasses: Sequence[GlassOnFilm], finishes: Sequence[str], model: StackModel, cube: Cube
) -> tuple[_Rack, NDArray[np.intp]]:
    """Each glass in each finish once, and which of them every pane is."""
    names = [(glass.glass, finish) for glass, finish in zip(glasses, finishes, strict=True)]
    number = {name: i for i, name in enumerate(dict.fromkeys(names))}
    first = dict(zip(names, glasses, strict=True))
    flat = np.array([first[name].device for name in number], dtype=float)
    flat = flat.reshape(len(number), -1, 3)
    if not model.unlike:
        flat = flat[:, :1]
    rack = _Rack(
        flat=flat,
        ratios=model.transmittance(_values(flat, model)) @ model.weights,
        contrast=np.array([FINISH[finish].contrast for _, finish in number]),
        depth=np.array([FINISH[finish].depth for _, finish in number]),
        model=model,
        cube=cube,
    )
    return rack, np.array([number[name] for name in names], dtype=np.intp)


def _solved(
    lines: _Lines, rack: _Rack, kinds: NDArray[np.intp], share: Floats
) -> tuple[Floats, Floats]:
    """Gains less 1 for every pane, and the ΔE00 that is left between its mean and its colour."""
    wanted = rack.ratios[kinds]
    level = np.einsum("pt,ptc->pc", share, lines.level[kinds])
    both = [np.einsum("pt,ptcg->pcg", share, slope[kinds]) for slope in (lines.up, lines.down)]
    miss = ((wanted - level) / wanted)[..., None]
    gains = np.zeros((len(kinds), 3))
    slope = 0.5 * (both[0] + both[1])
    for _ in range(3):
        scaled = slope / wanted[..., None]
        turned = np.swapaxes(scaled, 1, 2)
        normal = turned @ scaled + 1e-4 * np.eye(3)
        gains = np.clip(np.linalg.solve(normal, turned @ miss)[..., 0], -_MOST, _MOST)
        slope = np.where((gains > 0.0)[:, None, :], both[0], both[1])
    mean = level + (slope @ gains[..., None])[..., 0]
    return gains, delta_e00(lab_of_ratios(mean), lab_of_ratios(wanted))


def _values(device: Floats, model: StackModel) -> Floats:
    """(..., films, 3) 0-255 as the model takes them, 0-1."""
    if model.unlike:
        return device.reshape(*device.shape[:-2], -1) / 255.0
    return device[..., 0, :] / 255.0


def _mean_offset(histograms: NDArray[np.int64]) -> Floats:
    total = np.maximum(histograms.sum(axis=1), 1)
    return np.asarray(histograms @ OFFSET_OF_LEVEL / total)


def _tau_shares(histograms: NDArray[np.int64], tau: Floats) -> Floats:
    """Share of each pane's pixels at the steps of τ, (panes, τ); rows sum to 1."""
    place, part = _steps(tau)
    panes, steps = len(histograms), len(_TAU)
    row = np.arange(panes)[:, None] * steps
    weights = histograms / np.maximum(histograms.sum(axis=1, keepdims=True), 1)
    flat = np.bincount((row + place).ravel(), (weights * (1.0 - part)).ravel(), panes * steps)
    flat += np.bincount((row + place + 1).ravel(), (weights * part).ravel(), panes * steps)
    share: Floats = np.asarray(flat, dtype=float).reshape(panes, steps)
    share[histograms.sum(axis=1) == 0, steps // 2] = 1.0
    return share


def _steps(tau: Floats) -> tuple[NDArray[np.intp], Floats]:
    """The step of τ before each value, and the share of the next one."""
    at = (np.clip(tau, _TAU[0], _TAU[-1]) - _TAU[0]) / (_TAU[1] - _TAU[0])
    place = np.minimum(at.astype(np.intp), len(_TAU) - 2)
    return place, at - place


def _tables(
    rack: _Rack,
    kinds: NDArray[np.intp],
    tau: Floats,
    gains: Floats,
    swing: Floats,
    lit: Floats,
    off: Floats,
    strength: float,
) -> tuple[Tone, ...]:
    matt = _matt_lit(rack)
    kept = swing / strength if strength > 0.0 else np.zeros_like(swing)

    def some(start: int) -> list[Tone]:
        these = slice(start, start + _AT_ONCE)
        place, part = _steps(tau[these])
        nodes = rack.device(kinds[these], 1.0 + gains[these], swing[these])
        films = [_along(nodes[:, :, film], place, part) for film in range(nodes.shape[2])]
        device = np.stack(films, axis=1)
        if len(films) < rack.model.films:
            device = np.broadcast_to(device, (len(device), rack.model.films, *device.shape[2:]))
        seen = linear_srgb_of_lab(lab_of_ratios(np.maximum(lit[these], 0.0)))
        shown = _along(encode_srgb(seen) * 255.0, place, part)
        rest = kinds[these].tolist(), off[these].tolist(), kept[these].tolist()
        return [
            Tone(device=own, lit=look, matt_lit=matt[kind], off=miss, swing=share)
            for own, look, kind, miss, share in zip(device, shown, *rest, strict=True)
        ]

    with ThreadPoolExecutor(_WORKERS) as pool:
        made = pool.map(some, range(0, len(kinds), _AT_ONCE))
        return tuple(tone for tones in made for tone in tones)


def _along(nodes: Floats, place: NDArray[np.intp], part: Floats) -> NDArray[np.uint8]:
    """Values at the steps of τ as 8-bit values at 256 levels, (panes, 256, 3)."""
    panes, steps = nodes.shape[:2]
    fine = nodes.reshape(panes * steps, -1).astype(np.float32)
    steep = np.zeros_like(fine)
    np.subtract(fine[1:], fine[:-1], out=steep[:-1])
    row = place + (np.arange(panes) * steps)[:, None]
    out = np.take(steep, row, axis=0)
    out *= part[..., None].astype(np.float32)
    out += np.take(fine, row, axis=0)
    return np.asarray(np.rint(out, out=out), dtype=np.uint8)


def _matt_lit(rack: _Rack) -> NDArray[np.uint8]:
    """How matting dims the lit picture, from the model at a few steps, (kinds, 256)."""
    steps = np.linspace(0.0, 1.0, 9)
    device = rack.flat[:, None] * (1.0 - MATT_DARKEST * steps)[None, :, None, None]
    light = rack.seen(device)[..., 1]
    dimmed = encode_srgb(light) / np.maximum(encode_srgb(light[:, :1]), 1e-6)
    at = np.linspace(0.0, 1.0, 256)
    return np.array([np.rint(255.0 * np.interp(at, steps, row)) for row in dimmed], dtype=np.uint8)
