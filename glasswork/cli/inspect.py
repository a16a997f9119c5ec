"""glasswork inspect: a drawing looked over before it is composed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from msgspec.structs import replace

from glasswork.cli import shelf
from glasswork.cli.compose import open_project
from glasswork.cli.files import check_ending, write_file
from glasswork.cli.options import Length, Opening
from glasswork.model.words import counted


@click.command("inspect", context_settings={"show_default": True})
@click.argument("design", required=False)
@click.option("--project", "project_file", metavar="FILE", help="Project file with the settings.")
@click.option("--width", type=Length(), help="Width of the finished panel.")
@click.option("--height", type=Length(), help="Height of the finished panel.")
@click.option(
    "--opening", type=Opening(), metavar="WxH", help="The hole that the panel drops into."
)
@click.option(
    "--scale", metavar="FACTOR", help="Factor on the drawing's size, such as 1:24 or 0.5."
)
@click.option(
    "--board",
    metavar="NAME",
    help="Board of the frame layers: what is too thin to cut depends on it.",
)
@click.option("--cutter", metavar="NAME", help="What cuts the board.")
@click.option(
    "--embedded/--no-embedded",
    default=None,
    help="Read the picture within the SVG as a scan, not its lines.",
)
@click.option(
    "--marked", metavar="FILE", help="Picture to write with every finding marked (.png or .svg)."
)
@click.option(
    "--repair",
    "repaired",
    metavar="FILE",
    help="Mend what is safe and write the drawing anew (.svg).",
)
def command(
    design: str | None,
    project_file: str | None,
    marked: str | None,
    repaired: str | None,
    **given: Any,
) -> int:
    """Look DESIGN over: open lines, near misses, slivers, leads too thin to cut, and the like,
    each with its place, its value against the limit, and what to do.

    Exit code 1 where no window can be made of it. Nothing is mended silently: --repair lists
    every change and writes a new file.
    """
    from glasswork.cli.kit import load_board, load_cutter
    from glasswork.drawing.inspect import Limits, inspect_drawing
    from glasswork.drawing.make import as_line_art
    from glasswork.drawing.member_roles import with_member_roles
    from glasswork.drawing.repair import repair
    from glasswork.framing.made import narrowest_cut_mm
    from glasswork.model.finding import Finding
    from glasswork.readers.design import read_design
    from glasswork.readers.project import sizing_of
    from glasswork.writers.inspection import write_inspection_png, write_inspection_svg
    from glasswork.writers.line_art import write_line_art_svg

    check_ending(marked, ".png", ".svg")
    check_ending(repaired, ".svg")
    path, project, beside = open_project(design, project_file, given)
    art = read_design(shelf.read_file(path), name=path.name, embedded=project.embedded)
    sizing = sizing_of(project, where="settings")
    board = load_board(project.board, beside=beside)
    cutter = load_cutter(project.cutter, beside=beside)
    changes: tuple[Finding, ...] = ()
    if repaired:
        plain, _ = as_line_art(art)
        art, changes = repair(plain, roles=project.roles)
        write_file(Path(repaired), write_line_art_svg(art))
    seen = inspect_drawing(
        art,
        roles=project.roles,
        sizing=sizing,
        limits=Limits(cut_mm=narrowest_cut_mm(board, cutter)),
    )
    if seen.window is not None:
        seen = replace(seen, window=with_member_roles(seen.window, project.member_roles))
    if marked:
        write = write_inspection_svg if marked.lower().endswith(".svg") else write_inspection_png
        write_file(Path(marked), write(seen.art, seen.window, seen.findings))
    for finding in (*changes, *seen.findings):
        place = f" at ({finding.place[0]:.1f}, {finding.place[1]:.1f}) mm" if finding.place else ""
        hint = f"; {finding.hint}" if finding.hint else ""
        click.echo(f"{finding.severity}: {finding.where}{place}: {finding.what}{hint}")
    if seen.window is None:
        click.echo(f"{path.name}: no window can be made of it")
        return 1
    width, height = seen.window.size_mm
    click.echo(
        f"{path.name}: {counted(len(seen.window.panes), 'pane')}, "
        f"{counted(len(seen.window.members), 'length of lead', 'lengths of lead')}, "
        f"{width:.1f} × {height:.1f} mm"
    )
    for name in (marked, repaired):
        if name:
            click.echo(f"written: {name}")
    return 0
