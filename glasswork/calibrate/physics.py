"""The colour physics that fits need, handed in by whoever calls: stages do not import each other.

`Physics` is a bundle of the colour engine's functions for one light. The fit uses the same film
model, stack and colour difference as the separation later does, so what it minimises is what the
maker will see.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import lab_of_ratios

Floats = NDArray[np.float64]


class Film(Protocol):
    """A film model: device values to transmittance."""

    def transmittance(self, device: Any) -> Any:
        """(..., axes) 0-1 to (..., bands) 0-1, relative to the bare film"""
        ...


class Physics(Struct, frozen=True, kw_only=True, eq=False):
    """What is known of light, eye and film.

    make_film : make_film(levels, nodes, curves=..., n=..., where=...) gives a `Film`
    stack : stack(internals, index=...) gives the transmittance of films on each other, faces
        included; internals (films, ..., 36)
    weights : transmittance to X, Y, Z under the light of the panel, Y = 1 for transmittance 1
    power : spectral power of that light, 36 values
    instrument : as weights, under D50, as colour instruments report
    status_a : transmittance to red, green, blue Status A response, 1 for transmittance 1 [iso5-3]
    light : its name
    """

    make_film: Callable[..., Film]
    stack: Callable[..., Any]
    weights: Floats
    power: Floats
    instrument: Floats
    status_a: Floats
    light: str = ""

    def stacked(self, printed: Any, films: int, *, base: Floats, index: float) -> Floats:
        """Films printed alike against as many bare ones. printed : (..., 36) relative to bare"""
        inside = np.asarray(printed, dtype=float) * base
        clear = self.stack(np.stack([base] * films), index=index)
        return np.asarray(self.stack(np.stack([inside] * films), index=index) / clear)

    def lab(self, printed: Any, films: int, *, base: Floats, index: float) -> Floats:
        """CIELAB of films printed alike, relative to the lit clear stack."""
        clear = self.stack(np.stack([base] * films), index=index)
        inside = np.asarray(printed, dtype=float) * base
        through = self.stack(np.stack([inside] * films), index=index)
        return lab_of_ratios((through @ self.weights) / (clear @ self.weights))


BASE_UNKNOWN: Floats = np.ones(36)
"""Internal transmittance of bare film where nothing is known of it."""
