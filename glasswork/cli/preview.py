"""glasswork preview: one picture of the panel, without the pack."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import click

from glasswork.cli import shelf
from glasswork.cli.compose import open_project, photo_bytes
from glasswork.cli.files import check_ending, write_file
from glasswork.cli.options import with_settings

VIEWS = ("lit", "unlit", "back", "films", "misplaced", "turn")


@click.command("preview", context_settings={"show_default": True})
@click.argument("design", required=False)
@click.option("-o", "--output", metavar="FILE", required=True, help="The picture to write (.png).")
@click.option("--project", "project_file", metavar="FILE", help="Project file with the settings.")
@click.option(
    "--view",
    type=click.Choice(VIEWS),
    default="lit",
    help="lit, unlit or from the back; one, two and three films beside printing by hand; "
    "films misplaced as far as the tolerances allow; or an animated turn.",
)
@click.option(
    "--angle",
    type=float,
    metavar="DEGREES",
    help="Degrees that the panel is turned, its right side away; for turn, how far it swings.",
)
@click.option(
    "--width-px",
    type=int,
    metavar="PIXELS",
    help="Width of the picture; 1600 by default, 480 for turn.",
)
@with_settings
def command(
    design: str | None,
    output: str,
    project_file: str | None,
    view: Any,
    angle: float | None,
    width_px: int | None,
    **given: Any,
) -> None:
    """Draw one picture of the panel that DESIGN becomes, with the options of compose."""
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.kit import load_kit
    from glasswork.cli.progress import Progress
    from glasswork.panel import Watch
    from glasswork.showing import Look, show

    target = Path(output)
    check_ending(output, ".png", ".apng")
    look = Look(view=view, angle_deg=angle, width_px=width_px)
    path, project, beside = open_project(design, project_file, given)
    with Progress() as progress:
        picture, panel = show(
            shelf.read_file(path),
            project,
            load_kit(project, beside=beside),
            look,
            name=path.name,
            watch=Watch(clock=time.perf_counter, begin=progress),
            photo=photo_bytes(project, beside),
            cache=FolderCache(shelf.cache_folder()),
        )
    write_file(target, picture)
    if view == "misplaced":
        reach = panel.plan.registration.worst_case_mm
        click.echo(f"each film is moved {reach:.2f} mm, the worst case of the tolerances")
    click.echo(f"written: {output}")
