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
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.calibrate.eyes import Eye, bumps
from glasswork.calibrate.ink_model import INKS, KNOTS, PAIRS, InkModel, State
from glasswork.calibrate.ink_prior import Expected
from glasswork.calibrate.physics import Physics
from glasswork.cielab import cube_root, cube_root_slope

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_SEEN: Final = 0.006
"""Error of an observation, in cube roots of light: 0.7 of L*."""
_STRAY: Final = 4.0
"""Errors of an observation beyond which it is mistrusted."""
_AREA: Final = 0.35
"""How far a patch's areas may stray from where they begin, against that error."""
EMPTY: Final = 8e-4
"""Values below this are taken as 'this or less': a picture cannot hold negative light."""
MOST_COVER: Final = 1.0


class Seen(Struct, frozen=True, eq=False):
    """Patches as seen through so many films. values : (patches, 3) relative to bare film, NaN
    where a patch was not seen; weight : (patches,) 0-1; least : (patches, 3) it is this or less"""

    films: int
    values: Floats
    weight: Floats
    least: Bools | None = None


class InkFit(Struct, frozen=True, eq=False):
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
    model = InkModel(eye, physics, base, index, solids)
    task = _Task(seen, model, known=solids is not None)
    state = State(
        areas=np.clip(start, 0.02, 0.98),
        bend=np.zeros((INKS, KNOTS)),
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


class _Linear(Struct, frozen=True, eq=False):
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
    """One fit: what was seen, and the model with its slopes. known : the inks' solids are"""

    def __init__(self, seen: Sequence[Seen], model: InkModel, *, known: bool = False) -> None:
        self.seen, self.model, self.eye = seen, model, model.eye
        self.expected = Expected(model, known=known)
        self.shared = model.shared
        self.wanted = np.stack([cube_root(np.nan_to_num(s.values, nan=0.5)) for s in seen])
        self.known = np.stack([np.isfinite(s.values) for s in seen])
        self.empty = np.stack(
            [
                (np.abs(np.nan_to_num(s.values, nan=1.0)) < EMPTY)
                | (False if s.least is None else s.least)
                for s in seen
            ]
        ) & np.full(3, model.eye.free)
        self.trust = np.stack([np.sqrt(s.weight) for s in seen])[:, :, None] * self.known / _SEEN

    def linearise(self, state: State, prior: Floats) -> _Linear:
        printed, by_area, by_bend, by_n = self.model.film(state)
        bands = self.model.bands(state)
        patches = len(state.areas)
        rows, local, shared = [], [], []
        left = np.zeros_like(self.wanted)
        cost = 0.0
        for k, seen in enumerate(self.seen):
            through, steep = self.model.pile(printed, seen.films)
            raw = through @ bands
            value, slope_raw, extra = self.model.look(state, raw)
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
                parts += self.model.camera_slopes(through, raw, bands, chain, slope_raw, extra)
            rows.append(off * trust)
            local.append(own)
            shared.append(np.concatenate(parts, axis=2))
        all_rows = np.concatenate(rows, axis=1)
        prior_rows, prior_slopes = self.expected.rows(state, bands)
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

    def step(self, state: State, at: _Linear, damping: float) -> State:
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

    def _moved(self, state: State, own: Floats, shared: Floats) -> State:
        inks = INKS * KNOTS
        new = State(
            areas=np.clip(state.areas + np.clip(own, -0.3, 0.3), 0.0, MOST_COVER),
            bend=state.bend + np.clip(shared[:inks], -0.5, 0.5).reshape(INKS, KNOTS),
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
            for slot, (i, j) in enumerate(PAIRS):
                new.matrix[i, j] += shared[first + wide + slot]
                new.matrix[i, i] -= shared[first + wide + slot]
            new.flare = float(np.clip(state.flare + shared[-2], 0.0, 0.05))
            new.tone = float(np.clip(state.tone + shared[-1], -0.2, 0.2))
        return new

    def result(self, state: State, at: _Linear, rounds: int) -> InkFit:
        printed, *_ = self.model.film(state)
        return InkFit(
            printed=np.clip(printed, 0.0, 1.0),
            solids=self.model.solids(state),
            areas=state.areas,
            n=float(np.exp(state.log_n)),
            flare=state.flare,
            tone=state.tone,
            residual=at.residual,
            rounds=rounds,
        )
