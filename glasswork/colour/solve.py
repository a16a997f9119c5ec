"""Colours become device values: a batched, bounded Levenberg-Marquardt search.

Every colour of a batch takes its own steps with its own damping; those that are done leave the
batch. Device values stay within 0-1; the ink limit is met by a stiff penalty and made exact at
the end. Source: [marquardt1963], bounds by freezing values that press against them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import de00_weights
from glasswork.colour.predict import StackModel
from glasswork.colour.spectra import Floats
from glasswork.errors import ColourError

Places = NDArray[np.intp]

_CHUNK: Final = 2048
"""Colours worked on together, so that their spectra stay in the processor's cache."""

_STIFF: Final = 500.0
"""Penalty of ink over the limit: ΔE for each 100 % too much."""

_GRID: Final = 9
"""Device steps an axis among which the search begins."""

_WIDTHS: Final = (0.05, 0.08, 0.12, 0.18, 0.25, 0.3)
"""How far around the best place so far the last searches begin, in device values."""

MET: Final = 0.02
"""A colour is met when its weighted difference is below this."""

HOLD_HUE: Final = 20.0
"""How much more a hue counts than lightness and chroma where a colour is out of reach."""


class Solved(Struct, frozen=True, eq=False):
    """device : (batch, values) 0-1; miss : (batch,) weighted difference left"""

    device: Floats
    miss: Floats


class Effort(Struct, frozen=True):
    """rounds : most steps from one start; patience : steps without gain before giving up"""

    rounds: int
    patience: int


def solve(
    model: StackModel,
    targets: Floats,
    *,
    hold_hue: float = HOLD_HUE,
    starts: Floats | None = None,
    rounds: int = 40,
    thorough: bool = True,
    again: bool = True,
) -> Solved:
    """Device values whose predicted colour is nearest each target.

    targets : (batch, 3) CIELAB relative to the lit clear stack
    hold_hue : weight of the hue against lightness and chroma for what is out of reach; 1 for the
        smallest difference whatever the hue
    starts : (batch, values) where to begin, or None to look for good places
    rounds : most steps for one colour from one start
    again : begin anew from another place where a colour is not met
    thorough : and then from many more
    Raises: ColourError, if a target is not a finite colour, or the ink limit leaves nothing
    """
    wanted = np.asarray(targets, dtype=float)
    if wanted.ndim != 2 or wanted.shape[1] != 3 or not np.isfinite(wanted).all():
        raise ColourError("target", "is not a batch of finite CIELAB colours", "")
    if model.ink_limit <= 0.0:
        raise ColourError(
            "ink_limit", f"{model.ink_limit:g} lets no ink on the film", "about 2 to 3 is usual"
        )
    if not len(wanted):
        return Solved(np.empty((0, model.values)), np.empty(0))
    metric = difference_metric(wanted, hold_hue=hold_hue)
    device, labs = start_grid(model)
    begin = device[_nearest(labs, wanted)] if starts is None else starts
    effort = Effort(rounds, patience=4 if thorough else 2)
    best, miss = _search(model, wanted, metric, begin, effort)
    for places in ((_other_samples, _around) if thorough else (_one_sample,)) if again else ():
        open_ = np.flatnonzero(miss > MET)
        if not len(open_):
            break
        begin = places(model, wanted[open_], metric[open_], best[open_])
        times = len(begin) // len(open_)
        goal = np.tile(wanted[open_], (times, 1)), np.tile(metric[open_], (times, 1, 1))
        tried, left = _search(model, *goal, begin, effort)
        tried, left = tried.reshape(times, len(open_), -1), left.reshape(times, -1)
        winner = left.argmin(axis=0), np.arange(len(open_))
        better = left[winner] < miss[open_]
        best[open_[better]], miss[open_[better]] = tried[winner][better], left[winner][better]
    if thorough and hold_hue > 1.0:
        _turn_back(model, wanted, best, miss)
    return Solved(best, miss)


def _turn_back(model: StackModel, wanted: Floats, best: Floats, miss: Floats) -> None:
    """Colours that came out on the far side of grey, which the hue's line also runs through, are
    sought anew as faint ones of their own hue, lighter each time. Changes `best`."""
    lost = np.flatnonzero(miss > MET)
    if not len(lost):
        return
    seen = model.lab(best[lost])
    across = (seen[:, 1:] * wanted[lost, 1:]).sum(axis=1) < -1.0
    lost, light = lost[across], seen[across, 0]
    device, labs = start_grid(model)
    for lift in (0.0, 5.0, 10.0, 20.0):
        if not len(lost):
            return
        hue = wanted[lost, 1:] / np.hypot(wanted[lost, 1], wanted[lost, 2])[:, None]
        faint = np.concatenate((np.minimum(light + lift, 100.0)[:, None], 6.0 * hue), axis=1)
        metric = difference_metric(faint, hold_hue=HOLD_HUE)
        best[lost], _ = _search(model, faint, metric, device[_nearest(labs, faint)], Effort(40, 4))
        still = (model.lab(best[lost])[:, 1:] * hue).sum(axis=1) < 0.0
        lost, light = lost[still], light[still]


