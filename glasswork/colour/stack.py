"""Films that lie on each other: adding-doubling of plates whose faces reflect.

A film is a plate of internal transmittance τ between two faces of reflectance R. Light is
incoherent: films are hundreds of wavelengths thick. With r = R, t = 1 - R,

    plate:  T = t² τ / (1 - r² τ²)         B = r + t² r τ² / (1 - r² τ²)
    joined: T = T₁ T₂ / (1 - B₁ F₂)        F = F₁ + T₁² F₂ / (1 - B₁ F₂)

where F is reflectance seen from the front and B from the back. Source: [stokes1862]
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct

from glasswork.colour.spectra import Floats
from glasswork.errors import ColourError


def fresnel(index: Any, *, incidence_deg: Any = 0.0) -> tuple[Floats, Floats]:
    """Reflectance of a face between air and a medium, for the two polarisations.

    index : refractive index of the medium, at least 1
    incidence_deg : angle in air from the normal, 0-90
    Returns: perpendicular, parallel, 0-1
    Raises: ColourError, if an index is below 1
    Source: [hecht], equal to [stokes1862] at normal incidence
    """
    n = np.asarray(index, dtype=float)
    if (n < 1.0).any():
        raise ColourError("index", f"refractive index {n.min():g} is below 1", "film is 1.4 to 1.7")
    cos_air = np.cos(np.radians(incidence_deg))
    cos_in = np.sqrt(1.0 - (np.sin(np.radians(incidence_deg)) / n) ** 2)
    across = (cos_air - n * cos_in) / (cos_air + n * cos_in)
    along = (n * cos_air - cos_in) / (n * cos_air + cos_in)
    return across**2, along**2


class Plate(Struct, frozen=True):
    """Transmittance, and reflectance seen from the front and from the back; equal shapes."""

    transmittance: Floats
    front: Floats
    back: Floats

    def on(self, behind: Plate) -> Plate:
        """This plate with another one behind it, an air gap between."""
        round_trip = 1.0 / (1.0 - self.back * behind.front)
        return Plate(
            self.transmittance * behind.transmittance * round_trip,
            self.front + self.transmittance**2 * behind.front * round_trip,
            behind.back + behind.transmittance**2 * self.back * round_trip,
        )


def plate(internal: Any, face: Any) -> Plate:
    """A film: internal transmittance 0-1, reflectance of each face 0-1."""
    tau, r = np.asarray(internal, dtype=float), np.asarray(face, dtype=float)
    inside = 1.0 / (1.0 - (r * tau) ** 2)
    t = (1.0 - r) ** 2 * tau * inside
    b = r + (1.0 - r) ** 2 * r * tau**2 * inside
    return Plate(t, b, b)


def stack_plate(internals: Any, *, face: Any, contact: bool = False) -> Plate:
    """Films on each other, front film first.

    internals : (films, ..., bands) internal transmittance 0-1
    face : reflectance of a face, broadcast against one film
    contact : films wrung together or bonded with a medium of their own index: the faces between
        them vanish
    Raises: ColourError, if there is no film, or a transmittance lies outside 0-1
    """
    films = np.asarray(internals, dtype=float)
    if films.ndim < 1 or len(films) == 0:
        raise ColourError("stack", "no film in the stack", "stack at least one")
    if not ((films >= 0.0) & (films <= 1.0)).all():
        raise ColourError("stack", "an internal transmittance is not between 0 and 1", "")
    if contact:
        return plate(films.prod(axis=0), face)
    whole = plate(films[0], face)
    for film in films[1:]:
        whole = whole.on(plate(film, face))
    return whole


def stack_transmittance(
    internals: Any, *, index: Any, contact: bool = False, diffuse: bool = False
) -> Floats:
    """Transmittance of films on each other, faces included, absolute.

    internals : (films, ..., bands) internal transmittance 0-1, at normal incidence
    index : refractive index, a number or one for each band
    diffuse : light from a whole half space instead of along the normal: averaged over angle and
        polarisation, with the longer path inside the film
    Returns: (..., bands) 0-1
    Raises: ColourError, if a value lies outside its domain
    Source: [stokes1862]; diffuse: the same in every direction, weighted by sin 2θ

    A viewer before the window sees the light that comes along the line of sight, whatever the
    diffuser sends elsewhere, because film does not scatter: that is the normal case. An
    instrument that gathers the whole half space sees the diffuse one.
    """
    films = np.asarray(internals, dtype=float)
    if not diffuse:
        face, _ = fresnel(index)
        return stack_plate(films, face=face, contact=contact).transmittance
    if not ((films >= 0.0) & (films <= 1.0)).all():
        raise ColourError("stack", "an internal transmittance is not between 0 and 1", "")
    n = np.asarray(index, dtype=float)
    total = np.zeros(np.broadcast_shapes(films.shape[1:], n.shape))
    for angle, weight in _directions():
        path = 1.0 / np.sqrt(1.0 - (np.sin(angle) / n) ** 2)
        for face in fresnel(n, incidence_deg=np.degrees(angle)):
            through = stack_plate(films**path, face=face, contact=contact).transmittance
            total += 0.5 * weight * through
    return total


@lru_cache(maxsize=1)
def _directions() -> tuple[tuple[float, float], ...]:
    """Angles of incidence and their share of a half space of even radiance."""
    at, weight = np.polynomial.legendre.leggauss(24)
    angle = (at + 1.0) * np.pi / 4.0
    share = weight * np.pi / 4.0 * np.sin(2.0 * angle)
    return tuple(zip(angle.tolist(), (share / share.sum()).tolist(), strict=True))
