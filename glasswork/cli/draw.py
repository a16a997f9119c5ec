"""glasswork draw: windows drawn from measures, a command a kind of window."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from glasswork.cli.files import check_ending, write_file
from glasswork.cli.options import Length, Whole
from glasswork.errors import ReadError

if TYPE_CHECKING:
    from glasswork.drawing.drawn.measures import Setting


class Kinds(click.Group):
    """A command for each kind of window, its options made of the kind's own settings."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        from glasswork.drawing.drawn import KINDS

        return list(KINDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        from glasswork.drawing.drawn import KINDS

        return _command(cmd_name) if cmd_name in KINDS else None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Raises: click.UsageError with the kinds there are, if the first word is none of them"""
        from glasswork.drawing.drawn import KINDS

        if args and args[0] not in KINDS:
            ctx.fail(f'"{args[0]}" is no kind of window; known: {", ".join(KINDS)}')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        from glasswork.drawing.drawn import KINDS

        with formatter.section("Kinds"):
            formatter.write_dl([(kind.name, kind.title) for kind in KINDS.values()])


@click.group("draw", cls=Kinds, subcommand_metavar="KIND [OPTIONS]")
def command() -> None:
    """Draw a window from measures and write it as an SVG that compose reads.

    Each KIND has options of its own: glasswork draw lancet --help tells them.
    """


def _command(name: str) -> click.Command:
    from glasswork.drawing.drawn import KINDS, design

    kind = KINDS[name]

    def run(output: str | None, **given: Any) -> None:
        target = _target(output, name)
        drawn = design(name, **given)
        write_file(target, drawn.svg())
        click.echo(f"{target}: {drawn.width_mm:.4g} × {drawn.height_mm:.4g} mm")
        for note in drawn.notes:
            click.echo(f"note: {note}")
        click.echo(f"next: glasswork compose {target} -o {target.stem}")

    named = click.Option(
        ["-o", "--output"],
        metavar="FILE",
        help=f"The drawing to write (.svg); a new {name}.svg by default.",
    )
    return click.Command(
        name,
        callback=run,
        params=[named, *(_option(setting) for setting in kind.settings)],
        help=f"{kind.title[0].upper()}{kind.title[1:]}.",
        context_settings={"show_default": True},
    )


def _target(output: str | None, name: str) -> Path:
    """Raises: ReadError, if the file of the kind's own name is there already"""
    if output is not None:
        check_ending(output, ".svg")
        return Path(output)
    target = Path(f"{name}.svg")
    if target.exists():
        raise ReadError(
            str(target), "is there already", "name the file with -o to write over it, or another"
        )
    return target


def _option(setting: Setting) -> click.Option:
    spelled = "--" + setting.name.removesuffix("_mm").replace("_", "-")
    kinds: click.ParamType[Any]
    if setting.choices:
        kinds = click.Choice(setting.choices)
    elif setting.unit == "mm":
        kinds = Length()
    elif setting.kind is int:
        least, most = (None if v is None else int(v) for v in (setting.least, setting.most))
        kinds = Whole(least, most)
    else:
        kinds = click.FLOAT
    if setting.unit != "mm":
        return click.Option(
            [spelled, setting.name],
            type=kinds,
            metavar="NUMBER" if kinds is click.FLOAT else None,
            default=setting.default,
            help=setting.help,
        )
    # a length's default depends on the scale: it is told, not passed on
    told = "" if setting.default is None else f"  [default: {setting.default:g} mm]"
    return click.Option(
        [spelled, setting.name], type=kinds, help=setting.help + told, show_default=False
    )
