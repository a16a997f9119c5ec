"""A film model fitted to readings: lattice nodes as read, tone curves and n by least squares.

The nodes of the lattice are patches; whatever else was read bends the curves and sets the
Yule-Nielsen factor. Overprints of middle tones teach more than single ramps: a ramp alone says
little about how dots of unlike inks share the area.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from glasswork.cielab import delta_e00, lab_of_ratios
from glasswork.colour.film import FilmModel, make_film
from glasswork.colour.spectra import Floats
from glasswork.errors import CalibrationError

N_MOST: Final = 6.0
"""No n beyond this is tried: past it the model hardly changes [hersch2015]."""

_PRIOR: Final = 0.02
"""How strongly the curves are held to straight lines, ΔE for each e-fold of a slope."""

_OPPONENT: Final = 0.33
"""Weight of CIELAB against plain roots; the best of a few tried on FOGRA39L and TR003."""

CurvePoints = tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A fitted film. mean_delta_e00 : left on the patches that are no nodes"""

    film: FilmModel
    curves: CurvePoints
    n: float
    mean_delta_e00: float


def _rows(ratios: Floats) -> Floats:
    """What is made alike: CIELAB, and the cube roots of X/Xn, Y/Yn, Z/Zn on the scale of L*.

    CIELAB alone follows the opponent differences a* and b* so closely that the curves of a
    lattice suffer; roots alone neglect them.
    """
    lab = _OPPONENT * lab_of_ratios(ratios)
    return np.concatenate((lab.ravel(), (116.0 * np.cbrt(ratios)).ravel()))


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    device: Floats
    wanted: Floats
    levels: tuple[tuple[float, ...], ...]
    nodes: Floats
    knots: tuple[float, ...]
    eye: Floats
    n: float | None
    where: str

    def curves(self, free: Floats) -> CurvePoints:
        axes, steps = len(self.levels), len(self.knots) + 1
        rise = np.exp(free[: axes * steps].reshape(axes, steps))
        heights = np.cumsum(rise, axis=1) / rise.sum(axis=1, keepdims=True)
        return tuple(
            ((0.0, 0.0), *zip(self.knots, row[:-1].tolist(), strict=True), (1.0, 1.0))
            for row in heights
        )

    def factor(self, free: Floats) -> float:
        if self.n is not None:
            return self.n
        return float(1.0 + (N_MOST - 1.0) / (1.0 + np.exp(-free[-1])))

    def film(self, free: Floats) -> FilmModel:
        return make_film(
            self.levels, self.nodes, curves=self.curves(free), n=self.factor(free), where=self.where
        )

    def rows(self, free: Floats) -> Floats:
        prior = _PRIOR * (free - self.start())
        return np.concatenate((_rows(self.seen(free)) - _rows(self.wanted), prior))

    def seen(self, free: Floats) -> Floats:
        return np.maximum(self.film(free).transmittance(self.device) @ self.eye, 0.0)

    def start(self) -> Floats:
        straight = np.log(np.diff([0.0, *self.knots, 1.0]))
        free = np.tile(straight, len(self.levels))
        return free if self.n is not None else np.append(free, np.log(0.7 / (N_MOST - 1.7)))


def fit_film(
    device: Any,
    readings: Any,
    *,
    levels: tuple[tuple[float, ...], ...],
    knots: tuple[float, ...],
    eye: Any = None,
    n: float | None = None,
    where: str = "readings",
) -> Fitted:
    """A film model from read patches.

    device : (patches, axes) 0-1
    readings : (patches, bands) transmittance relative to the bare film, or X/Xn, Y/Yn, Z/Zn
    levels : lattice levels on each axis; every node must be among the patches
    knots : device values between 0 and 1 at which the tone curves may bend
    eye : (bands, 3) to X/Xn, Y/Yn, Z/Zn, or None if the readings are these
    n : held at this, or None to be fitted
    Raises: CalibrationError, if a node was not read or readings are not finite; ProfileError, if
        a reading lies outside 0-1
    Source: [yule-nielsen1951]; fitted as [marquardt1963]
    """
    spots = np.asarray(device, dtype=float)
    seen = np.asarray(readings, dtype=float)
    if len(spots) != len(seen) or not np.isfinite(seen).all():
        raise CalibrationError(where, f"{len(spots)} patches, {len(seen)} finite readings", "")
    nodes, extra = _nodes(spots, seen, levels, where)
    matrix = np.eye(seen.shape[1]) if eye is None else np.asarray(eye, dtype=float)
    wanted = seen[extra] @ matrix
    task = _Task(spots[extra], wanted, levels, nodes, tuple(knots), matrix, n, where)
    free = _least_squares(task)
    off = delta_e00(lab_of_ratios(task.seen(free)), lab_of_ratios(wanted)) if len(extra) else None
    mean = float(off.mean()) if off is not None else 0.0
    return Fitted(task.film(free), task.curves(free), task.factor(free), mean)


def _nodes(
    spots: Floats, seen: Floats, levels: tuple[tuple[float, ...], ...], where: str
) -> tuple[Floats, np.ndarray]:
    """The lattice of readings, repeated ones averaged, and the patches that are no nodes."""
    shape = tuple(len(axis) for axis in levels)
    total, count = np.zeros((*shape, seen.shape[1])), np.zeros(shape)
    extra = []
    for number, spot in enumerate(spots):
        place = [
            int(np.argmin(np.abs(np.array(axis) - v))) for axis, v in zip(levels, spot, strict=True)
        ]
        if all(abs(axis[i] - v) < 1e-6 for axis, i, v in zip(levels, place, spot, strict=True)):
            total[tuple(place)] += seen[number]
            count[tuple(place)] += 1.0
        else:
            extra.append(number)
    if (count == 0.0).any():
        hole = np.argwhere(count == 0.0)[0]
        at = ", ".join(f"{axis[i]:g}" for axis, i in zip(levels, hole, strict=True))
        raise CalibrationError(
            where, f"{int((count == 0).sum())} lattice nodes were not read, first [{at}]", "read it"
        )
    return total / count[..., None], np.array(extra, dtype=int)


def _least_squares(task: _Task) -> Floats:
    free: Floats = task.start()
    if not len(task.device):
        return free
    damping, rows = 1e-2, task.rows(free)
    for _ in range(60):
        slopes = _slopes(task, free, rows)
        normal, pull = slopes.T @ slopes, slopes.T @ rows
        while damping < 1e8:
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-9), -pull)
            trial = np.clip(free + np.clip(step, -1.0, 1.0), -9.0, 9.0)
            new = task.rows(trial)
            if new @ new < rows @ rows:
                break
            damping *= 4.0
        else:
            return free
        gained = 1.0 - (new @ new) / (rows @ rows)
        free, rows, damping = trial, new, damping / 8.0
        if gained < 1e-7:
            return free
    return free


def _slopes(task: _Task, free: Floats, rows: Floats) -> Floats:
    columns = []
    for i in range(len(free)):
        moved = free.copy()
        moved[i] += 1e-5
        columns.append((task.rows(moved) - rows) / 1e-5)
    return np.stack(columns, axis=1)
