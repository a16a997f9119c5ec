"""glasswork verify: the files of a pack, measured against what it promises."""

from __future__ import annotations

from pathlib import Path

import click

from glasswork.cli.faults import EXIT_INPUT
from glasswork.cli.packs import read_pack


@click.command("verify")
@click.argument("pack", metavar="PACK")
def command(pack: str) -> int:
    """Open PACK as a stranger would, measure it, and print measured against promised.

    Exit code 1 if anything is off.
    """
    from rich.table import Table

    from glasswork.cli.console import wide_console
    from glasswork.verify import verify_pack

    checks = verify_pack(read_pack(Path(pack)))
    table = Table(box=None, padding=(0, 2, 0, 0))
    for heading in ("check", "promised", "measured", "limit", ""):
        table.add_column(heading)
    for line in checks:
        style = None if line.ok else "bold red"
        verdict = "ok" if line.ok else "OFF"
        table.add_row(line.check, line.promised, line.measured, line.limit, verdict, style=style)
    console = wide_console()
    console.print(table)
    off = [line for line in checks if not line.ok]
    console.print(f"{len(checks) - len(off)} of {len(checks)} checks hold")
    for line in off:
        click.echo(
            f"error: {pack}, {line.check}: measured {line.measured}, promised {line.promised}, "
            f"limit {line.limit}; compose the pack again",
            err=True,
        )
    return EXIT_INPUT if off else 0
