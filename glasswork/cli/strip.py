"""glasswork strip: the print that calibrates printer, ink and film."""

from __future__ import annotations

from pathlib import Path

import click

from glasswork.cli.files import check_ending, write_file
from glasswork.cli.options import Whole, idle
from glasswork.model.words import counted


@click.command("strip", context_settings={"show_default": True})
@click.option(
    "-o", "--output", default="strip.pdf", metavar="FILE", help="The strip to write (.pdf)."
)
@click.option("--page", default="a4", metavar="NAME", help="Page that is printed on: a4, letter.")
@click.option("--films", type=Whole(1, 3), help="Copies to lie on each other; 1 by default.")
@click.option("--steps", type=Whole(3, 5), help="Steps of every ink: more steps, more patches.")
@click.option("--quick", is_flag=True, help="A narrow strip for an offcut, to check for drift.")
@click.option("--by-eye", is_flag=True, help="A sheet for judging tones without any instrument.")
@click.option("--label", metavar="TEXT", help="Printer, ink and film, as you call them.")
def command(
    output: str,
    page: str,
    films: int | None,
    steps: int | None,
    quick: bool,
    by_eye: bool,
    label: str | None,
) -> None:
    """Write the strip that calibrates printer, ink and film.

    Print it on film with the quality, film type and settings of the real print, colour correction
    off, at 100 %.
    """
    from glasswork.cli.compose import today
    from glasswork.cli.kit import load_page
    from glasswork.cli.strips import eye_document, strip_document
    from glasswork.writers.pdf import write_pdf

    check_ending(output, ".pdf")
    idle(
        by_eye, "--by-eye", {"--films": films, "--steps": steps, "--quick": quick, "--label": label}
    )
    idle(quick, "--quick", {"--steps": steps})
    size, created = load_page(page), today()
    document = (
        eye_document(size, created=created)
        if by_eye
        else strip_document(
            size, created=created, films=films or 1, steps=steps, quick=quick, label=label or ""
        )
    )
    write_file(Path(output), write_pdf(document))
    click.echo(f"written: {output} ({counted(len(document.pages), 'page')}, {document.title})")
    click.echo("Print at 100 % on film, colour management off. Let it dry overnight, then:")
    if by_eye:
        click.echo(
            "  glasswork calibrate --by-eye answers.toml --former dye-film -o my-printer.toml"
        )
        click.echo(
            "  answers.toml: ink_limit = 2.4, then [matches], then a line a row: cyan-25 = 7.5"
        )
    elif quick:
        click.echo("  glasswork calibrate photo.jpg --check my-printer.toml")
    else:
        click.echo("  glasswork calibrate photo.jpg -o my-printer.toml")
        click.echo("  stacked copies: photo-of-two.jpg:2 says that two lie on each other")
