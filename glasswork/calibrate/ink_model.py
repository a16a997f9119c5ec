"""What inks on film look like to an eye or a camera, and how that changes with each unknown.

The model is told in `inks`; here stand its values and its slopes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.calibrate.eyes import NM, Eye, bumps
from glasswork.calibrate.physics import Physics
from glasswork.calibrate.shapes import common_inks, hats

Floats = NDArray[np.float64]

INKS: Final = 4
KNOTS: Final = 9
PAIRS: Final = tuple((i, j) for i in range(3) for j in range(3) if i != j)
"""Places of a camera's matrix off its diagonal; every row sums to what it did."""


@dataclass(slots=True)
class State:
    """The unknowns. areas : (patches, 4) · bend : of the inks' shapes, (4, knots)
    band, matrix, flare, tone : of a camera alone"""

    areas: Floats
    bend: Floats
    log_n: float
    band: Floats
    matrix: Floats
    flare: float
    tone: float


class InkModel:
    """Inks before an eye. shared : how many unknowns all patches share"""

    def __init__(
        self,
        eye: Eye,
        physics: Physics,
        base: Floats,
        index: float,
        solids: Floats | None = None,
    ) -> None:
        self.eye = eye
        self.physics, self.base, self.index = physics, base, index
        self.common = common_inks() if solids is None else np.maximum(solids, 2e-3)
        self.knots = hats(KNOTS)
        self.bumps = bumps()
        self.shared = INKS * KNOTS + 1 + (3 * self.bumps.shape[1] + 6 + 2 if eye.free else 0)

    def film(self, state: State) -> tuple[Floats, Floats, Floats, Floats]:
        """Printed film (patches, 36), and its slopes by areas, ink shapes and log n."""
        n = float(np.exp(state.log_n))
        solids = self.solids(state)
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

    def solids(self, state: State) -> Floats:
        """The inks' densities where solid, (4, 36)."""
        return np.asarray(self.common * np.exp(state.bend @ self.knots.T))

    def bands(self, state: State) -> Floats:
        """What each of the three bands sees of a spectrum, (36, 3)."""
        if not self.eye.free:
            return self.eye.weights
        bands = self.eye.weights * np.exp(self.bumps @ state.band.T)
        return np.asarray(bands / bands.sum(axis=0))

    def pile(self, printed: Floats, films: int) -> tuple[Floats, Floats]:
        """Stack relative to the clear one, and its slope by the films' transmittance."""
        step = 1e-4
        tau = np.clip(printed, 1e-7, 1.0 - step)
        at = self.physics.stacked(tau, films, base=self.base, index=self.index)
        on = self.physics.stacked(tau + step * tau, films, base=self.base, index=self.index)
        return at, (on - at) / (step * tau)

    def look(self, state: State, raw: Floats) -> tuple[Floats, Floats, tuple[Floats, Floats]]:
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

    def camera_slopes(
        self,
        through: Floats,
        raw: Floats,
        bands: Floats,
        chain: Floats,
        slope_raw: Floats,
        extra: tuple[Floats, Floats],
    ) -> list[Floats]:
        """Slopes by a camera's bands, matrix, flare and tone, (patches, 3, unknowns) each.

        through : light behind the film (patches, 36) · raw : what the bands see of it
        chain : slope of the rows by what is read · slope_raw, extra : as `look` gives them
        """
        lift = np.einsum("pw,wc,wb->pcb", through, bands, self.bumps)
        mean = np.einsum("wc,wb->cb", bands, self.bumps)
        by_band = lift - raw[:, :, None] * mean[None]
        wide = np.einsum("pic,pcb->picb", slope_raw, by_band).reshape(len(raw), 3, -1)
        rise = slope_raw.sum(axis=2)
        by_matrix = np.zeros((len(raw), 3, 6))
        for slot, (i, j) in enumerate(PAIRS):
            by_matrix[:, i, slot] = rise[:, i] * (raw[:, j] - raw[:, i])
        flare, tone = extra
        return [
            chain * wide,
            chain * by_matrix,
            chain * flare[:, :, None],
            chain * tone[:, :, None],
        ]
