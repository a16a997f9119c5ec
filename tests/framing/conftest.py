"""Means of making a frame for the tests."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from glasswork.framing.plan import plan_frame
from glasswork.model.finding import Finding
from glasswork.model.frame import FramePlan
from glasswork.model.window import Window

sys.path.insert(0, str(Path(__file__).parent))  # tests/framing/windows.py builds windows by hand

from windows import board, cutter, printer

Planner = Callable[..., tuple[FramePlan, tuple[Finding, ...]]]


@pytest.fixture(scope="session")
def plan() -> Planner:
    """plan(window, board="chipboard-2", cutter="laser", films=2, **more)."""

    def make(
        window: Window,
        *,
        board_name: str = "chipboard-2",
        cutter_name: str = "laser",
        films: int = 2,
        **more: object,
    ) -> tuple[FramePlan, tuple[Finding, ...]]:
        return plan_frame(
            window,
            board(board_name),
            cutter(cutter_name),
            printer=printer(),
            films=films,
            **more,  # type: ignore[arg-type]
        )

    return make
