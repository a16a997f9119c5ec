"""Device values of a stack of films become the colour seen against the light, with slopes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct

from glasswork.cielab import cube_root, cube_root_slope, lab_of_ratios
from glasswork.colour.film import AXES, FilmModel, film_of
from glasswork.colour.light import tristimulus_weights
from glasswork.colour.spectra import Floats
from glasswork.colour.stack import fresnel, stack_transmittance
from glasswork.errors import ColourError
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light


class StackModel(Struct, frozen=True, eq=False):
    """A stack of films before a light; colours are CIELAB relative to the lit clear stack.

    base : internal transmittance of the bare film, (36,)
    face : reflectance of a film's face
    weights : stack transmittance to X/Xn, Y/Yn, Z/Zn of the clear stack, (36, 3)
    clear : transmittance of the clear stack, (36,)
    throughput : luminous transmittance of the clear stack against the bare light
    unlike : each film has device values of its own: a colour takes films · axes of them
    """

    film: FilmModel
    films: int
    base: Floats
    index: float
    face: float
    weights: Floats
    clear: Floats
    throughput: float
    kind: str
    ink_limit: float
    unlike: bool = False

    @property
    def values(self) -> int:
        """How many device values a colour takes."""
        return self.film.axes * self.films_unlike

    @property
    def films_unlike(self) -> int:
        """How many films have values of their own."""
        return self.films if self.unlike else 1

    def films_of(self, device: Any) -> tuple[Floats, ...]:
        """Device values film by film, front film first. device : (..., values)"""
        array = np.asarray(device, dtype=float)
        if array.shape[-1] != self.values:
            raise ColourError("device", f"{self.values} device values are wanted", "")
        if not self.unlike:
            return (array,) * self.films
        return tuple(np.split(array, self.films, axis=-1))

    def transmittance(self, device: Any) -> Floats:
        """Absolute spectral transmittance of the stack, (..., 36). device : (..., values) 0-1"""
        films = self.films_of(device)
        internals = [self.base * self.film.transmittance(d) for d in films[: self.films_unlike]]
        if not self.unlike:
            internals *= self.films
        return stack_transmittance(np.stack(internals), index=self.index)

    def lab(self, device: Any) -> Floats:
        """CIELAB relative to the lit clear stack, (..., 3). device : (..., values) 0-1"""
        return lab_of_ratios(self.transmittance(device) @ self.weights)

    def lab_with_slopes(self, device: Floats) -> tuple[Floats, Floats]:
        """CIELAB and its slopes, for a batch, in the precision of `device`; nothing is checked.

        device : (batch, values) 0-1
        Returns: (batch, 3), (batch, 3, values)
        """
        through, slopes = self._through_with_slopes(device)
        weights = self.weights.astype(device.dtype, copy=False)
        ratios = through @ weights
        moved = slopes @ weights
        f = cube_root(ratios)
        moved *= cube_root_slope(ratios)
        lab = np.stack(
            (116.0 * f[:, 1] - 16.0, 500.0 * (f[:, 0] - f[:, 1]), 200.0 * (f[:, 1] - f[:, 2])),
            axis=-1,
        )
        jacobian = np.empty((len(device), 3, self.values), dtype=device.dtype)
        jacobian[:, 0] = 116.0 * moved[:, :, 1].T
        jacobian[:, 1] = 500.0 * (moved[:, :, 0] - moved[:, :, 1]).T
        jacobian[:, 2] = 200.0 * (moved[:, :, 1] - moved[:, :, 2]).T
        return lab.astype(device.dtype, copy=False), jacobian

    def _through_with_slopes(self, device: Floats) -> tuple[Floats, Floats]:
        """Stack transmittance (batch, 36) and its slopes (values, batch, 36)."""
        base = self.base.astype(device.dtype, copy=False)
        axes = self.film.axes
        if not self.unlike:
            tau, slopes = self.film.with_slopes(device)
            tau *= base
            through, steep = _pile((tau,) * self.films, (True,) * self.films, self.face)
            steep *= base
            slopes *= steep
            return through, slopes
        parts = [
            self.film.with_slopes(np.ascontiguousarray(device[:, i * axes : (i + 1) * axes]))
            for i in range(self.films)
        ]
        taus = [tau * base for tau, _ in parts]
        found = []
        for i, (_, slopes) in enumerate(parts):
            through, steep = _pile(taus, [i == j for j in range(self.films)], self.face)
            found.append(slopes * (steep * base))
        return through, np.concatenate(found)


def _pile(taus: Sequence[Floats], moving: Sequence[bool], face: float) -> tuple[Floats, Floats]:
    """Transmittance of a stack and its slope when the marked films' τ grow together.

    The formulas of `stack` with their derivatives carried along.
    """
    sheets: dict[tuple[int, bool], tuple[Floats, ...]] = {}
    whole: tuple[Floats, ...] | None = None
    for tau, moves in zip(taus, moving, strict=True):
        key = (id(tau), moves)
        if key not in sheets:
            sheets[key] = _sheet(tau, face, moves=moves)
        whole = sheets[key] if whole is None else _onto(whole, sheets[key])
    assert whole is not None
    return whole[0], whole[2]


def _sheet(tau: Floats, face: float, *, moves: bool) -> tuple[Floats, ...]:
    """T and B of one film, and their slopes by its τ."""
    kind = tau.dtype.type
    r, gone = kind(face), kind((1.0 - face) ** 2)
    square = (r * tau) ** 2
    inside = 1.0 / (1.0 - square)
    t = gone * tau * inside
    b = r + r * tau * t
    if not moves:
        return t, b, np.zeros_like(tau), np.zeros_like(tau)
    dt = gone * (1.0 + square) * inside * inside
    return t, b, dt, r * (t + tau * dt)


def _onto(before: tuple[Floats, ...], sheet: tuple[Floats, ...]) -> tuple[Floats, ...]:
    """T, and B seen from behind, of a pile with one more film behind it; and their slopes."""
    t1, b1, dt1, db1 = before
    t, b, dt, db = sheet
    trip = 1.0 / (1.0 - b1 * b)
    both = t1 * t * trip
    grows = (db1 * b + b1 * db) * trip
    dboth = (dt1 * t + t1 * dt) * trip + both * grows
    thrown = t * t * trip
    back = b + thrown * b1
    dback = db + 2.0 * t * dt * b1 * trip + thrown * (db1 + b1 * grows)
    return both, back, dboth, dback


def make_stack(
    profile: PrinterProfile, light: Light, films: int, *, unlike: bool = False
) -> StackModel:
    """The model of a stack of 1 to 9 films of one printer before one light.

    Raises: ProfileError or ColourError, if the profile or light is wrong
    """
    if not 1 <= films <= 9:
        raise ColourError("films", f"{films} films are not between 1 and 9", "1 to 3 are usual")
    return _make_stack(profile, light, films, unlike)


@lru_cache(maxsize=64)
def _make_stack(profile: PrinterProfile, light: Light, films: int, unlike: bool) -> StackModel:
    film = film_of(profile)
    base = np.asarray(profile.base, dtype=float)
    across, _ = fresnel(profile.index)
    clear = stack_transmittance(np.stack([base] * films), index=profile.index)
    bare = tristimulus_weights(light)
    white = clear @ bare
    return StackModel(
        film=film,
        films=films,
        base=base,
        index=profile.index,
        face=float(across),
        weights=bare / white,
        clear=clear,
        throughput=float(white[1]),
        kind=profile.device,
        ink_limit=min(profile.ink_limit, float(AXES[profile.device])),
        unlike=unlike and films > 1,
    )
