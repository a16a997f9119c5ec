"""Assembled panels, drawn by lot: how often light shows beside a lead, and how wide.

Each panel draws its own errors: the print's scale across and along, where the films and each face
lie on their pins, how each face was cut, the kerf, the board's growth. An edge of a lead then
stands off its drawn place; where both faces stand back from the ink by more than its cover, white
shows (beside the border), or the neighbour's colour (under a lead that two panes share).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.framing.bleed import Edges
from glasswork.framing.tolerance import Contributions
from glasswork.model.frame import Assembled, Made, MemberMade
from glasswork.model.window import Role, Window
from glasswork.planar import AreaSet

RUNS = 1000
SEED = 1
VISIBLE_MM = 0.05
"""A slit narrower than this is not seen: half a minute of arc at 300 mm; common practice."""
MOST_EDGES, NEAR_LEAST_MM = 150, 0.1
"""How many edges of a kind are looked at, and how much more cover than the least they have."""

Spread = Literal["normal", "uniform"]
Floats = NDArray[np.float64]


def draw_errors(parts: Contributions, *, runs: int, seed: int, spread: Spread = "normal") -> Floats:
    """Errors by lot, (runs, contributions) mm: independent and centred.

    spread : "normal", the tolerance being three standard deviations, as the root-sum-square
        takes it [scholz1995]; or "uniform" between the limits
    """
    lots = np.random.default_rng(seed)
    limits = np.array([value for _, value in parts])
    if spread == "uniform":
        return np.asarray(lots.uniform(-limits, limits, (runs, len(parts))))
    return np.asarray(lots.standard_normal((runs, len(parts))) * (limits / 3.0))


class Sample(Struct, frozen=True, kw_only=True):
    """Edges to look at. at, out : (edges, 2) place from the panel's middle, and the direction from
    the lead's edge into the lead; cover_mm : (edges,); white : (edges,) bare light lies beyond.
    """

    at: Floats
    out: Floats
    cover_mm: Floats
    white: NDArray[np.bool_]


def sample_edges(
    window: Window,
    edges: Edges,
    made: Sequence[MemberMade],
    *,
    panes: AreaSet,
    leads: AreaSet,
) -> Sample:
    """The edges of cut members with the least cover, spread over the panel.

    Beside the border bare light lies beyond the ink; under a lead, the neighbour's ink.
    """
    cut = np.array([item.made is Made.CUT for item in made], dtype=bool)[edges.member]
    shared = np.array([item.role is not Role.BORDER for item in window.members])[edges.member]
    rows = np.concatenate(
        [_least_covered(edges, np.flatnonzero(cut & kind)) for kind in (shared, ~shared)]
    )
    at, out = panes.chosen(edges.pane[rows]).shared_sides(leads.chosen(edges.member[rows]))
    good = np.isfinite(at).all(axis=1) & np.isfinite(out).all(axis=1)
    middle = np.array(window.box.centre)
    return Sample(
        at=at[good] - middle,
        out=out[good],
        cover_mm=edges.cover_mm[rows][good],
        white=~shared[rows][good],
    )


def _least_covered(edges: Edges, rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """At most MOST_EDGES of the rows whose cover is near the least."""
    if not len(rows):
        return rows
    cover = edges.cover_mm[rows]
    low = rows[cover <= cover.min() + NEAR_LEAST_MM]
    steps = np.linspace(0, len(low) - 1, min(MOST_EDGES, len(low))).astype(np.intp)
    return np.asarray(low[steps], dtype=np.intp)


def assemble(
    sample: Sample,
    parts: Contributions,
    *,
    half_mm: float,
    runs: int = RUNS,
    seed: int = SEED,
) -> Assembled:
    """Panels put together by lot.

    half_mm : the distance from the middle at which the scale contributions are stated
    """
    by_name = dict(parts)
    lots = np.random.default_rng(seed)

    def lot(name: str, *shape: int) -> Floats:
        return np.asarray(lots.standard_normal((runs, *shape)) * by_name[name] / 3.0)

    scale = lot("print scale", 2) / half_mm
    film = lot("film alignment", 2)
    growth = lot("board growth") / half_mm
    ink = np.einsum("rk,ek,ek->re", scale, sample.at, sample.out) + film @ sample.out.T
    radial = np.einsum("ek,ek->e", sample.at, sample.out)
    gaps = []
    for _face in range(2):
        cut = lot("cut accuracy", len(sample.cover_mm)) + lot("kerf")[:, None]
        gaps.append(growth[:, None] * radial + cut - ink)
    opened = np.minimum(gaps[0], gaps[1]) - sample.cover_mm
    return Assembled(
        runs=runs,
        seed=seed,
        white_share=_share(opened[:, sample.white]),
        white_mean_mm=_mean(opened[:, sample.white]),
        colour_share=_share(opened[:, ~sample.white]),
        colour_mean_mm=_mean(opened[:, ~sample.white]),
    )


def _share(opened: Floats) -> float:
    """Share of the panels with a slit that can be seen."""
    return float((opened > VISIBLE_MM).any(axis=1).mean()) if opened.size else 0.0


def _mean(opened: Floats) -> float:
    """Mean width of the slits that can be seen; 0 if there are none."""
    seen = opened[opened > VISIBLE_MM]
    return float(seen.mean()) if seen.size else 0.0
