"""The profiles that settings name, found on the shelf and read."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Protocol, TypeVar

from glasswork.cli import shelf
from glasswork.cli.files import beside_or_named
from glasswork.errors import GlassworkError, raise_all
from glasswork.model.film import PrinterProfile
from glasswork.model.frame import Board, Cutter, Level
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.project import Settings
from glasswork.model.sheet import PageSize
from glasswork.model.window import LineArt
from glasswork.panel import Kit

T = TypeVar("T")
Made = TypeVar("Made", covariant=True)


class Loader(Protocol[Made]):
    """Finds a profile by its name and reads it."""

    def __call__(self, name: str, *, beside: Path | None) -> Made: ...


def load_light(name: str, *, beside: Path | None = None) -> Light:
    """A light from the shelf.

    Raises: ProfileError, if it is missing or wrong
    """
    from glasswork.readers.light import read_light

    path = shelf.find("lights", name, beside=beside)
    return read_light(shelf.read_file(path), where=path.name, sibling=shelf.siblings(path))


def load_printer(name: str, *, beside: Path | None = None) -> PrinterProfile:
    """A printer profile from the shelf.

    Raises: ProfileError, if it is missing or wrong
    """
    from glasswork.readers.printer import read_printer

    path = shelf.find("printers", name, beside=beside)
    return read_printer(shelf.read_file(path), where=path.name)


def load_palette(name: str, *, beside: Path | None = None) -> Palette:
    """A palette from the shelf.

    Raises: ProfileError, if it is missing or wrong
    """
    from glasswork.readers.palette import read_palette

    path = shelf.find("palettes", name, beside=beside)
    return read_palette(shelf.read_file(path), where=path.name, sibling=shelf.siblings(path))


def load_board(name: str, *, beside: Path | None = None) -> Board:
    """A board from the shelf.

    Raises: ProfileError, if it is missing or wrong
    """
    from glasswork.readers.board import read_board

    path = shelf.find("boards", name, beside=beside)
    return read_board(shelf.read_file(path), where=path.name)


def load_cutter(name: str, *, beside: Path | None = None) -> Cutter:
    """A cutter from the shelf.

    Raises: ProfileError, if it is missing or wrong
    """
    from glasswork.readers.cutter import read_cutter

    path = shelf.find("cutters", name, beside=beside)
    return read_cutter(shelf.read_file(path), where=path.name)


def load_page(name: str, *, beside: Path | None = None) -> PageSize:
    """A page from the shelf.

    Raises: ProfileError, if it is missing or wrong
    """
    from glasswork.readers.page import read_page

    path = shelf.find("pages", name, beside=beside)
    return read_page(shelf.read_file(path), where=path.name)


def load_opening(name: str, *, beside: Path | None = None) -> LineArt:
    """The drawing of an opening.

    Raises: ReadError, if it is no SVG
    """
    from glasswork.readers.svg import read_svg

    path = beside_or_named(name, beside)
    return read_svg(shelf.read_file(path), name=path.name)


def _boards_but(name: str) -> tuple[Board, ...]:
    """Every board but one; those that cannot be read are passed over."""
    found = []
    for other in shelf.names("boards"):
        with suppress(GlassworkError):
            found.append(load_board(other))
    return tuple(board for board in found if board.name != name)


def load_kit(settings: Settings, *, beside: Path | None = None) -> Kit:
    """Every profile of the settings.

    beside : the project file's folder, where its own profiles may lie
    Raises: ProfileError or Faults, if any is missing or wrong
    """
    faults: list[GlassworkError] = []

    def loaded(load: Loader[T], name: str) -> T | None:
        try:
            return load(name, beside=beside)
        except GlassworkError as fault:
            faults.append(fault)
            return None

    palette = loaded(load_palette, settings.palette)
    printer = loaded(load_printer, settings.printer)
    light = loaded(load_light, settings.light)
    board = loaded(load_board, settings.board)
    cutter = loaded(load_cutter, settings.cutter)
    page = loaded(load_page, settings.page)
    named = {Level.OUTER: settings.outer_board, Level.RETAINER: settings.retainer_board}
    boards = {level: loaded(load_board, name) for level, name in named.items() if name}
    drawn = settings.opening_drawing
    opening = loaded(load_opening, drawn) if drawn else None
    raise_all(faults)
    if palette is None or printer is None or light is None:
        raise AssertionError("a profile is missing and nobody said so")
    if board is None or cutter is None or page is None:
        raise AssertionError("a profile is missing and nobody said so")
    others = tuple(load_light(name) for name in shelf.names("lights") if name != settings.light)
    return Kit(
        palette=palette,
        printer=printer,
        light=light,
        board=board,
        cutter=cutter,
        page=page,
        lights=others,
        other_boards=partial(_boards_but, board.name),
        boards={level: one for level, one in boards.items() if one is not None},
        opening=opening,
    )
