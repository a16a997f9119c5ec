"""The help of every command, and what it says to a slip of the keyboard."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from glasswork.cli.app import COMMANDS, group
from glasswork.drawing.drawn import KINDS
from tests.pack.conftest import glasswork

WORDS = [[], *([name] for name in COMMANDS), *(["draw", kind] for kind in KINDS)]
SAMPLE = "sample_designs/pilot-station.svg"


@pytest.mark.parametrize("words", WORDS, ids=" ".join)
@pytest.mark.parametrize("columns", [80, 200])
def test_help_fits_and_speaks_of_no_types_of_python(words: list[str], columns: int) -> None:
    done = CliRunner().invoke(group, [*words, "--help"], env={"COLUMNS": str(columns)})
    assert done.exit_code == 0
    assert max(len(line) for line in done.output.splitlines()) <= 100
    assert not re.search(r"FLOAT|INTEGER|\d<=x|\[default: \"\"\]|\[default: None", done.output)


@pytest.mark.parametrize("name", ["compose", "preview"])
def test_commands_that_make_a_panel_tell_what_their_options_take(name: str) -> None:
    said = " ".join(CliRunner().invoke(group, [name, "--help"]).output.split())
    assert said.count("A NAME is one that glasswork list shows, or a .toml file") == 1
    assert said.count("a LENGTH is in mm unless a unit follows") == 1


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_option_is_explained_in_a_sentence(name: str) -> None:
    command = import_module(f"glasswork.cli.{name}").command
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, option.name
            assert option.help.endswith((".", "…")), option.name


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["strip", "-o", "{tmp}/none/strip.pdf"], 1, "make that folder first"),
        (["strip", "-o", "{tmp}/strip.png"], 1, "does not end in .pdf"),
        (["strip", "--by-eye", "--steps", "4"], 2, "--by-eye makes no use of --steps"),
        (["strip", "--quick", "--steps", "4"], 2, "--quick makes no use of --steps"),
        (["strip", "--films", "4"], 2, "4 is not in the range 1 to 3"),
        (["draw", "lancet", "-o", "{tmp}/x.png"], 1, "does not end in .svg"),
        (["inspect", SAMPLE, "--marked", "{tmp}/x.jpg"], 1, "does not end in .png or .svg"),
        (["inspect", SAMPLE, "--repair", "{tmp}/x.png"], 1, "does not end in .svg"),
        (["reach", "-o", "{tmp}/x.bmp"], 1, "does not end in .png or .json"),
        (["calibrate", "x.jpg", "-o", "{tmp}/mine"], 1, "does not end in .toml"),
        (["calibrate", "x.jpg:4", "-o", "{tmp}/m.toml"], 1, "4 films on each other are not 1, 2"),
        (["calibrate", "x.jpg", "-o", "{tmp}/m.toml", "--rules", "3"], 2, "as in 120x180"),
        (["calibrate", "x.jpg", "--check", "dye-film", "--icc", "x"], 2, "makes no use of --icc"),
        (["calibrate", SAMPLE, "-o", "{tmp}/m.toml"], 1, "give a photo (PNG, JPEG, TIFF)"),
        (
            ["compose", SAMPLE, "-o", "{tmp}/p", "--seed", "-2"],
            1,
            "--seed: expected a whole number",
        ),
        (["compose", SAMPLE, "-o", "{tmp}/p", "--copies", "0"], 1, "--copies: expected a whole"),
        (["serve", "--host", "192.0.2.1", "--no-browser"], 1, "choose another with --port"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_slips_are_named_and_nothing_is_written(
    tmp_path: Path, words: list[str], status: int, says: str
) -> None:
    """192.0.2.1 is an address for examples, of no machine (RFC 5737)."""
    done = glasswork(*(word.replace("{tmp}", str(tmp_path)) for word in words))
    assert done.returncode == status, done.stderr
    assert says in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []
