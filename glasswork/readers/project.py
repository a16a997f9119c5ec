"""Project files: TOML in, `Project` out."""

from __future__ import annotations

import re

from glasswork.errors import GlassworkError, ProfileError, raise_all
from glasswork.model.finish import check_finish
from glasswork.model.project import Project, Settings
from glasswork.model.window import Sizing
from glasswork.readers.toml import decode_toml

_RATIO = re.compile(r"\s*1\s*[:/]\s*(\d+(?:\.\d+)?)\s*\Z")


def read_project(data: bytes, *, where: str) -> Project:
    """The settings of a project file.

    Raises: ProfileError, if a key is unknown, missing or out of its domain
    """
    project = decode_toml(data, Project, where=where)
    check_settings(project, where=where)
    return project


def check_settings(settings: Settings, *, where: str) -> None:
    """What the keys' types leave open: sizes, and the words of the tables.

    Raises: ProfileError, or Faults where several are wrong
    """
    sizing_of(settings, where=where)
    faults: list[GlassworkError] = []
    for pane, finish in settings.surfaces.items():
        try:
            check_finish(finish, where=f"{where}, surfaces.{pane}")
        except ProfileError as fault:
            faults.append(fault)
    raise_all(faults)


def scale_factor(text: str, *, where: str) -> float:
    """ "1:24" as 1/24, "0.5" as 0.5.

    Raises: ProfileError, if the text is neither, or not positive
    """
    ratio = _RATIO.match(text)
    try:
        factor = 1.0 / float(ratio.group(1)) if ratio else float(text)
    except (ValueError, ZeroDivisionError):
        factor = 0.0
    if not 0.0 < factor <= 1000.0:
        raise ProfileError(
            where, f'scale "{text}" is not a factor over 0 and up to 1000', 'write "1:24" or "0.5"'
        )
    return factor


def sizing_of(settings: Settings, *, where: str) -> Sizing:
    """The size wished for, checked.

    Raises: ProfileError, if a length is not positive, or two settings say the size
    """
    lengths = {
        "width": settings.width,
        "height": settings.height,
        "opening width": settings.opening[0] if settings.opening else None,
        "opening height": settings.opening[1] if settings.opening else None,
        "recess": settings.recess,
    }
    for name, value in lengths.items():
        if value is not None and not 0.0 < value < 100_000.0:
            raise ProfileError(where, f"{name} {value:g} mm is not over 0", "give a length in mm")
    if not 0.0 <= settings.clearance < 100.0:
        raise ProfileError(
            where,
            f"clearance {settings.clearance:g} mm is not between 0 and 100",
            "0.3 to 1 mm is usual",
        )
    said = [name for name in ("width", "height", "opening") if getattr(settings, name) is not None]
    if settings.opening and settings.opening_drawing:
        raise ProfileError(
            where, "opening and opening_drawing both say what the panel drops into", "keep one"
        )
    if len(said) > 1:
        raise ProfileError(
            where,
            f"{' and '.join(said)} both say the size",
            "keep one; the drawing keeps its shape",
        )
    if settings.opening and min(settings.opening) <= 2.0 * settings.clearance:
        width, height = settings.opening
        raise ProfileError(
            where,
            f"clearance {settings.clearance:g} mm on every side leaves nothing of the opening "
            f"{width:g} x {height:g} mm",
            "make the clearance smaller",
        )
    return Sizing(
        width_mm=settings.width,
        height_mm=settings.height,
        opening_mm=settings.opening,
        clearance_mm=settings.clearance,
        scale=scale_factor(settings.scale, where=where),
    )