def _one_sample(model: StackModel, wanted: Floats, metric: Floats, _best: Floats) -> Floats:
    """Where to begin anew: at the sample nearest by the weighted difference."""
    device, labs = start_grid(model)
    return np.asarray(device[_ranked(labs, wanted, metric, (0,))[0]])


def _other_samples(model: StackModel, wanted: Floats, metric: Floats, _best: Floats) -> Floats:
    """At samples that lie near by the weighted difference, (starts · batch, values)."""
    device, labs = start_grid(model)
    return device[_ranked(labs, wanted, metric, (0, 5, 20)).reshape(-1)]


def _around(model: StackModel, _wanted: Floats, _metric: Floats, best: Floats) -> Floats:
    """Scattered around the best place found so far; the same scatter for every colour, so that a
    colour's answer does not hang on the others in its batch."""
    scatter = np.random.default_rng(7).normal(size=(len(_WIDTHS), 1, model.values))
    begin = best[None] + np.array(_WIDTHS)[:, None, None] * scatter
    return np.asarray(np.clip(begin, 0.0, 1.0)).reshape(-1, model.values)


def difference_metric(targets: Floats, *, hold_hue: float = 1.0) -> Floats:
    """Matrices that turn CIELAB steps near the targets into CIEDE2000 steps, (batch, 3, 3).

    Rows: lightness, chroma, hue, each over its CIEDE2000 weight at the target; the hue row is
    multiplied by `hold_hue` where the target has a hue. Source: [sharma2005], linearised
    """
    chroma = np.hypot(targets[:, 1], targets[:, 2])
    hue = np.arctan2(targets[:, 2], targets[:, 1])
    c7 = chroma**7
    stretch = 1.5 - 0.5 * np.sqrt(c7 / (c7 + 25.0**7))
    s_l, s_c, s_h, _ = de00_weights(targets[:, 0], stretch * chroma, np.degrees(hue) % 360.0)
    held = 1.0 + (hold_hue - 1.0) * np.clip((chroma - 2.0) / 8.0, 0.0, 1.0)
    metric = np.zeros((len(targets), 3, 3))
    metric[:, 0, 0] = 1.0 / s_l
    metric[:, 1, 1], metric[:, 1, 2] = np.cos(hue) / s_c, np.sin(hue) / s_c
    metric[:, 2, 1], metric[:, 2, 2] = -np.sin(hue) * held / s_h, np.cos(hue) * held / s_h
    return metric


@lru_cache(maxsize=32)
def start_grid(model: StackModel) -> tuple[Floats, Floats]:
    """Device values spread over what a film takes, (points, values), and their colours."""
    axes = model.film.axes
    steps = np.linspace(0.0, 1.0, _GRID if axes == 3 else 5)
    mesh = np.stack(np.meshgrid(*[steps] * axes, indexing="ij"), axis=-1).reshape(-1, axes)
    device = within_limit(mesh, model)
    if model.unlike:
        device = np.tile(device, (1, model.films))
    return device, model.lab(device)


def within_limit(device: Floats, model: StackModel) -> Floats:
    """Device values of one film with the ink over the limit taken off all inks alike.

    device : (batch, axes), one film
    """
    ink = 1.0 - device if model.kind == "rgb" else device
    total = ink.sum(axis=1)
    over = total > model.ink_limit
    if over.any():
        scale = np.where(over, model.ink_limit / np.maximum(total, 1e-12), 1.0)
        ink = ink * scale[:, None]
        return 1.0 - ink if model.kind == "rgb" else ink
    return device


def _nearest(labs: Floats, wanted: Floats) -> Places:
    """Index of the nearest colour by CIELAB distance."""
    spots, points = labs.astype(np.float32), wanted.astype(np.float32)
    square, turned = (spots * spots).sum(axis=1), -2.0 * spots.T
    parts = [
        (points[first : first + _CHUNK] @ turned + square).argmin(axis=1)
        for first in range(0, len(points), _CHUNK)
    ]
    return np.concatenate(parts) if parts else np.empty(0, dtype=int)


def _ranked(labs: Floats, wanted: Floats, metric: Floats, ranks: tuple[int, ...]) -> Places:
    """Indices of the samples that are so many places from the nearest by the weighted
    difference, (ranks, batch)."""
    found = np.empty((len(ranks), len(wanted)), dtype=np.intp)
    for first in range(0, len(wanted), 256):
        part = slice(first, first + 256)
        turned = metric[part] @ (labs.T - wanted[part, :, None])
        away = np.einsum("bij,bij->bj", turned, turned)
        found[:, part] = np.argpartition(away, ranks, axis=1)[:, list(ranks)].T
    return found


