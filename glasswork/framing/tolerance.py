"""How far film and frame may drift apart: worst case and root-sum-square."""

from __future__ import annotations

from math import ceil, sqrt

from glasswork.model.film import PrinterProfile
from glasswork.model.frame import Board, Cutter

PIN_ALIGNMENT_MM = 0.25
"""± that films and layers stand on their pins; common practice 0.2-0.3."""
KERF_SHARE = 0.25
"""Share of the kerf by which it wanders over the bed; common practice."""
_BLEED_STEP_MM = 0.05

Contributions = tuple[tuple[str, float], ...]


def contributions(
    panel_mm: tuple[float, float], board: Board, cutter: Cutter, printer: PrinterProfile
) -> Contributions:
    """Every ± mm by which a printed edge may stand beside its cut edge, at the panel's rim.

    Scale errors grow from the panel's middle, so they count over half its longer side. Both
    edges of a part are cut half a kerf off the line, so the kerf counts by half its wander.
    """
    half = max(panel_mm) / 2.0
    return (
        ("print scale", printer.print_scale_uncertainty * half),
        ("film alignment", PIN_ALIGNMENT_MM),
        ("cut accuracy", cutter.accuracy_mm),
        ("kerf", KERF_SHARE * cutter.kerf_for(board.thickness_mm) / 2.0),
        ("board growth", board.growth * half),
    )


def worst_case_mm(parts: Contributions) -> float:
    """Σ T.

    Source: [scholz1995]
    """
    return sum(abs(value) for _, value in parts)


def rss_mm(parts: Contributions) -> float:
    """√Σ T², for independent errors about zero.

    Source: [scholz1995]
    """
    return sqrt(sum(value * value for _, value in parts))


def bleed_for(worst_mm: float) -> float:
    """The bleed under the leads: the worst case, rounded up to 0.05 mm."""
    return ceil(worst_mm / _BLEED_STEP_MM - 1e-9) * _BLEED_STEP_MM
