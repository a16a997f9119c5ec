"""glasswork reach: what one, two and three films can show."""

from __future__ import annotations

from pathlib import Path

import click

from glasswork.cli.files import write_file

WITHIN = 3.0
"""ΔE00 up to which a glass counts as reached."""


@click.command("reach", context_settings={"show_default": True})
@click.option("--palette", default="harbour", help="Glasses marked in and out of reach.")
@click.option("--printer", default="dye-film", help="Printer, ink and film.")
@click.option("--light", default="led-b3", help="The light behind the panel.")
@click.option(
    "-o", "--output", default="reach.png", metavar="FILE", help="Picture (.png) or data (.json)."
)
def command(palette: str, printer: str, light: str, output: str) -> None:
    """Draw what one, two and three films reach: slices through CIELAB, the palette's glasses
    marked in and out of reach. A name that ends in .json gets the numbers instead."""
    from glasswork.cli.kit import load_light, load_palette, load_printer
    from glasswork.cli.progress import Progress
    from glasswork.colour.reach import find_reach
    from glasswork.writers.reach import draw_reach, write_reach_json

    with Progress() as progress:
        progress("reach")
        reach = find_reach(load_palette(palette), load_printer(printer), load_light(light))
        as_json = output.lower().endswith(".json")
        data = write_reach_json(reach) if as_json else draw_reach(reach)
    write_file(Path(output), data)
    for glass in reach.glasses:
        fewest = next(
            (n for n, off in zip((1, 2, 3), glass.delta_e00, strict=False) if off <= 3), 0
        )
        told = f"{fewest} film{'s' if fewest > 1 else ''}" if fewest else "out of reach"
        figures = "  ".join(f"{off:5.1f}" for off in glass.delta_e00)
        click.echo(f"{glass.id:<16} {told:<14} ΔE00 with 1, 2, 3 films: {figures}")
    click.echo(f"written: {output}")
