"""The group of commands. A command's module is loaded when the command is called."""

from __future__ import annotations

from importlib import import_module
from typing import Final

import click

from glasswork import __version__
from glasswork.cli.faults import run_with_exit_codes

COMMANDS: Final = {
    "draw": "Draw a window from measures: arches, tracery, quarries, roses.",
    "compose": "Make a pack from a drawing: film prints, frame cuts, previews, guide.",
    "preview": "Draw one picture of the panel: at an angle, films side by side, turning.",
    "gang": "Print the films of several windows on shared pages.",
    "inspect": "Look a drawing over and mark what stands in the way of a window.",
    "strip": "Write the strip that calibrates printer, ink and film.",
    "calibrate": "Turn readings of a strip into a printer profile.",
    "reach": "Draw what one, two and three films can reach.",
    "finishes": "Draw one glass in every surface it can be printed with.",
    "verify": "Measure the files of a pack against what it promises.",
    "serve": "Open the bench page in the browser.",
    "list": "List palettes, printers, lights, boards, cutters, pages and samples.",
}


class Lazily(click.Group):
    """A group whose help needs none of its commands loaded."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f"glasswork.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=Lazily,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="glasswork")
def group() -> None:
    """Compose backlit stained-glass panels: film prints at the right density, matched frame
    layers for front and back, and strips that calibrate the printer.

    Exit codes: 0 done; 1 the input cannot be used; 2 wrong usage.
    """


def app() -> None:
    """Run the command line and leave with its exit code."""
    run_with_exit_codes(group)
