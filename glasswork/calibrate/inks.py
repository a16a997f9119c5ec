"""Spectra behind three bands: four plausible inks, fitted to what a camera or instrument saw.

Three numbers cannot say what a stack will look like; but a printed film is not any spectrum. It
is made of few inks, and the same inks in every patch. So one set of inks is sought that explains
all patches at once, on one film and, where they were photographed, on two and three: each film
more filters the light the next one sees, which tells where in a band the ink absorbs.

    τ(λ) = Π_j (1 - a_j + a_j · 10^(-D_j(λ)/n))^n

a_j is the area ink j covers on a patch, D_j its spectral density where solid. That is the
Yule-Nielsen spectral Neugebauer model of dots that overlap at random and whose densities add
[demichel1924], [yule-nielsen1951]. Unknown are D_j (bent away smoothly from common dyes), n, and
four areas a patch; and for a camera its bands, its matrix, its flare and its tone.

All are found together by damped least squares [marquardt1963]; every patch touches only its own
areas, so the large system falls apart into small ones (Schur complement).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.calibrate.eyes import NM, Eye, bumps, everyday, srgb_of
from glasswork.calibrate.physics import Physics
from glasswork.calibrate.shapes import common_inks, hats
from glasswork.cielab import cube_root, cube_root_slope

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

INKS: Final = 4
_KNOTS: Final = 9
# How far each unknown may reasonably stray, against the error of an observation.
_SEEN: Final = 0.006
"""Error of an observation, in cube roots of light: 0.7 of L*."""
_STRAY: Final = 4.0
"""Errors of an observation beyond which it is mistrusted."""
_BEND: Final = 0.35
_BEND_KNOWN: Final = 0.05
_BAND: Final = 0.30
_MATRIX: Final = 0.10
_TRUE: Final = 0.02
"""How far the camera's colours of everyday things may be off, in linear sRGB."""
_FLARE: Final = 0.003
_TONE: Final = 0.004
_AREA: Final = 0.35
_SHAPE_N: Final = 0.35
EMPTY: Final = 8e-4
"""Values below this are taken as 'this or less': a picture cannot hold negative light."""
MOST_COVER: Final = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Patches as seen through so many films. values : (patches, 3) relative to bare film, NaN
    where a patch was not seen; weight : (patches,) 0-1; least : (patches, 3) it is this or less"""

    films: int
    values: Floats
    weight: Floats
    least: Bools | None = None


@dataclass(frozen=True, slots=True, eq=False)
class InkFit:
    """printed : (patches, 36) transmittance of each patch relative to bare film
    solids : (4, 36) densities of the inks; areas : (patches, 4)
    residual : (films sets, patches, 3) what is left, in cube roots of light"""

    printed: Floats
    solids: Floats
    areas: Floats
    n: float
    flare: float
    tone: float
    residual: Floats
    rounds: int


@dataclass(slots=True)
class _State:
    areas: Floats
    bend: Floats
    log_n: float
    band: Floats
    matrix: Floats
    flare: float
    tone: float


def fit_inks(
    seen: Sequence[Seen],
    *,
    start: Floats,
    eye: Eye,
    physics: Physics,
    base: Floats,
    index: float,
    rounds: int = 40,
    solids: Floats | None = None,
) -> InkFit:
    """The inks and areas that explain what was seen.

    start : (patches, 4) areas to begin with: C, M, Y, K
    solids : (4, 36) densities of the inks where they are known already: they may bend little
    """
    task = _Task(seen, eye, physics, base, index, solids)
    state = _State(
        areas=np.clip(start, 0.02, 0.98),
        bend=np.zeros((INKS, _KNOTS)),
        log_n=float(np.log(1.6)),
        band=np.zeros((3, bumps().shape[1])),
        matrix=eye.matrix.copy(),
        flare=0.0,
        tone=0.0,
    )
    prior = state.areas.copy()
    damping = 1e-2
    done = 0
    found = task.linearise(state, prior)
    while done < rounds:
        done += 1
        trial = task.step(state, found, damping)
        new = task.linearise(trial, prior)
        if new.cost < found.cost:
            gained = (found.cost - new.cost) / found.cost
            state, found, damping = trial, new, max(damping * 0.3, 1e-6)
            if gained < 1e-4 and damping < 1e-3:
                break
        else:
            damping *= 6.0
            if damping > 1e4:
                break
    return task.result(state, found, done)


@dataclass(frozen=True, slots=True, eq=False)
class _Linear:
    """Rows of observations with their slopes, and rows of what is expected of the shared
    unknowns. local : (patches, rows, 4); shared : (patches, rows, shared)"""

    rows: Floats
    local: Floats
    shared: Floats
    prior_rows: Floats
    prior_slopes: Floats
    area_rows: Floats
    residual: Floats
    cost: float


class _Task:
    """One fit: what was seen, and the model with its slopes."""

    def __init__(
        self,
        seen: Sequence[Seen],
        eye: Eye,
        physics: Physics,
        base: Floats,
        index: float,
        solids: Floats | None = None,
    ) -> None:
        self.seen, self.eye = seen, eye
        self.physics, self.base, self.index = physics, base, index
        self.common = common_inks() if solids is None else np.maximum(solids, 2e-3)
        self.bend = _BEND if solids is None else _BEND_KNOWN
        self.knots = hats(_KNOTS)
        self.bumps = bumps()
        self.everyday = everyday()
        self.everyday_srgb = srgb_of(self.everyday, physics.weights)
        self.wanted = np.stack([cube_root(np.nan_to_num(s.values, nan=0.5)) for s in seen])
        self.known = np.stack([np.isfinite(s.values) for s in seen])
        self.empty = np.stack(
            [
                (np.abs(np.nan_to_num(s.values, nan=1.0)) < EMPTY)
                | (False if s.least is None else s.least)
                for s in seen
            ]
        ) & np.full(3, eye.free)
        self.trust = np.stack([np.sqrt(s.weight) for s in seen])[:, :, None] * self.known / _SEEN
        self.shared = INKS * _KNOTS + 1 + (3 * self.bumps.shape[1] + 6 + 2 if eye.free else 0)

    def linearise(self, state: _State, prior: Floats) -> _Linear:
        printed, by_area, by_bend, by_n = self._film(state)
        bands = self._bands(state)
        patches = len(state.areas)
        rows, local, shared = [], [], []
        left = np.zeros_like(self.wanted)
        cost = 0.0
        for k, seen in enumerate(self.seen):
            through, steep = self._pile(printed, seen.films)
            raw = through @ bands
            value, slope_raw, extra = self._look(state, raw)
            slope_root = cube_root_slope(value)
            off = cube_root(value) - self.wanted[k]
            # What the picture shows as nothing may be less than nothing.
            idle = self.empty[k] & (off < 0.0)
            off = np.where(idle, 0.0, off)
            trust = np.where(idle, 0.0, self.trust[k])
            # A stray observation pulls less the farther it is off (Cauchy's loss).
            spread = (off * trust / _STRAY) ** 2
            cost += float(_STRAY**2 * np.log1p(spread).sum())
            trust = trust / np.sqrt(1.0 + spread)
            left[k] = np.where(self.known[k], off, 0.0)
            chain = (trust * slope_root)[:, :, None]
            dark = steep[:, :, None]
            raw_area = np.einsum("pwa,wc->pca", by_area * dark, bands)
            raw_ink = np.einsum("pwb,wc->pcb", by_bend * dark, bands)
            raw_n = np.einsum("pw,wc->pc", by_n * steep, bands)[:, :, None]
            own = chain * (slope_raw @ raw_area)
            ink = chain * (slope_raw @ np.concatenate((raw_ink, raw_n), axis=2))
            parts = [ink]
            if self.eye.free:
                parts += self._camera_slopes(through, raw, bands, chain, slope_raw, extra)
            rows.append(off * trust)
            local.append(own)
            shared.append(np.concatenate(parts, axis=2))
        all_rows = np.concatenate(rows, axis=1)
        prior_rows, prior_slopes = self._prior(state, bands)
        area_rows = (state.areas - prior) / _AREA
        cost += float((prior_rows**2).sum() + (area_rows**2).sum())
        return _Linear(
            all_rows,
            np.concatenate(local, axis=1),
            np.concatenate(shared, axis=1).reshape(patches, -1, self.shared),
            prior_rows,
            prior_slopes,
            area_rows,
            left,
            cost,
        )

    def _film(self, state: _State) -> tuple[Floats, Floats, Floats, Floats]:
        """Printed film (patches, 36), and its slopes by areas, ink shapes and log n."""
        n = float(np.exp(state.log_n))
        solids = self._solids(state)
        gap = 10.0 ** (-solids / n)
        part = 1.0 - state.areas[:, :, None] * (1.0 - gap)[None]
        log_part = np.log(part)
        printed = np.exp(n * log_part.sum(axis=1))
        by_area = (printed[:, None] * n * (gap - 1.0)[None] / part).transpose(0, 2, 1)
        share = state.areas[:, :, None] * gap[None] / part
        by_density = -np.log(10.0) * printed[:, None] * share
        by_bend = np.einsum("pjw,jw,wm->pwjm", by_density, solids, self.knots)
        by_log_n = printed * (
            n * log_part.sum(axis=1) + np.log(10.0) * (share * solids[None]).sum(axis=1)
        )
        patches = len(printed)
        return printed, by_area, by_bend.reshape(patches, len(NM), -1), by_log_n

    def _solids(self, state: _State) -> Floats:
        return np.asarray(self.common * np.exp(state.bend @ self.knots.T))

    def _bands(self, state: _State) -> Floats:
        if not self.eye.free:
            return self.eye.weights
        bands = self.eye.weights * np.exp(self.bumps @ state.band.T)
        return np.asarray(bands / bands.sum(axis=0))

    def _pile(self, printed: Floats, films: int) -> tuple[Floats, Floats]:
        """Stack relative to the clear one, and its slope by the films' transmittance."""
        step = 1e-4
        tau = np.clip(printed, 1e-7, 1.0 - step)
        at = self.physics.stacked(tau, films, base=self.base, index=self.index)
        on = self.physics.stacked(tau + step * tau, films, base=self.base, index=self.index)
        return at, (on - at) / (step * tau)

    def _look(self, state: _State, raw: Floats) -> tuple[Floats, Floats, tuple[Floats, Floats]]:
        """What is read, its slopes by the bands (patches, 3, 3), and by flare and tone."""
        value = raw @ state.matrix.T
        slope = np.broadcast_to(state.matrix, (len(raw), 3, 3))
        if not self.eye.free:
            return value, slope, (value, value)
        flared = (value + state.flare) / (1.0 + state.flare)
        by_flare = (1.0 - flared) / (1.0 + state.flare)
        safe = np.maximum(flared, 1e-4)
        bent = np.where(flared > 1e-4, safe * np.exp(state.tone * np.log(safe)), flared)
        by_tone = np.where(flared > 1e-4, bent * np.log(safe), 0.0)
        rise = np.where(flared > 1e-4, (1.0 + state.tone) * bent / safe, 1.0)
        slope = slope * (rise / (1.0 + state.flare))[:, :, None]
        return bent, slope, (by_flare * rise, by_tone)

    def _camera_slopes(
        self,
        through: Floats,
        raw: Floats,
        bands: Floats,
        chain: Floats,
        slope_raw: Floats,
        extra: tuple[Floats, Floats],
    ) -> list[Floats]:
        lift = np.einsum("pw,wc,wb->pcb", through, bands, self.bumps)
        mean = np.einsum("wc,wb->cb", bands, self.bumps)
        by_band = lift - raw[:, :, None] * mean[None]
        wide = np.einsum("pic,pcb->picb", slope_raw, by_band).reshape(len(raw), 3, -1)
        rise = slope_raw.sum(axis=2)
        by_matrix = np.zeros((len(raw), 3, 6))
        for slot, (i, j) in enumerate(_PAIRS):
            by_matrix[:, i, slot] = rise[:, i] * (raw[:, j] - raw[:, i])
        flare, tone = extra
        return [
            chain * wide,
            chain * by_matrix,
            chain * flare[:, :, None],
            chain * tone[:, :, None],
        ]

    def _prior(self, state: _State, bands: Floats) -> tuple[Floats, Floats]:
        """Rows that hold the shared unknowns to what is common, with their slopes."""
        inks = INKS * _KNOTS
        blocks: list[tuple[Floats, Floats]] = []
        bend = state.bend.ravel()
        blocks.append((bend / self.bend, _eye_rows(self.shared, 0, inks) / self.bend))
        curl = np.zeros((INKS * (_KNOTS - 2), self.shared))
        for j in range(INKS):
            for m in range(_KNOTS - 2):
                row, at = j * (_KNOTS - 2) + m, j * _KNOTS + m
                curl[row, at : at + 3] = np.array([1.0, -2.0, 1.0]) / (0.5 * self.bend)
        blocks.append((curl[:, :inks] @ bend, curl))
        n_row = np.array([(state.log_n - np.log(1.6)) / _SHAPE_N])
        blocks.append((n_row, _eye_rows(self.shared, inks, 1) / _SHAPE_N))
        if self.eye.free:
            blocks += self._camera_prior(state, bands, inks + 1)
        rows, slopes = zip(*blocks, strict=True)
        return np.concatenate(rows), np.concatenate(slopes)

    def _camera_prior(
        self, state: _State, bands: Floats, first: int
    ) -> list[tuple[Floats, Floats]]:
        wide = state.band.size
        blocks = [(state.band.ravel() / _BAND, _eye_rows(self.shared, first, wide) / _BAND)]
        away = np.array([state.matrix[i, j] - self.eye.matrix[i, j] for i, j in _PAIRS])
        blocks.append((away / _MATRIX, _eye_rows(self.shared, first + wide, 6) / _MATRIX))
        flare = np.array([state.flare / _FLARE])
        blocks.append((flare, _eye_rows(self.shared, first + wide + 6, 1) / _FLARE))
        tone = np.array([state.tone / _TONE])
        blocks.append((tone, _eye_rows(self.shared, first + wide + 7, 1) / _TONE))
        raw = self.everyday @ bands
        off = (raw @ state.matrix.T - self.everyday_srgb) / _TRUE
        slopes = np.zeros((len(raw), 3, self.shared))
        lift = np.einsum("pw,wc,wb->pcb", self.everyday, bands, self.bumps)
        by_band = lift - raw[:, :, None] * np.einsum("wc,wb->cb", bands, self.bumps)[None]
        wide_slopes = np.einsum("ic,pcb->picb", state.matrix, by_band).reshape(len(raw), 3, -1)
        slopes[:, :, first : first + wide] = wide_slopes / _TRUE
        for slot, (i, j) in enumerate(_PAIRS):
            slopes[:, i, first + wide + slot] = (raw[:, j] - raw[:, i]) / _TRUE
        blocks.append((off.ravel(), slopes.reshape(-1, self.shared)))
        return blocks

    def step(self, state: _State, at: _Linear, damping: float) -> _State:
        """One damped step; areas that press against 0 or full cover stay."""
        own = at.local.transpose(0, 2, 1)
        pull_own = (own @ at.rows[:, :, None])[:, :, 0] + at.area_rows / _AREA
        held = ((state.areas <= 0.0) & (pull_own > 0.0)) | (
            (state.areas >= MOST_COVER) & (pull_own < 0.0)
        )
        free = ~held
        block = own @ at.local + np.eye(INKS) / _AREA**2
        block *= free[:, :, None] & free[:, None, :]
        slot = np.arange(INKS)
        block[:, slot, slot] = np.where(held, 1.0, block[:, slot, slot] * (1.0 + damping) + 1e-9)
        cross = (own @ at.shared) * free[:, :, None]
        pull_own = pull_own * free
        flat = at.shared.reshape(-1, self.shared)
        normal = flat.T @ flat + at.prior_slopes.T @ at.prior_slopes
        normal[np.diag_indices(self.shared)] *= 1.0 + damping
        pull = flat.T @ at.rows.ravel() + at.prior_slopes.T @ at.prior_rows
        solved = np.linalg.solve(block, np.concatenate((cross, pull_own[:, :, None]), axis=2))
        reduced = normal - np.einsum("pai,paj->ij", cross, solved[:, :, :-1])
        moved = np.linalg.solve(reduced, -(pull - np.einsum("pai,pa->i", cross, solved[:, :, -1])))
        own_step = -(solved[:, :, -1] + solved[:, :, :-1] @ moved)
        return self._moved(state, own_step, moved)

    def _moved(self, state: _State, own: Floats, shared: Floats) -> _State:
        inks = INKS * _KNOTS
        new = _State(
            areas=np.clip(state.areas + np.clip(own, -0.3, 0.3), 0.0, MOST_COVER),
            bend=state.bend + np.clip(shared[:inks], -0.5, 0.5).reshape(INKS, _KNOTS),
            log_n=float(np.clip(state.log_n + np.clip(shared[inks], -0.2, 0.2), 0.0, np.log(6.0))),
            band=state.band,
            matrix=state.matrix,
            flare=state.flare,
            tone=state.tone,
        )
        if self.eye.free:
            first, wide = inks + 1, state.band.size
            new.band = state.band + np.clip(shared[first : first + wide], -0.3, 0.3).reshape(
                state.band.shape
            )
            new.matrix = state.matrix.copy()
            for slot, (i, j) in enumerate(_PAIRS):
                new.matrix[i, j] += shared[first + wide + slot]
                new.matrix[i, i] -= shared[first + wide + slot]
            new.flare = float(np.clip(state.flare + shared[-2], 0.0, 0.05))
            new.tone = float(np.clip(state.tone + shared[-1], -0.2, 0.2))
        return new

    def result(self, state: _State, at: _Linear, rounds: int) -> InkFit:
        printed, *_ = self._film(state)
        return InkFit(
            printed=np.clip(printed, 0.0, 1.0),
            solids=self._solids(state),
            areas=state.areas,
            n=float(np.exp(state.log_n)),
            flare=state.flare,
            tone=state.tone,
            residual=at.residual,
            rounds=rounds,
        )


_PAIRS: Final = tuple((i, j) for i in range(3) for j in range(3) if i != j)


def _eye_rows(width: int, first: int, count: int) -> Floats:
    rows = np.zeros((count, width))
    rows[np.arange(count), first + np.arange(count)] = 1.0
    return rows
