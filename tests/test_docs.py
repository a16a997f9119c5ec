"""The documents tell the truth about options, keys, errors and sources."""

from __future__ import annotations

import ast
import inspect as inspection
import re
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import click
import msgspec
import pytest

from glasswork import errors, readers
from glasswork.cli.app import COMMANDS
from glasswork.errors import GlassworkError
from glasswork.model.project import Project

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
BOTH = README + DEVELOPERS
SOURCES = set(re.findall(r"^- \*\*\[([^\]]+)\]\*\*", DEVELOPERS.split("## Sources")[1], re.M))
_KEY = re.compile(r"\[([a-z][a-z0-9]*(?:-[a-z0-9]+)*)\]")


def _docstrings(path: Path) -> list[str]:
    kinds = (ast.Module, ast.ClassDef, ast.FunctionDef)
    nodes = [
        node for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, kinds)
    ]
    return [text for node in nodes if (text := ast.get_docstring(node))]


def test_every_source_key_resolves() -> None:
    missing = {}
    for path in sorted((ROOT / "glasswork").rglob("*.py")):
        for text in _docstrings(path):
            for passage in re.findall(r"Sources?:.*?(?:\n\s*\n|\Z)", text, re.S):
                unknown = set(_KEY.findall(passage)) - SOURCES
                if unknown:
                    missing[str(path.relative_to(ROOT))] = unknown
    assert missing == {}


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_exists_and_every_option_is_documented(name: str) -> None:
    command = import_module(f"glasswork.cli.{name}").command
    assert isinstance(command, click.Command)
    assert f"glasswork {name}" in README or f"`{name}`" in README
    for one in _with_parts(command):
        for parameter in one.params:
            for option in parameter.opts:
                if option.startswith("--"):
                    assert option in BOTH, f"{one.name} {option}"


def _with_parts(command: click.Command) -> list[click.Command]:
    """A command, and if it is a group every command in it."""
    if not isinstance(command, click.Group):
        return [command]
    context = click.Context(command)
    parts = [command.get_command(context, name) for name in command.list_commands(context)]
    return [command, *(part for part in parts if part is not None)]


def test_every_setting_is_an_option_or_a_documented_table() -> None:
    for field in msgspec.structs.fields(Project):
        spelled = field.name.replace("_", "-")
        assert f"--{spelled}" in BOTH or f"[{field.name}]" in BOTH or f"`{field.name}`" in BOTH


def test_every_error_class_is_documented() -> None:
    for name, thing in inspection.getmembers(errors, inspection.isclass):
        if issubclass(thing, GlassworkError):
            assert f"`{name}`" in DEVELOPERS


def test_every_profile_key_is_documented() -> None:
    """Tables of files are called …File, entries in them …Entry."""
    keys = set()
    for found in iter_modules(readers.__path__):
        module = import_module(f"glasswork.readers.{found.name}")
        for name, thing in inspection.getmembers(module, inspection.isclass):
            if issubclass(thing, msgspec.Struct) and name.endswith(("File", "Entry")):
                keys |= {(name, field.encode_name) for field in msgspec.structs.fields(thing)}
    assert len(keys) > 60
    assert {key for key in keys if f"`{key[1]}`" not in BOTH} == set()


def test_files_named_in_the_readme_exist() -> None:
    for target in re.findall(r"\]\((?!http)([^)#]+)\)", README):
        assert (ROOT / target).exists(), target
