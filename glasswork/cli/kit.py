"""The profiles that settings name, found on the shelf and read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from glasswork.cli import shelf
from glasswork.errors import GlassworkError, raise_all
from glasswork.model.light import Light
from glasswork.model.project import Settings
from glasswork.pipeline import Kit

T = TypeVar("T")


def _other_lights(chosen: str) -> tuple[Light, ...]:
    """Every light on the shelf but the chosen one, so that a better one can be named."""
    from glasswork.readers.light import read_light

    found = []
    for name in shelf.names("lights"):
        path = shelf.find("lights", name)
        if name != chosen:
            data = shelf.read_file(path)
            found.append(read_light(data, where=path.name, sibling=shelf.siblings(path)))
    return tuple(found)


def load_kit(settings: Settings, *, beside: Path | None = None) -> Kit:
    """Every profile of the settings.

    beside : the project file's folder, where its own profiles may lie
    Raises: ProfileError or Faults, if any is missing or wrong
    """
    from glasswork.readers.board import read_board
    from glasswork.readers.cutter import read_cutter
    from glasswork.readers.light import read_light
    from glasswork.readers.page import read_page
    from glasswork.readers.palette import read_palette
    from glasswork.readers.printer import read_printer

    faults: list[GlassworkError] = []

    def read(kind: str, name: str, reader: Callable[[bytes, Path], T]) -> T | None:
        try:
            path = shelf.find(kind, name, beside=beside)
            return reader(shelf.read_file(path), path)
        except GlassworkError as fault:
            faults.append(fault)
            return None

    palette = read(
        "palettes",
        settings.palette,
        lambda data, path: read_palette(data, where=path.name, sibling=shelf.siblings(path)),
    )
    printer = read(
        "printers", settings.printer, lambda data, path: read_printer(data, where=path.name)
    )
    light = read(
        "lights",
        settings.light,
        lambda data, path: read_light(data, where=path.name, sibling=shelf.siblings(path)),
    )
    board = read("boards", settings.board, lambda data, path: read_board(data, where=path.name))
    cutter = read("cutters", settings.cutter, lambda data, path: read_cutter(data, where=path.name))
    page = read("pages", settings.page, lambda data, path: read_page(data, where=path.name))
    raise_all(faults)
    if palette is None or printer is None or light is None:
        raise AssertionError("a profile is missing and nobody said so")
    if board is None or cutter is None or page is None:
        raise AssertionError("a profile is missing and nobody said so")
    return Kit(
        lights=_other_lights(settings.light),
        palette=palette,
        printer=printer,
        light=light,
        board=board,
        cutter=cutter,
        page=page,
    )