def _search(
    model: StackModel, wanted: Floats, metric: Floats, begin: Floats, effort: Effort
) -> tuple[Floats, Floats]:
    """The search from one start each; returns device values and what is missed."""
    kind = np.float32
    device = begin.astype(kind)
    target, metric = wanted.astype(kind), metric.astype(kind)
    done_device, done_cost = np.empty_like(device), np.empty(len(device), dtype=kind)
    place = np.arange(len(device))
    damping = np.full(len(device), 1e-3, dtype=kind)
    rows, slopes, cost = _residuals(model, device, target, metric)
    idle = np.zeros(len(device), dtype=np.int8)
    for _ in range(effort.rounds):
        step = _steps(device, rows, slopes, damping)
        trial = np.clip(device + step, 0.0, 1.0)
        new_rows, new_slopes, new_cost = _residuals(model, trial, target, metric)
        gained = cost - new_cost
        better = gained > 0.0
        idle = np.where(gained > 1e-3 * cost + 1e-7, 0, idle + 1).astype(np.int8)
        pick = better[:, None]
        device = np.where(pick, trial, device)
        rows = np.where(pick, new_rows, rows)
        slopes = np.where(pick[:, :, None], new_slopes, slopes)
        cost = np.where(better, new_cost, cost)
        damping = np.where(better, damping * 0.1, np.minimum(damping * 8.0, 1e4)).astype(kind)
        over = (cost < (0.25 * MET) ** 2) | (idle >= effort.patience)
        if over.any():
            done_device[place[over]], done_cost[place[over]] = device[over], cost[over]
            keep = ~over
            if not keep.any():
                place = place[:0]
                break
            device, rows, slopes, cost = device[keep], rows[keep], slopes[keep], cost[keep]
            damping, idle, place = damping[keep], idle[keep], place[keep]
            target, metric = target[keep], metric[keep]
    done_device[place], done_cost[place] = device[: len(place)], cost[: len(place)]
    return _finished(model, done_device.astype(float)), np.sqrt(done_cost.astype(float))


def _finished(model: StackModel, device: Floats) -> Floats:
    """The ink limit made exact on every film."""
    axes = model.film.axes
    parts = [within_limit(device[:, i : i + axes], model) for i in range(0, device.shape[1], axes)]
    return np.asarray(np.clip(np.concatenate(parts, axis=1), 0.0, 1.0))


def _residuals(
    model: StackModel, device: Floats, target: Floats, metric: Floats
) -> tuple[Floats, Floats, Floats]:
    """Weighted colour rows, (batch, 3 + films), their slopes and their sum of squares."""
    parts = [
        _chunk_residuals(
            model, *(array[first : first + _CHUNK] for array in (device, target, metric))
        )
        for first in range(0, len(device), _CHUNK)
    ]
    if len(parts) == 1:
        return parts[0]
    rows, slopes, cost = zip(*parts, strict=True)
    return np.concatenate(rows), np.concatenate(slopes), np.concatenate(cost)


def _chunk_residuals(
    model: StackModel, device: Floats, target: Floats, metric: Floats
) -> tuple[Floats, Floats, Floats]:
    """The same for as many colours as fit the processor's cache. A row a film tells of ink over
    its limit."""
    lab, jacobian = model.lab_with_slopes(device)
    rows = (metric @ (lab - target)[:, :, None])[:, :, 0]
    slopes = metric @ jacobian
    axes = model.film.axes
    if model.ink_limit < axes:
        sign = -1.0 if model.kind == "rgb" else 1.0
        ink = device.reshape(len(device), -1, axes).sum(axis=2)
        over = (axes - ink if model.kind == "rgb" else ink) - model.ink_limit
        presses = over > 0.0
        penalty = np.zeros((len(device), ink.shape[1], model.values), dtype=device.dtype)
        for film in range(ink.shape[1]):
            part = slice(film * axes, (film + 1) * axes)
            penalty[:, film, part] = np.where(presses[:, film, None], sign * _STIFF, 0.0)
        rows = np.concatenate((rows, np.where(presses, _STIFF * over, 0.0)), axis=1)
        slopes = np.concatenate((slopes, penalty), axis=1)
    rows = rows.astype(device.dtype, copy=False)
    return rows, slopes, np.einsum("bi,bi->b", rows, rows)


def _steps(device: Floats, rows: Floats, slopes: Floats, damping: Floats) -> Floats:
    """One damped step each; values that press against their bound stay."""
    turned = slopes.transpose(0, 2, 1)
    pull = (turned @ rows[:, :, None])[:, :, 0]
    normal = turned @ slopes
    held = ((device <= 0.0) & (pull > 0.0)) | ((device >= 1.0) & (pull < 0.0))
    free = ~held
    normal *= free[:, :, None] & free[:, None, :]
    axis = np.arange(normal.shape[1])
    # Damping follows the colour rows alone: the stiff rows of the ink limit would hold a step
    # along the limit back.
    colour = slopes[:, :3]
    diagonal = np.einsum("bij,bij->bj", colour, colour)
    extra = damping[:, None] * np.maximum(diagonal, 1e-2 * diagonal.max(axis=1, keepdims=True))
    floor = 1e-5 * normal[:, axis, axis].max(axis=1, keepdims=True) + 1e-6
    normal[:, axis, axis] += np.where(held, 1.0, extra + floor)
    return np.asarray(np.linalg.solve(normal, -(pull * free)[:, :, None])[:, :, 0])
