"""What the guide is told."""

from __future__ import annotations

from dataclasses import dataclass

from glasswork.model.cautions import CAUTIONS
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finding import Finding
from glasswork.model.frame import Board, Cutter, FramePlan
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.window import Window


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideFacts:
    """Everything the guide tells of."""

    window: Window
    palette: Palette
    separation: Separation
    plan: FramePlan
    light: Light
    board: Board
    cutter: Cutter
    printer: PrinterProfile
    findings: tuple[Finding, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
