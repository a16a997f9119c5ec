"""The settings of a composition: the command line's options and the project file are the same."""

from __future__ import annotations

from typing import Literal

import msgspec


class Settings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Everything `compose` needs beside the drawing. Lengths are numbers in mm.

    films : "auto", or 1, 2 or 3
    scale : "1:24" or a factor; multiplies the drawing's own size
    opening : [width, height] of the hole that the panel drops into
    roles : class, id, group label or "stroke>=2.5" of the drawing -> border, mullion, bar,
        lead, paint
    glass : pane id -> glass id
    members : member id -> "cut" or "printed"
    """

    palette: str = "harbour"
    printer: str = "dye-film"
    light: str = "led-b3"
    films: Literal["auto", 1, 2, 3] = "auto"
    board: str = "chipboard-2"
    cutter: str = "laser"
    page: str = "a4"
    width: float | None = None
    height: float | None = None
    opening: tuple[float, float] | None = None
    clearance: float = 0.5
    recess: float | None = None
    scale: str = "1"
    roles: dict[str, str] = msgspec.field(default_factory=dict)
    glass: dict[str, str] = msgspec.field(default_factory=dict)
    members: dict[str, Literal["cut", "printed"]] = msgspec.field(default_factory=dict)


class Project(Settings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A project file: the settings and the drawing they are for, as a path beside the file."""

    design: str
    design_sha256: str = ""
    note: str = ""
