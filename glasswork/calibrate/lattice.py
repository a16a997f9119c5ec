"""Measured patches become a lattice of nodes, tone curves between them, and n."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.calibrate.physics import Film, Floats, Physics
from glasswork.errors import CalibrationError

Levels = tuple[tuple[float, ...], ...]
Curves = tuple[tuple[tuple[float, float], ...], ...]

MOST_MISSING: Final = 0.06
"""Share of the lattice's nodes that may be filled in from their neighbours."""
_NEAR: Final = 0.003
"""Device values this near are one level: half of an 8-bit step and a little."""
_SHARE: Final = (0.02, 0.98)
_MOST_N: Final = 8.0


class Lattice(Struct, frozen=True, eq=False):
    """levels : device values on each axis; nodes : (levels…, 36) transmittance
    filled : device values of nodes that were not measured"""

    levels: Levels
    nodes: Floats
    filled: tuple[tuple[float, ...], ...]


class FilmFit(Struct, frozen=True, eq=False):
    """A lattice with its tone curves and n. film : the model of it"""

    lattice: Lattice
    curves: Curves
    n: float
    film: Film


def make_lattice(device: Floats, printed: Floats, *, where: str) -> Lattice:
    """The largest lattice whose nodes are (nearly) all among the patches.

    device : (patches, axes) 0-1; printed : (patches, bands)
    Raises: CalibrationError, if a corner of the device cube is missing
    """
    axes = device.shape[1]
    places = [_levels(device[:, axis]) for axis in range(axes)]
    index = np.stack(
        [np.abs(device[:, [a]] - np.array(places[a])).argmin(axis=1) for a in range(axes)], axis=1
    )
    have = np.zeros([len(p) for p in places], dtype=bool)
    have[tuple(index.T)] = True
    _check_corners(have, places, where)
    keep = _thin(have)
    levels = tuple(tuple(places[a][i] for i in np.flatnonzero(keep[a])) for a in range(axes))
    table = np.full((*have.shape, printed.shape[1]), np.nan)
    table[tuple(index.T)] = printed
    nodes = table[np.ix_(*[np.flatnonzero(k) for k in keep])]
    holes = [tuple(levels[a][i] for a, i in enumerate(at)) for at in np.argwhere(_empty(nodes))]
    return Lattice(levels, _fill(nodes), tuple(holes))


def _levels(values: Floats) -> tuple[float, ...]:
    found: list[float] = []
    for value in np.unique(values):
        if not found or value - found[-1] > _NEAR:
            found.append(float(value))
    return tuple(found)


def _check_corners(
    have: NDArray[np.bool_], places: Sequence[tuple[float, ...]], where: str
) -> None:
    for a, axis in enumerate(places):
        if abs(axis[0]) > _NEAR or abs(axis[-1] - 1.0) > _NEAR:
            raise CalibrationError(
                where,
                f"device axis {a + 1} runs from {axis[0]:g} to {axis[-1]:g}, not from 0 to 1",
                "read a whole strip; are the device values in 0-255, 0-100 or 0-1?",
            )
    missing = [at for at in product(*[(0, len(axis) - 1) for axis in places]) if not have[at]]
    if missing:
        corner = [f"{places[a][i]:g}" for a, i in enumerate(missing[0])]
        raise CalibrationError(
            where,
            f"{len(missing)} of {2 ** len(places)} corners of the device cube were not read, "
            f"none at {', '.join(corner)}",
            "read all patches of the strip",
        )


def _thin(have: NDArray[np.bool_]) -> list[NDArray[np.bool_]]:
    """Which levels to keep on each axis: levels with most holes go first, ends never."""
    keep = [np.ones(size, dtype=bool) for size in have.shape]
    while True:
        part = have[np.ix_(*[np.flatnonzero(k) for k in keep])]
        if (~part).mean() <= MOST_MISSING * 0.5:
            return keep
        worst: tuple[float, int, int] | None = None
        for a, k in enumerate(keep):
            others = tuple(i for i in range(len(keep)) if i != a)
            share = part.mean(axis=others)
            for slot, level in enumerate(np.flatnonzero(k)):
                inner = 0 < slot < len(share) - 1
                if inner and (worst is None or share[slot] < worst[0]):
                    worst = (float(share[slot]), a, int(level))
        if worst is None:
            return keep
        keep[worst[1]][worst[2]] = False


def _empty(nodes: Floats) -> NDArray[np.bool_]:
    return np.asarray(np.isnan(nodes).any(axis=-1))


def _fill(nodes: Floats) -> Floats:
    """Nodes that were not read, from their neighbours along the axes, by their densities."""
    logs = np.log(np.maximum(nodes, 1e-6))
    for _ in range(sum(nodes.shape)):
        holes = np.argwhere(_empty(logs))
        if not len(holes):
            break
        new = logs.copy()
        for at in holes:
            near = []
            for axis in range(len(at)):
                for way in (-1, 1):
                    to = at.copy()
                    to[axis] += way
                    if 0 <= to[axis] < logs.shape[axis] and np.isfinite(logs[tuple(to)]).all():
                        near.append(logs[tuple(to)])
            if near:
                new[tuple(at)] = np.mean(near, axis=0)
        logs = new
    return np.asarray(np.exp(logs))


