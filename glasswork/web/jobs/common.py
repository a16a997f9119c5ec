"""What several jobs need: the drawing read, the profiles found, the window glazed."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

from glasswork.model.geometry import Region
from glasswork.model.project import Project
from glasswork.model.window import LineArt, Scan, Window

Begin = Callable[[str], None]
"""Told of each stage as it begins."""


@lru_cache(maxsize=4)
def art_of(drawing: bytes, name: str, *, embedded: bool = False) -> LineArt | Scan:
    """A drawing read; the last few are kept."""
    from glasswork.readers.design import read_design

    return read_design(drawing, name=name, embedded=embedded)


def kit_of(project: Project, beside: str) -> Any:
    """Every profile that the project names."""
    from glasswork.cli.kit import load_kit

    return load_kit(project, beside=Path(beside))


def window_of(
    drawing: bytes, project: Project, kit: Any, beside: str
) -> tuple[Window, Region | None]:
    """The window with its glass, chosen or given, and the drawn opening it drops into."""
    from glasswork.cli.compose import photo_bytes
    from glasswork.panel import glazed_window, sized_window

    window, hole, _ = sized_window(
        art_of(drawing, Path(project.design).name, embedded=project.embedded), project, kit
    )
    window, _ = glazed_window(window, project, kit, photo=photo_bytes(project, Path(beside)))
    return window, hole
