"""A film stack as tables for other programs: device to colour and back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FORWARD_STEPS: Final = {3: 17, 4: 9}
BACK_STEPS: Final = 33


class StackTables(Struct, frozen=True, kw_only=True, eq=False):
    """A stack of films as grids.

    forward : device to CIELAB, (steps, …, 3), axes in device order
    back : CIELAB to device, (33, 33, 33, axes), L* 0-100, a* and b* -128 to 127 (as PCS codes run)
    off : (33, 33, 33) ΔE00 by which each colour is missed: over a limit it is out of reach
    colorant : "rgb" or "cmyk"
    """

    forward: Floats
    back: Floats
    off: Floats
    colorant: str
    films: int
    title: str


def stack_tables(
    predict: Callable[[Floats], Floats],
    invert: Callable[[Floats], tuple[Floats, Floats]],
    *,
    colorant: str,
    films: int,
    title: str,
) -> StackTables:
    """Sample a stack.

    predict : device values (n, axes) 0-1 to CIELAB relative to the lit clear stack
    invert : CIELAB (n, 3) to device values (n, axes) and ΔE00 missed (n,)
    """
    axes = 3 if colorant == "rgb" else 4
    steps = FORWARD_STEPS[axes]
    grid = np.linspace(0.0, 1.0, steps)
    device = np.stack(np.meshgrid(*[grid] * axes, indexing="ij"), axis=-1)
    forward = predict(device.reshape(-1, axes)).reshape(*device.shape[:-1], 3)
    labs = back_grid(BACK_STEPS)
    back, off = invert(labs.reshape(-1, 3))
    cube = (BACK_STEPS,) * 3
    return StackTables(
        forward=forward,
        back=np.asarray(back).reshape(*cube, axes),
        off=np.asarray(off).reshape(cube),
        colorant=colorant,
        films=films,
        title=title,
    )


def back_grid(steps: int) -> Floats:
    """CIELAB at the grid points of a v4 PCS table, (steps, steps, steps, 3).

    Codes 0-65535 stand for L* 0-100 and a*, b* -128 to 127 [icc1].
    """
    share = np.linspace(0.0, 1.0, steps)
    axes = (100.0 * share, 255.0 * share - 128.0, 255.0 * share - 128.0)
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
