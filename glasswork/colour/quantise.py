"""Device values become the 8-bit ones whose stack, not whose film, is nearest."""

from __future__ import annotations

from itertools import product
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import delta_e00, hue_shift_deg
from glasswork.colour.film import ink_load
from glasswork.colour.predict import StackModel
from glasswork.colour.solve import MET
from glasswork.colour.spectra import Floats

Codes = NDArray[np.int64]

_HAS_HUE: Final = 10.0
_TURN_DEG: Final = 2.0
_PER_DEG: Final = 2.0
"""A glass of more than this chroma should not turn by more than this; ΔE00 each degree costs."""


def quantise(model: StackModel, device: Floats, wanted: Floats, miss: Floats) -> Codes:
    """The nearest 8-bit values.

    device : (batch, values) 0-1, solved; wanted : (batch, 3) CIELAB
    miss : (batch,) what the solution misses; a colour out of reach stays near its solution, and
        a step that would turn its hue is weighed against
    Returns: (batch, values) 0-255, within the ink limit

    Every value may go a step or two up or down, all films alike, and the stack that comes nearest
    wins. Unlike films are then stepped one value at a time, which makes the steps of the stack
    finer.
    """
    aim = np.where((miss > MET)[:, None], model.lab(device), wanted)
    task = _Task(model, wanted, aim)
    steps = np.array(list(product((-1, 0, 1, 2), repeat=model.film.axes)))
    moves = np.tile(steps, (1, model.values // model.film.axes))
    low = np.floor(device * 255.0 + 1e-6).astype(np.int64)
    best = task.best(np.clip(low[None] + moves[:, None], 0, 255))
    if model.unlike:
        for value in range(model.values):
            ways = np.stack([best, best, best])
            ways[1, :, value] = np.maximum(ways[1, :, value] - 1, 0)
            ways[2, :, value] = np.minimum(ways[2, :, value] + 1, 255)
            best = task.best(ways)
    return best


class _Task(Struct, frozen=True, eq=False):
    """wanted : what the glasses ask for; aim : what the stack can come to, both (batch, 3)"""

    model: StackModel
    wanted: Floats
    aim: Floats

    def best(self, ways: Codes) -> Codes:
        """The nearest of several values for each colour. ways : (ways, batch, values)"""
        off = self.off(ways)
        return np.asarray(ways[off.argmin(axis=0), np.arange(ways.shape[1])])

    def off(self, codes: Codes) -> Floats:
        """ΔE00 to the aim; a turned hue counts, and codes over the ink limit lose to any others."""
        device = codes / 255.0
        seen = self.model.lab(device)
        inks = np.stack([ink_load(f, kind=self.model.kind) for f in self.model.films_of(device)])
        over = np.maximum(inks.max(axis=0) - self.model.ink_limit - 1e-9, 0.0)
        has_hue = np.hypot(self.wanted[:, 1], self.wanted[:, 2]) > _HAS_HUE
        turned = has_hue * np.maximum(hue_shift_deg(seen, self.wanted) - _TURN_DEG, 0.0)
        off = delta_e00(seen, self.aim) + _PER_DEG * turned
        return np.asarray(off + np.where(over > 0.0, 1e3 * (1.0 + over), 0.0))
