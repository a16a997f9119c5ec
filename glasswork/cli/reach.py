"""glasswork reach: what one, two and three films can show."""

from __future__ import annotations

from pathlib import Path

import click

from glasswork.cli.files import check_ending, write_file
from glasswork.model.words import counted

WITHIN = 3.0
"""ΔE00 up to which a glass counts as reached."""


@click.command("reach", context_settings={"show_default": True})
@click.option("--palette", default="harbour", metavar="NAME", help="Glasses to be marked.")
@click.option("--printer", default="dye-film", metavar="NAME", help="Printer, ink and film.")
@click.option("--light", default="led-b3", metavar="NAME", help="The light behind the panel.")
@click.option(
    "-o", "--output", default="reach.png", metavar="FILE", help="Picture (.png) or data (.json)."
)
@click.option(
    "--lights", "rank", is_flag=True, help="Only rank the lights by how near the palette comes."
)
def command(palette: str, printer: str, light: str, output: str, *, rank: bool) -> None:
    """Draw the colours that one, two and three films can show, with the palette's glasses marked
    as in reach or out of it. A FILE that ends in .json gets the numbers instead."""
    from glasswork.cli.kit import load_light, load_palette, load_printer
    from glasswork.cli.progress import Progress
    from glasswork.colour.reach import find_reach
    from glasswork.writers.reach import draw_reach, write_reach_json

    check_ending(output, ".png", ".json")
    if rank:
        _rank_lights(palette, printer)
        return
    with Progress() as progress:
        progress("reach")
        reach = find_reach(load_palette(palette), load_printer(printer), load_light(light))
        as_json = output.lower().endswith(".json")
        data = write_reach_json(reach) if as_json else draw_reach(reach)
    write_file(Path(output), data)
    for glass in reach.glasses:
        fewest = next(
            (n for n, off in zip((1, 2, 3), glass.delta_e00, strict=False) if off <= WITHIN), 0
        )
        told = counted(fewest, "film") if fewest else "out of reach"
        figures = "  ".join(f"{off:5.1f}" for off in glass.delta_e00)
        click.echo(f"{glass.id:<16} {told:<14} ΔE00 with 1, 2, 3 films: {figures}")
    click.echo(f"written: {output}")


def _rank_lights(palette: str, printer: str) -> None:
    """Every light of the shelf with what one, two and three films miss before it."""
    from glasswork.cli import shelf
    from glasswork.cli.kit import load_light, load_palette, load_printer
    from glasswork.colour.backlight import suit_palette

    lights = [load_light(name) for name in shelf.names("lights")]
    glasses, profile = load_palette(palette), load_printer(printer)
    off: dict[str, list[float]] = {light.name: [] for light in lights}
    for films in (1, 2, 3):
        for row in suit_palette(glasses, profile, lights, films=films):
            off[row.light].append(row.mean_delta_e00)
    titles = {light.name: light.title for light in lights}
    click.echo("mean ΔE00 over the palette with 1, 2, 3 films, best light first")
    for name, means in sorted(off.items(), key=lambda item: min(item[1])):
        figures = "  ".join(f"{mean:5.2f}" for mean in means)
        click.echo(f"{name:<10} {figures}  {titles[name]}")
