"""glasswork finishes: one glass in every surface that it can be printed with."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import Final

import click

from glasswork.cli.files import check_ending, write_file
from glasswork.cli.options import Length, Whole
from glasswork.errors import ProfileError
from glasswork.model.palette import Glass, Palette

LEAST_MM, MOST_MM = 5.0, 200.0
"""A small pane, and what the largest sheet of glass that is grown holds at any turn."""
TILE_PX: Final = 320
"""Side of a finish in the picture."""


@click.command("finishes", context_settings={"show_default": True})
@click.argument("glass")
@click.option("--palette", default="harbour", metavar="NAME", help="Glasses to choose from.")
@click.option("--printer", default="dye-film", metavar="NAME", help="Printer, ink and film.")
@click.option("--light", default="led-b3", metavar="NAME", help="The light behind the panel.")
@click.option("--films", type=Whole(1, 3), default=2, help="How many films are stacked.")
@click.option(
    "--side",
    type=Length(),
    default=40.0,
    show_default=False,
    help="How much of each sheet is shown; 40 mm by default.",
)
@click.option("--seed", type=Whole(0), default=1, help="Another number, another sheet.")
@click.option(
    "-o", "--output", default="finishes.png", metavar="FILE", help="The picture to write (.png)."
)
def command(
    glass: str,
    palette: str,
    printer: str,
    light: str,
    films: int,
    side: float,
    seed: int,
    output: str,
) -> None:
    """Draw GLASS, named as in the palette, lit in every finish that compose can give it. A pane of
    it has the same mean colour whatever its finish."""
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.kit import load_light, load_palette, load_printer
    from glasswork.cli.shelf import cache_folder
    from glasswork.colour.finish.contact import contact_tiles
    from glasswork.model.finish import FinishSettings
    from glasswork.writers.preview import preview_tiles

    check_ending(output, ".png")
    if not LEAST_MM <= side <= MOST_MM:
        raise click.UsageError(f"--side {side:g} mm is not between {LEAST_MM:g} and {MOST_MM:g} mm")
    tiles = contact_tiles(
        _glass_named(glass, load_palette(palette)),
        profile=load_printer(printer),
        light=load_light(light),
        films=films,
        settings=FinishSettings(seed=seed),
        side_mm=side,
        px_per_mm=TILE_PX / side,
        cache=FolderCache(cache_folder()),
    )
    write_file(Path(output), preview_tiles(tiles))
    click.echo(f"written: {output}")


def _glass_named(name: str, palette: Palette) -> Glass:
    try:
        return palette.glass(name)
    except KeyError as exc:
        ids = [glass.id for glass in palette.glasses]
        hint = f"near: {', '.join(get_close_matches(name, ids, n=3) or ids[:3])}"
        raise ProfileError(f"{palette.name}, {name}", "no such glass", hint) from exc
