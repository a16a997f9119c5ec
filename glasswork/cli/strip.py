"""glasswork strip: the print that calibrates printer, ink and film."""

from __future__ import annotations

from pathlib import Path

import click

from glasswork.cli.files import write_file
from glasswork.model.words import counted


@click.command("strip", context_settings={"show_default": True})
@click.option("-o", "--output", default="strip.pdf", metavar="FILE", help="The PDF to print.")
@click.option("--page", default="a4", help="Page that is printed on: a4, letter, or a TOML file.")
@click.option("--films", type=click.IntRange(1, 3), default=1, help="Copies to lay on each other.")
@click.option("--steps", type=click.IntRange(3, 5), help="Steps of the colour lattice on an axis.")
@click.option("--quick", is_flag=True, help="A narrow strip for an offcut, to check for drift.")
@click.option("--by-eye", is_flag=True, help="A sheet for judging tones without any instrument.")
@click.option("--label", default="", help="Printer, ink and film, as you call them.")
def command(
    output: str, page: str, films: int, steps: int | None, quick: bool, by_eye: bool, label: str
) -> None:
    """Write the strip to print on film: same quality, film type and settings as the real print,
    colour correction off, 100 %."""
    from glasswork.cli.compose import today
    from glasswork.cli.kit import load_page
    from glasswork.cli.strips import eye_document, strip_document
    from glasswork.writers.pdf import write_pdf

    size, created = load_page(page), today()
    document = (
        eye_document(size, created=created)
        if by_eye
        else strip_document(
            size, created=created, films=films, steps=steps, quick=quick, label=label
        )
    )
    write_file(Path(output), write_pdf(document))
    click.echo(f"written: {output} ({counted(len(document.pages), 'page')}, {document.title})")
    click.echo("Print at 100 % on film, colour management off. Let it dry overnight, then:")
    if by_eye:
        click.echo("  glasswork calibrate --by-eye ANSWERS.toml -o my-printer.toml")
    else:
        click.echo("  glasswork calibrate photo.jpg -o my-printer.toml")
        click.echo("  stacked copies: photo-of-two.jpg:2 says that two lie on each other")
