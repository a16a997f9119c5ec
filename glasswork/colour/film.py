"""One printed film: a cellular Yule-Nielsen spectral Neugebauer model on a device lattice.

A patch is a mosaic of the lattice's nodes. Inside a cell of the lattice the nodes at its corners
share the area as if their dots overlapped at random [demichel1924]; light that enters one
dot and leaves another is met by mixing the n-th roots [yule-nielsen1951]:

    H(λ) = (Σ w_i · N_i(λ)^(1/n))^n

Nodes are what was measured, so the model is exact there. A home printer takes RGB and its driver
mixes the inks; the nodes of the RGB cube then take the place of the inks' overprints.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from glasswork.colour.curve import Curve
from glasswork.colour.spectra import BANDS, Floats
from glasswork.errors import ColourError, ProfileError
from glasswork.model.film import PrinterProfile

AXES = {"rgb": 3, "cmyk": 4}
_DARKEST = 1e-7
"""Roots are taken of at least this much, so that slopes stay finite (density 7)."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmModel:
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
        flat = values.reshape(-1, self.axes)
        found = self._mix(self._shares(flat))
        return found.reshape(*values.shape[:-1], -1)

    def with_slopes(self, device: Floats) -> tuple[Floats, Floats]:
        """The same with its slopes, for a batch; nothing is checked.

        device : (batch, axes) 0-1; computed in its own precision
        Returns: (batch, bands), (axes, batch, bands)
        """
        shares, turned = self._shares_with_slopes(device)
        roots = self.roots.astype(device.dtype, copy=False)
        batch = len(device)
        mixed = np.concatenate((shares[None], turned)).reshape(-1, len(roots)) @ roots
        mixed = mixed.reshape(self.axes + 1, batch, -1)
        root = mixed[0]
        if self.n == 1.0:
            return root, mixed[1:]
        power = _power(root, self.n - 1.0)
        value = root * power
        power *= self.n
        mixed[1:] *= power
        return value, mixed[1:]

    def _shares(self, device: Floats) -> Floats:
        hats = [self._hat(axis, device[:, axis])[0] for axis in range(self.axes)]
        return _outer(hats)

    def _shares_with_slopes(self, device: Floats) -> tuple[Floats, Floats]:
        hats, turned = [], []
        for axis in range(self.axes):
            hat, slope = self._hat(axis, device[:, axis])
            hats.append(hat)
            turned.append(slope)
        slopes = [
            _outer([turned[i] if i == axis else hats[i] for i in range(self.axes)])
            for axis in range(self.axes)
        ]
        return _outer(hats), np.stack(slopes)

    def _hat(self, axis: int, values: Floats) -> tuple[Floats, Floats]:
        """Shares of the levels of one axis, (batch, levels), and their slopes."""
        effective, slope = self.curves[axis](values)
        places = self.places[axis].astype(values.dtype, copy=False)
        cell = np.clip(np.searchsorted(places, effective, side="right") - 1, 0, len(places) - 2)
        width = places[cell + 1] - places[cell]
        share = (effective - places[cell]) / width
        steep = slope / width
        rows = np.arange(len(values))
        hat = np.zeros((len(values), len(places)), dtype=values.dtype)
        turned = np.zeros_like(hat)
        hat[rows, cell], hat[rows, cell + 1] = 1.0 - share, share
        turned[rows, cell], turned[rows, cell + 1] = -steep, steep
        return hat, turned

    def _mix(self, shares: Floats) -> Floats:
        root = shares @ self.roots
        return np.asarray(root if self.n == 1.0 else root * _power(root, self.n - 1.0))


def _outer(hats: list[Floats]) -> Floats:
    """Products of the shares of all axes, (batch, nodes)."""
    whole = hats[0]
    for hat in hats[1:]:
        whole = (whole[:, :, None] * hat[:, None, :]).reshape(len(hat), -1)
    return whole


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
        raise ProfileError(f"{where}, n", f"Yule-Nielsen factor {n:g} is not between 1 and 20", "")
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
