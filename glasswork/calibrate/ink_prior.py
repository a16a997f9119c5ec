"""What is expected of the unknowns that all patches share: common inks, and a camera as most are.

Three bands say too little of a spectrum; these rows hold the fit to what inks and cameras do.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.calibrate.eyes import everyday, srgb_of
from glasswork.calibrate.ink_model import INKS, KNOTS, PAIRS, InkModel, State

Floats = NDArray[np.float64]

# How far each unknown may reasonably stray, against the error of an observation.
_BEND: Final = 0.35
_BEND_KNOWN: Final = 0.05
_BAND: Final = 0.30
_MATRIX: Final = 0.10
_TRUE: Final = 0.02
"""How far the camera's colours of everyday things may be off, in linear sRGB."""
_FLARE: Final = 0.003
_TONE: Final = 0.004
_SHAPE_N: Final = 0.35


class Expected:
    """Rows that hold the shared unknowns. known : the inks' densities are known already"""

    def __init__(self, model: InkModel, *, known: bool) -> None:
        self.model = model
        self.bend = _BEND_KNOWN if known else _BEND
        self.everyday = everyday()
        self.everyday_srgb = srgb_of(self.everyday, model.physics.weights)

    def rows(self, state: State, bands: Floats) -> tuple[Floats, Floats]:
        """What the unknowns miss of what is common, and the slopes of that."""
        inks = INKS * KNOTS
        blocks: list[tuple[Floats, Floats]] = []
        bend = state.bend.ravel()
        blocks.append((bend / self.bend, _eye_rows(self.model.shared, 0, inks) / self.bend))
        curl = np.zeros((INKS * (KNOTS - 2), self.model.shared))
        for j in range(INKS):
            for m in range(KNOTS - 2):
                row, at = j * (KNOTS - 2) + m, j * KNOTS + m
                curl[row, at : at + 3] = np.array([1.0, -2.0, 1.0]) / (0.5 * self.bend)
        blocks.append((curl[:, :inks] @ bend, curl))
        n_row = np.array([(state.log_n - np.log(1.6)) / _SHAPE_N])
        blocks.append((n_row, _eye_rows(self.model.shared, inks, 1) / _SHAPE_N))
        if self.model.eye.free:
            blocks += self._camera_prior(state, bands, inks + 1)
        rows, slopes = zip(*blocks, strict=True)
        return np.concatenate(rows), np.concatenate(slopes)

    def _camera_prior(self, state: State, bands: Floats, first: int) -> list[tuple[Floats, Floats]]:
        wide = state.band.size
        blocks = [(state.band.ravel() / _BAND, _eye_rows(self.model.shared, first, wide) / _BAND)]
        away = np.array([state.matrix[i, j] - self.model.eye.matrix[i, j] for i, j in PAIRS])
        blocks.append((away / _MATRIX, _eye_rows(self.model.shared, first + wide, 6) / _MATRIX))
        flare = np.array([state.flare / _FLARE])
        blocks.append((flare, _eye_rows(self.model.shared, first + wide + 6, 1) / _FLARE))
        tone = np.array([state.tone / _TONE])
        blocks.append((tone, _eye_rows(self.model.shared, first + wide + 7, 1) / _TONE))
        raw = self.everyday @ bands
        off = (raw @ state.matrix.T - self.everyday_srgb) / _TRUE
        slopes = np.zeros((len(raw), 3, self.model.shared))
        lift = np.einsum("pw,wc,wb->pcb", self.everyday, bands, self.model.bumps)
        by_band = lift - raw[:, :, None] * np.einsum("wc,wb->cb", bands, self.model.bumps)[None]
        wide_slopes = np.einsum("ic,pcb->picb", state.matrix, by_band).reshape(len(raw), 3, -1)
        slopes[:, :, first : first + wide] = wide_slopes / _TRUE
        for slot, (i, j) in enumerate(PAIRS):
            slopes[:, i, first + wide + slot] = (raw[:, j] - raw[:, i]) / _TRUE
        blocks.append((off.ravel(), slopes.reshape(-1, self.model.shared)))
        return blocks


def _eye_rows(width: int, first: int, count: int) -> Floats:
    rows = np.zeros((count, width))
    rows[np.arange(count), first + np.arange(count)] = 1.0
    return rows
