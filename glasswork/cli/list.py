"""glasswork list: what can be named."""

from __future__ import annotations

import tomllib

import click

from glasswork.cli import shelf


@click.command("list")
@click.argument(
    "kind", metavar="[KIND]", required=False, type=click.Choice([*shelf.KINDS, "samples"])
)
def command(kind: str | None) -> None:
    """List what can be named.

    KIND is palettes, printers, lights, boards, cutters, pages or samples; all are listed without
    it. Your own profiles are among them.
    """
    for one in [kind] if kind else [*shelf.KINDS, "samples"]:
        click.secho(one, bold=True)
        for name, title in _samples() if one == "samples" else _profiles(one):
            click.echo(f"  {name:<18} {title}")


def _profiles(kind: str) -> list[tuple[str, str]]:
    rows = []
    for name in shelf.names(kind):
        facts = tomllib.loads(shelf.read_file(shelf.find(kind, name)).decode("utf-8"))
        title = str(facts.get("title", ""))
        mark = " (invented)" if facts.get("invented") and "invented" not in title else ""
        rows.append((name, f"{title}{mark}"))
    return rows


def _samples() -> list[tuple[str, str]]:
    folder = shelf.shipped() / "sample_designs"
    rows = []
    for path in sorted(folder.glob("*.toml")):
        facts = tomllib.loads(shelf.read_file(path).decode("utf-8"))
        rows.append((str(folder / str(facts["design"])), str(facts.get("note", ""))))
    return rows