def fit_film(
    lattice: Lattice,
    device: Floats,
    printed: Floats,
    weight: Floats,
    *,
    physics: Physics,
    base: Floats,
    index: float,
    start: FilmFit | None = None,
    rounds: int = 6,
) -> FilmFit:
    """Tone curves and n under which the lattice predicts the patches between its nodes best.

    device, printed, weight : patches that are no nodes
    start : a fit to begin from
    Nodes are what was measured and stay; a curve only says how far a value between two nodes lies
    from one to the other.
    """
    knots = [_knots(lattice.levels[a], device, a) for a in range(len(lattice.levels))]
    count = sum(len(k) for k in knots)
    at = np.concatenate((np.zeros(count), [np.log(1.6)]))
    if start is not None:
        at = np.concatenate((_shares_of(start, knots), [np.log(start.n)]))
    if not len(device):
        return _film_fit(lattice, knots, at, physics)

    wanted = [physics.lab(printed, k, base=base, index=index) for k in (1, 2)]
    scale = [_tolerance(lab) for lab in wanted]

    def misses(values: Floats) -> Floats:
        film = _film_fit(lattice, knots, values, physics).film
        seen = np.clip(film.transmittance(device), 0.0, 1.0)
        rows = [
            _rotated(physics.lab(seen, k, base=base, index=index) - lab, lab) * s
            for k, lab, s in zip((1, 2), wanted, scale, strict=True)
        ]
        data = np.concatenate(rows, axis=1) * np.sqrt(weight)[:, None]
        # Curves stay near straight unless patches say otherwise.
        return np.concatenate((data.ravel(), 0.3 * values[:-1], [0.5 * (values[-1] - 0.5)]))

    return _film_fit(lattice, knots, _least_squares(misses, at, rounds), physics)


def _least_squares(misses: Callable[[Floats], Floats], at: Floats, rounds: int) -> Floats:
    """Damped least squares with slopes by differences. Source: [marquardt1963]"""
    rows = misses(at)
    cost, damping = float(rows @ rows), 1e-2
    for _ in range(rounds):
        slopes = np.empty((len(rows), len(at)))
        for i in range(len(at)):
            step = np.zeros(len(at))
            step[i] = 1e-3
            slopes[:, i] = (misses(at + step) - rows) / 1e-3
        normal, pull = slopes.T @ slopes, slopes.T @ rows
        gained = 0.0
        for _ in range(4):
            move = np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-9), -pull)
            trial = at + np.clip(move, -0.8, 0.8)
            trial[-1] = np.clip(trial[-1], 0.0, np.log(_MOST_N))
            new = misses(trial)
            if float(new @ new) < cost:
                gained = (cost - float(new @ new)) / cost
                at, rows, cost, damping = trial, new, float(new @ new), damping * 0.2
                break
            damping *= 6.0
        if gained < 2e-3:
            break
    return at


def _knots(levels: tuple[float, ...], device: Floats, axis: int) -> list[tuple[int, float]]:
    """For each cell one knot that a ramp of this axis can settle: (cell, device value)."""
    found = []
    values = device[:, axis]
    for cell in range(len(levels) - 1):
        low, high = levels[cell], levels[cell + 1]
        inside = values[
            (values > low + 0.15 * (high - low)) & (values < high - 0.15 * (high - low))
        ]
        if len(inside) >= 3:
            found.append((cell, (low + high) / 2.0))
    return found


def _film_fit(
    lattice: Lattice, knots: Sequence[Sequence[tuple[int, float]]], at: Floats, physics: Physics
) -> FilmFit:
    curves = []
    place = 0
    for levels, own in zip(lattice.levels, knots, strict=True):
        points = [(level, level) for level in levels]
        for cell, value in own:
            low, high = levels[cell], levels[cell + 1]
            share = np.clip(1.0 / (1.0 + np.exp(-at[place])), *_SHARE)
            points.append((value, float(low + share * (high - low))))
            place += 1
        curves.append(tuple(sorted(points)))
    n = float(np.exp(np.clip(at[-1], 0.0, np.log(_MOST_N))))
    film = physics.make_film(
        lattice.levels, lattice.nodes, curves=tuple(curves), n=n, where="fitted film"
    )
    return FilmFit(lattice, tuple(curves), n, film)


def _shares_of(fit: FilmFit, knots: Sequence[Sequence[tuple[int, float]]]) -> Floats:
    """The unknowns of a fit, for the knots given."""
    found = []
    for curve, own, levels in zip(fit.curves, knots, fit.lattice.levels, strict=True):
        table = dict(curve)
        for cell, value in own:
            low, high = levels[cell], levels[cell + 1]
            share = np.clip((table.get(value, value) - low) / (high - low), 0.03, 0.97)
            found.append(float(np.log(share / (1.0 - share))))
    return np.array(found)


def _tolerance(lab: Floats) -> Floats:
    """How much a step of lightness, chroma and hue counts, (patches, 3) [sharma2005], roughly."""
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    away = (lab[:, 0] - 50.0) ** 2
    lightness = 1.0 + 0.015 * away / np.sqrt(20.0 + away)
    return np.stack(
        (1.0 / lightness, 1.0 / (1.0 + 0.045 * chroma), 1.0 / (1.0 + 0.015 * chroma)), 1
    )


def _rotated(step: Floats, lab: Floats) -> Floats:
    """A step of L*, a*, b* as lightness, chroma, hue."""
    hue = np.arctan2(lab[:, 2], lab[:, 1])
    cos, sin = np.cos(hue), np.sin(hue)
    return np.stack(
        (step[:, 0], cos * step[:, 1] + sin * step[:, 2], cos * step[:, 2] - sin * step[:, 1]),
        axis=1,
    )
