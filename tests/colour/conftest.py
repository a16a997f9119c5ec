"""The shipped profiles, read once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from glasswork.model.film import PrinterProfile
from glasswork.model.geometry import Region
from glasswork.model.light import Light
from glasswork.model.palette import Palette
from glasswork.model.window import Pane, Window
from glasswork.readers.light import read_light
from glasswork.readers.palette import read_palette
from glasswork.readers.printer import read_printer

PROFILES = Path(__file__).parents[2] / "profiles"


def no_sibling(name: str) -> bytes:
    raise AssertionError(f"a shipped profile asks for {name}")


@pytest.fixture(scope="session")
def printers() -> dict[str, PrinterProfile]:
    paths = sorted((PROFILES / "printers").glob("*.toml"))
    return {path.stem: read_printer(path.read_bytes(), where=path.name) for path in paths}


@pytest.fixture(scope="session")
def dye(printers: dict[str, PrinterProfile]) -> PrinterProfile:
    return printers["dye-film"]


@pytest.fixture(scope="session")
def lights() -> dict[str, Light]:
    paths = sorted((PROFILES / "lights").glob("*.toml"))
    return {
        path.stem: read_light(path.read_bytes(), where=path.name, sibling=no_sibling)
        for path in paths
    }


@pytest.fixture(scope="session")
def led(lights: dict[str, Light]) -> Light:
    return lights["led-b3"]


@pytest.fixture(scope="session")
def harbour() -> Palette:
    path = PROFILES / "palettes" / "harbour.toml"
    return read_palette(path.read_bytes(), where=path.name, sibling=no_sibling)


def _square(i: int, side: float) -> Region:
    left, right = i * side, (i + 1) * side
    return Region(((left, 0.0), (right, 0.0), (right, side), (left, side)))


def _row_window(
    glasses: Iterable[str | None], *, fills: Iterable[str | None] | None = None, side: float = 10.0
) -> Window:
    """A row of square panes p0, p1, … of 100 mm²."""
    chosen = tuple(glasses)
    drawn = tuple(fills) if fills is not None else (None,) * len(chosen)
    panes = tuple(
        Pane(
            id=f"p{i}",
            region=_square(i, side),
            seed_point=((i + 0.5) * side, side / 2.0),
            glass=glass,
            fill=fill,
        )
        for i, (glass, fill) in enumerate(zip(chosen, drawn, strict=True))
    )
    width = len(panes) * side
    outline = Region(((0.0, 0.0), (width, 0.0), (width, side), (0.0, side)))
    return Window(name="row", outline=outline, panes=panes, members=())


@pytest.fixture(scope="session")
def window_of() -> Callable[..., Window]:
    return _row_window
