"""Density steps of a finish become device values, so that the pane's mean stays its colour.

At offset t a colour of linear light w becomes g · w^(1 + c·t) · 10^(-k·t): its density swings by
the share c of itself and by k. The gains g, one for each of three wide channels, make the mean of
what leaves the pane equal to the flat colour; where that cannot be (nothing is lighter than bare
film) the swing is halved until it can.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from glasswork.colour.finish.cut import FLAT, OFFSET_OF_LEVEL
from glasswork.colour.finish.fields import FINISH
from glasswork.colour.lab import delta_e00, lab_of_ratios, linear_srgb_of_lab
from glasswork.colour.predict import StackModel
from glasswork.colour.spectra import Floats
from glasswork.colour.table import Cube, codes_of_linear, linear_of_lab, look_up
from glasswork.model.film import GlassOnFilm

MEAN_WITHIN: Final = 0.5
"""A textured pane's mean is this near its flat colour, ΔE00."""

MATT_DARKEST: Final = 0.78
"""Heaviest matting takes the device values down by this share."""

_AIM: Final = 0.25
_NODES: Final = np.unique(np.append(np.arange(0, 255, 16), [FLAT, 254]))
_ROUNDS: Final = 4
_HALVINGS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tone:
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
    model : a stack with device values for each film of its own
    cube : device values of identical films, see `colour.table`
    """
    flat = np.array([glass.device for glass in glasses], dtype=float).reshape(len(glasses), -1, 3)
    share = _node_shares(histograms)
    wanted = model.lab(_values(flat, model))
    swing = np.full(len(glasses), strength)
    ramp = _Ramp(flat, wanted, finishes, model, cube)
    nodes, off = _aimed(ramp, share, np.arange(len(glasses)), swing)
    for turn in range(_HALVINGS):
        bad = np.flatnonzero(off > _AIM)
        if not len(bad):
            break
        swing[bad] = 0.0 if turn == _HALVINGS - 1 else swing[bad] * 0.5
        nodes[bad], off[bad] = _aimed(ramp, share[bad], bad, swing[bad])
    return _tables(nodes, flat, off, swing / max(strength, 1e-9), model)


@dataclass(frozen=True, slots=True, eq=False)
class _Ramp:
    """flat : (panes, films, 3) device 0-255; wanted : (panes, 3) CIELAB of it"""

    flat: Floats
    wanted: Floats
    finishes: Sequence[str]
    model: StackModel
    cube: Cube

    def device(self, which: Any, gains: Floats, swing: Floats) -> Floats:
        """(panes, nodes, films, 3) device values 0-255 at the nodes."""
        light = np.clip(linear_of_lab(self.wanted[which]), 1e-6, 1.0)[:, None, :]
        names = [self.finishes[i] for i in which]
        contrast = np.array([FINISH[name].contrast for name in names]) * swing
        depth = np.array([FINISH[name].depth for name in names]) * swing
        t = OFFSET_OF_LEVEL[_NODES][None, :, None]
        power = np.maximum(1.0 + contrast[:, None, None] * t, 0.05)
        swung = gains[:, None, :] * light**power * 10.0 ** (-depth[:, None, None] * t)
        step = look_up(self.cube, codes_of_linear(swung)) - look_up(
            self.cube, codes_of_linear(light)
        )
        found = self.flat[which][:, None, :, :] + step[:, :, None, :]
        return np.asarray(np.clip(found, 0.0, 255.0))


def _aimed(
    ramp: _Ramp, share: Floats, which: NDArray[np.intp], swing: Floats
) -> tuple[Floats, Floats]:
    """Device values at the nodes whose mean is the flat colour, and how far it is off."""
    gains = np.ones((len(which), 3))
    target = linear_of_lab(ramp.wanted[which])
    best: Floats | None = None
    least = np.full(len(which), np.inf)
    for _ in range(_ROUNDS):
        device = ramp.device(which, gains, swing)
        mean = _mean_lab(ramp.model, device, share)
        off = delta_e00(mean, ramp.wanted[which])
        if best is None:
            best = device.copy()
        better = off < least
        best[better], least[better] = device[better], off[better]
        gains *= np.clip(target / np.maximum(linear_of_lab(mean), 1e-6), 0.6, 1.7)
    assert best is not None
    return best, least


def _mean_lab(model: StackModel, device: Floats, share: Floats) -> Floats:
    """CIELAB of the mean light over each pane, (panes, 3)."""
    ratios = model.transmittance(_values(device, model)) @ model.weights
    return lab_of_ratios((share[..., None] * ratios).sum(axis=1))


def _values(device: Floats, model: StackModel) -> Floats:
    """(..., films, 3) 0-255 as the model takes them, 0-1."""
    if model.unlike:
        return device.reshape(*device.shape[:-2], -1) / 255.0
    return device[..., 0, :] / 255.0


def _node_shares(histograms: NDArray[np.int64]) -> Floats:
    """Pixels at 256 levels as shares at the nodes, (panes, nodes); rows sum to 1."""
    spread = np.zeros((256, len(_NODES)))
    for node in range(len(_NODES)):
        one = np.zeros(len(_NODES))
        one[node] = 1.0
        spread[:, node] = np.interp(np.arange(256), _NODES, one)
    weights = histograms @ spread
    total = weights.sum(axis=1, keepdims=True)
    weights[total[:, 0] <= 0.0] = spread[FLAT]
    return np.asarray(weights / np.where(total > 0.0, total, 1.0))


def _tables(
    nodes: Floats, flat: Floats, off: Floats, swing: Floats, model: StackModel
) -> tuple[Tone, ...]:
    lab = model.lab(_values(nodes, model))
    lit = _encoded(linear_srgb_of_lab(lab)) * 255.0
    cells, share = _places()
    wide = (
        nodes[:, cells] * (1.0 - share)[:, None, None] + nodes[:, cells + 1] * share[:, None, None]
    )
    shown = lit[:, cells] * (1.0 - share)[:, None] + lit[:, cells + 1] * share[:, None]
    device = np.rint(wide).astype(np.uint8).transpose(0, 2, 1, 3)
    picture = np.rint(shown).astype(np.uint8)
    matt = _matt_lit(flat, model)
    return tuple(
        Tone(
            device=np.ascontiguousarray(device[i]),
            lit=np.ascontiguousarray(picture[i]),
            matt_lit=matt[i],
            off=float(off[i]),
            swing=float(swing[i]),
        )
        for i in range(len(nodes))
    )


def _places() -> tuple[NDArray[np.intp], Floats]:
    """For each of 256 levels the node before it and the share of the next one."""
    levels = np.minimum(np.arange(256), _NODES[-1])
    cells = np.clip(np.searchsorted(_NODES, levels, side="right") - 1, 0, len(_NODES) - 2)
    return cells, (levels - _NODES[cells]) / (_NODES[cells + 1] - _NODES[cells])


def _matt_lit(flat: Floats, model: StackModel) -> NDArray[np.uint8]:
    """How matting dims the lit picture, from the model at a few steps, (panes, 256)."""
    steps = np.linspace(0.0, 1.0, 9)
    device = flat[:, None] * (1.0 - MATT_DARKEST * steps)[None, :, None, None]
    light = (model.transmittance(_values(device, model)) @ model.weights)[..., 1]
    dimmed = _encoded(light) / np.maximum(_encoded(light[:, :1]), 1e-6)
    at = np.linspace(0.0, 1.0, 256)
    return np.array([np.rint(255.0 * np.interp(at, steps, row)) for row in dimmed], dtype=np.uint8)


def _encoded(linear: Any) -> Floats:
    """Linear light to sRGB 0-1. Source: [srgb]"""
    value = np.clip(linear, 0.0, 1.0)
    curve = 1.055 * np.maximum(value, 1e-9) ** (1.0 / 2.4) - 0.055
    return np.asarray(np.where(value <= 0.0031308, 12.92 * value, curve))
