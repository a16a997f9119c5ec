"""The house rules that the sources themselves can prove."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "glasswork"
STAGES = ("readers", "drawing", "colour", "calibrate", "framing", "sheets")

_BASE = {"errors", "units", "cielab"}
_LOW = _BASE | {"model"}
_MID = _LOW | {"planar"}
_WHOLE = {"writers", "panel", "pipeline", "showing", "gang", "verify"}
ALLOWED: dict[str, set[str]] = {
    "errors": set(),
    "units": {"errors"},
    "cielab": {"errors"},
    "model": _BASE,
    "planar": _LOW,
    **dict.fromkeys(STAGES, _MID),
    "writers": _MID,
    "panel": _MID | set(STAGES),
    "pipeline": _MID | set(STAGES) | {"writers", "panel", "verify"},
    "gang": _MID | set(STAGES) | {"writers", "panel"},
    "showing": _MID | set(STAGES) | {"writers", "panel", "pipeline"},
    "verify": _MID | {"readers", "writers"},
    "cli": _MID | set(STAGES) | _WHOLE | {"web"},
    "web": _MID | set(STAGES) | _WHOLE | {"cli"},
    "__main__": {"cli"},
    "__init__": set(),
}
"""Who may import whom, by the first name under glasswork; its own house is always allowed."""

CLOCKS_AND_PATHS = {"time", "datetime", "pathlib", "os", "shutil", "tempfile", "glob"}


def _modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def _house(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found.add(node.module or "")
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_data_flows_one_way(path: Path) -> None:
    house = _house(path)
    allowed = ALLOWED[house] | {house}
    for name in _imports(path):
        parts = name.split(".")
        if parts[0] == "glasswork" and len(parts) > 1 and parts[1] != "__version__":
            assert parts[1] in allowed, f"{house} may not import {name}"


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_only_cli_and_web_touch_paths_and_clocks(path: Path) -> None:
    if _house(path) in ("cli", "web"):
        return
    roots = {name.split(".")[0] for name in _imports(path)}
    assert not roots & CLOCKS_AND_PATHS
    opens = [
        node
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "open"
    ]
    assert not opens, f"{path} opens a file"


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_polygon_engine_has_one_adapter(path: Path) -> None:
    if _house(path) != "planar":
        assert "shapely" not in {name.split(".")[0] for name in _imports(path)}


def test_top_level_holds_only_what_it_should() -> None:
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "LICENSE",
        "glasswork",
        "profiles",
        "tests",
        "sample_designs",
    }
    seen = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")}
    litter = {"my-window", "out", "dist", "build"}
    assert seen - litter <= allowed
