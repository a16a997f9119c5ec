"""One printed film: a cellular Yule-Nielsen spectral Neugebauer model on a device lattice.

A patch is a mosaic of the lattice's nodes. Inside a cell of the lattice the nodes at its corners
share the area as if their dots overlapped at random [demichel1924]; light that enters one
dot and leaves another is met by mixing the n-th roots [yule-nielsen1951]:

    H(λ) = (Σ w_i · N_i(λ)^(1/n))^n

Nodes are what was measured, so the model is exact there. A home printer takes RGB and its driver
mixes the inks; the nodes of the RGB cube then take the place of the inks' overprints.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.colour.curve import Curve
from glasswork.colour.spectra import BANDS, Floats
from glasswork.errors import ColourError, ProfileError
from glasswork.model.film import PrinterProfile

AXES = {"rgb": 3, "cmyk": 4}
_DARKEST = 1e-7
"""Roots are taken of at least this much, so that slopes stay finite (density 7)."""


class FilmModel(Struct, frozen=True, eq=False):
    """Halftone of one film relative to the bare one.

    curves : device value to effective value, one an axis
    places : effective values of the lattice levels, one rising array an axis
    roots : nodes to the power 1/n, (nodes, bands), last axis of the lattice fastest
    """

    curves: tuple[Curve, ...]
    places: tuple[Floats, ...]
    roots: Floats
    n: float

    @property
    def axes(self) -> int:
        return len(self.places)

    def transmittance(self, device: Any) -> Floats:
        """Transmittance relative to the bare film.

        device : (..., axes) 0-1
        Returns: (..., bands) 0-1
        Raises: ColourError, if a device value lies outside 0-1 or the axes are too many or few
        """
        values = np.asarray(device, dtype=float)
        if values.ndim == 0 or values.shape[-1] != self.axes:
            raise ColourError("device", f"{self.axes} device values are wanted", "")
        if not ((values >= 0.0) & (values <= 1.0)).all():
            raise ColourError("device", "a device value is not between 0 and 1", "")
        mixed, _ = self._mixed(values.reshape(-1, self.axes), slopes=False)
        return self._opened(mixed).reshape(*values.shape[:-1], -1)

    def with_slopes(self, device: Floats) -> tuple[Floats, Floats]:
        """The same with its slopes, for a batch; nothing is checked.

        device : (batch, axes) 0-1; computed in its own precision
        Returns: (batch, bands), (axes, batch, bands)
        """
        root, slopes = self._mixed(device, slopes=True)
        if self.n == 1.0:
            return root, np.stack(slopes)
        power = _power(root, self.n - 1.0)
        value = root * power
        power *= self.n
        for slope in slopes:
            slope *= power
        return value, np.stack(slopes)

    def _opened(self, root: Floats) -> Floats:
        return root if self.n == 1.0 else root * _power(root, self.n - 1.0)

    def _mixed(self, device: Floats, *, slopes: bool) -> tuple[Floats, list[Floats]]:
        """Roots mixed by the shares of the cell's corners, and their slopes an axis.

        The shares are products of one share an axis, so the corners are mixed pair by pair along
        the last axis, then along the one before.
        """
        row, shares, steeps = self._place(device)
        table = self.roots.astype(device.dtype, copy=False)
        strides = self._strides()
        corners = [0]
        for stride in strides:
            corners = [corner + step for corner in corners for step in (0, stride)]
        values = [table[row + corner] for corner in corners]
        turned: list[list[Floats]] = []
        for axis in reversed(range(self.axes)):
            share = shares[axis]
            gaps: list[Floats] = [
                high - low for low, high in zip(values[::2], values[1::2], strict=True)
            ]
            values = [low + share * gap for low, gap in zip(values[::2], gaps, strict=True)]
            if slopes:
                turned = [_between(older, share) for older in turned]
                turned.insert(0, gaps)
        found: list[Floats] = [steep * only[0] for steep, only in zip(steeps, turned, strict=False)]
        return values[0], found

    def _strides(self) -> list[int]:
        strides: list[int] = []
        step = 1
        for places in reversed(self.places):
            strides.insert(0, step)
            step *= len(places)
        return strides

    def _place(self, device: Floats) -> tuple[NDArray[np.intp], list[Floats], list[Floats]]:
        """The row of the cell's first corner, and for each axis the share of the corner beyond
        it and the slope of that share, (batch, 1)."""
        row = np.zeros(len(device), dtype=np.intp)
        shares: list[Floats] = []
        steeps: list[Floats] = []
        for axis, stride in enumerate(self._strides()):
            effective, slope = self.curves[axis](device[:, axis])
            places = self.places[axis].astype(device.dtype, copy=False)
            cell = np.searchsorted(places[1:-1], effective, side="right")
            width = np.diff(places)[cell]
            row += stride * cell
            shares.append(((effective - places[cell]) / width)[:, None])
            steeps.append((slope / width)[:, None])
        return row, shares, steeps


def _between(pairs: list[Floats], share: Floats) -> list[Floats]:
    """Each pair of values mixed."""
    return [low + share * (high - low) for low, high in zip(pairs[::2], pairs[1::2], strict=True)]


def _power(root: Floats, exponent: float) -> Floats:
    """root ** exponent, by square roots where that is the same."""
    if exponent == 1.0:
        return root.copy()
    if exponent == 0.5:
        return np.asarray(np.sqrt(root))
    return np.asarray(np.power(root, exponent))


def make_film(
    levels: tuple[tuple[float, ...], ...], nodes: Any, *, curves: Any, n: float, where: str
) -> FilmModel:
    """A film model from a lattice.

    levels : device values of the lattice on each axis, rising from 0 to 1
    nodes : (levels[0], levels[1], …, bands) transmittance 0-1; any bands will do, also X, Y, Z
    curves : (device, effective) pairs, one list an axis
    Raises: ProfileError naming the key, if the lattice has holes, a value lies outside its
        domain, a curve does not rise, or n is below 1
    """
    table = np.asarray(nodes, dtype=float)
    if not 1.0 <= n <= 20.0:
        raise ProfileError(
            f"{where}, n",
            f"Yule-Nielsen factor {n:g} is not between 1 and 20",
            "1 to 4 is usual, or calibrate",
        )
    if len(curves) != len(levels):
        raise ProfileError(
            f"{where}, curves", f"{len(curves)} curves for {len(levels)} axes", "one an axis"
        )
    shape = tuple(len(axis) for axis in levels)
    if table.shape[:-1] != shape or min(shape) < 2:
        raise ProfileError(
            f"{where}, node", f"lattice {table.shape[:-1]} does not fit the levels {shape}", ""
        )
    if np.isnan(table).any():
        hole = np.argwhere(np.isnan(table).any(axis=-1))[0]
        at = ", ".join(f"{axis[i]:g}" for axis, i in zip(levels, hole, strict=True))
        raise ProfileError(f"{where}, node", f"the lattice has a hole at [{at}]", "measure it")
    if table.min() < 0.0 or table.max() > 1.0:
        raise ProfileError(
            f"{where}, node",
            f"transmittance {table.min() if table.min() < 0.0 else table.max():g} is not between "
            "0 and 1",
            "a density below zero: zero the instrument on the bare film",
        )
    bends = tuple(
        Curve.through(points, where=f"{where}, curves[{i}]") for i, points in enumerate(curves)
    )
    places = tuple(
        bend(np.asarray(axis, dtype=float))[0] for bend, axis in zip(bends, levels, strict=True)
    )
    roots = np.maximum(table, _DARKEST).reshape(-1, table.shape[-1]) ** (1.0 / n)
    return FilmModel(bends, places, roots, n)


@lru_cache(maxsize=16)
def film_of(profile: PrinterProfile) -> FilmModel:
    """The film model of a printer profile; camera bands get their spectral stand-in.

    Raises: ProfileError, naming the key at fault
    """
    nodes: Floats = profile.nodes
    if profile.bands == "camera":
        from glasswork.colour.standin import spectra_of_camera

        nodes = spectra_of_camera(nodes, where=profile.name)
    elif nodes.shape[-1] != BANDS:
        raise ProfileError(
            f"{profile.name}, node", f"{nodes.shape[-1]} bands, {BANDS} are wanted", ""
        )
    return make_film(profile.levels, nodes, curves=profile.curves, n=profile.n, where=profile.name)


def ink_load(device: Any, *, kind: str) -> Floats:
    """Ink on a film as the sum over the device axes; 2.4 means 240 %.

    device : (..., axes) 0-1; kind : "rgb" (1 is no ink) or "cmyk" (0 is no ink)
    """
    values = np.asarray(device, dtype=float)
    return np.asarray((1.0 - values if kind == "rgb" else values).sum(axis=-1))
