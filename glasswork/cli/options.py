"""The options of compose: every one is also a key of a project file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from inspect import cleandoc
from pathlib import Path
from typing import Any

import click
import msgspec

from glasswork.errors import GlassworkError, ProfileError
from glasswork.model.project import Project
from glasswork.readers.toml import in_plain_words
from glasswork.units import parse_length_mm


class Length(click.ParamType[float]):
    """A length with or without unit; mm if it names none."""

    name = "length"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        if isinstance(value, float):
            return value
        try:
            return parse_length_mm(str(value), where=param.opts[0] if param else "length")
        except GlassworkError as exc:
            self.fail(f"{exc.what}; {exc.hint}", param, ctx)


class Whole(click.IntRange):
    """A whole number between limits, told as a maker says it."""

    name = "number"

    def __init__(self, least: int | None = None, most: int | None = None) -> None:
        super().__init__(least, most)

    def _describe_range(self) -> str:
        return f"{self.min} to {self.max}" if self.max is not None else f"{self.min} or more"


class Opening(click.ParamType[tuple[float, float]]):
    """WIDTHxHEIGHT of a hole."""

    name = "WxH"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        if isinstance(value, tuple):
            return value
        sides = str(value).lower().replace("×", "x").split("x")
        if len(sides) != 2:
            self.fail(f'"{value}" is not WIDTHxHEIGHT, as in 120x180', param, ctx)
        length = Length()
        return (length.convert(sides[0], param, ctx), length.convert(sides[1], param, ctx))


class Films(click.ParamType[str | int]):
    """auto, 1, 2 or 3."""

    name = "auto|1|2|3"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> str | int:
        text = str(value)
        if text == "auto":
            return text
        if text in ("1", "2", "3"):
            return int(text)
        return self.fail(f'"{value}" is not auto, 1, 2 or 3', param, ctx)


def idle(stands: object, option: str, others: Mapping[str, object]) -> None:
    """Refuse options that would do nothing beside another one.

    stands : whether `option` was given · others : by their names, what was given
    Raises: click.UsageError
    """
    given = [name for name, value in others.items() if value]
    if stands and given:
        raise click.UsageError(f"{option} makes no use of {', '.join(given)}: leave it out")


SETTINGS: tuple[Callable[[Any], Any], ...] = (
    click.option("--palette", metavar="NAME", help="Glasses to choose from."),
    click.option("--printer", metavar="NAME", help="Printer, ink and film."),
    click.option("--light", metavar="NAME", help="The light behind the panel."),
    click.option(
        "--films",
        type=Films(),
        metavar="auto|1|2|3",
        help="How many films are stacked; auto by default.",
    ),
    click.option("--board", metavar="NAME", help="Board of the frame layers."),
    click.option("--cutter", metavar="NAME", help="What cuts the board."),
    click.option("--page", metavar="NAME", help="Page that is printed on: a4, letter."),
    click.option("--width", type=Length(), help="Width of the finished panel."),
    click.option("--height", type=Length(), help="Height of the finished panel."),
    click.option(
        "--opening", type=Opening(), metavar="WxH", help="The hole that the panel drops into."
    ),
    click.option("--clearance", type=Length(), help="Gap left on every side of the opening."),
    click.option("--recess", type=Length(), help="Depth that the panel may take up."),
    click.option(
        "--scale", metavar="FACTOR", help="Factor on the drawing's size, such as 1:24 or 0.5."
    ),
    click.option(
        "--opening-drawing",
        metavar="FILE",
        help="SVG with the outline of the opening, if it is no rectangle.",
    ),
    click.option(
        "--embedded/--no-embedded",
        default=None,
        help="Read the picture within the SVG as a scan, not its lines.",
    ),
    click.option("--rebate", type=Length(), help="How much of the border the opening's lip hides."),
    click.option(
        "--outer-board", metavar="NAME", help="Board of the raised layers, if it is another one."
    ),
    click.option(
        "--retainer-board",
        metavar="NAME",
        help="Board of the ring behind that holds the films, if it is another one.",
    ),
    click.option(
        "--step", type=Length(), help="How far the raised layers stand back at the glass."
    ),
    click.option("--jig/--no-jig", default=None, help="Cut a tray to assemble the panel in."),
    click.option(
        "--films-differ/--films-alike",
        default=None,
        help="Let each film carry colours of its own where that comes nearer.",
    ),
    click.option(
        "--ink-faces",
        type=click.Choice(["front", "back", "together"]),
        help="Which way the printed sides look in the stack.",
    ),
    click.option(
        "--copies", type=int, metavar="NUMBER", help="How many of the panel are printed, 1 to 100."
    ),
    click.option("--photo", metavar="FILE", help="Picture to take the panes' colours from."),
    click.option(
        "--finish",
        metavar="WORD",
        help="Surface of the glass: clear (flat), palette (each glass its own), seedy, streaky …",
    ),
    click.option(
        "--dpi",
        type=int,
        metavar="NUMBER",
        help="Resolution of glass that is not flat, 300 to 1200.",
    ),
    click.option(
        "--seed", type=int, metavar="NUMBER", help="Another number, another cut of the same glass."
    ),
    click.option(
        "--matting", type=float, metavar="SHARE", help="Darkening painted along the leads, 0 to 1."
    ),
    click.option(
        "--stipple", type=float, metavar="SHARE", help="How far the matting is broken up, 0 to 1."
    ),
    click.option("--light-depth", type=Length(), help="Light box: from the LEDs to the diffuser."),
    click.option(
        "--evenness",
        type=float,
        metavar="SHARE",
        help="Light box: dimmest over brightest place of the diffuser, 0.1 to 0.99.",
    ),
    click.option(
        "--supply", type=float, metavar="VOLTS", help="Light box: voltage of the LED supply."
    ),
)


TAKES = (
    "A NAME is one that glasswork list shows, or a .toml file; a LENGTH is in mm unless a unit "
    "follows, as in 12cm or 4.5in."
)


def with_settings(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of compose in the order above, and to the help what they take."""
    command.__doc__ = f"{cleandoc(command.__doc__ or '')}\n\n{TAKES}"
    for option in reversed(SETTINGS):
        command = option(command)
    return command


def merge(project: Project, given: dict[str, Any]) -> Project:
    """The project with the options that were given on the command line.

    A size given on the command line takes the place of any other size in the project.
    Raises: ProfileError, if a value is out of its domain
    """
    said = {key: value for key, value in given.items() if value is not None}
    if said.keys() & {"width", "height", "opening", "opening_drawing"}:
        said = {"width": None, "height": None, "opening": None, "opening_drawing": "", **said}
    try:
        plain = msgspec.to_builtins(project) | said
        return msgspec.convert(plain, Project, strict=False)
    except msgspec.ValidationError as exc:
        what, key = in_plain_words(exc)
        raise ProfileError(
            f"--{key.replace('_', '-')}", what, "see glasswork compose --help"
        ) from exc


def design_path(design: str | None, project_file: Path | None, project: Project | None) -> Path:
    """The drawing: named on the command line, or by the project file.

    Raises: click.UsageError, if neither names one
    """
    if design is not None:
        return Path(design)
    if project is None or project_file is None:
        raise click.UsageError("name a DESIGN, or a project file with --project")
    return project_file.parent / project.design
