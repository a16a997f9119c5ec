"""A window of nine panes, one for each finish, and the means to glaze it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np

from glasswork.colour.finish.glaze import Glazing, glaze
from glasswork.colour.finish.pictures import film_pictures
from glasswork.colour.separate import separate
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.finish import FINISHES, FinishSettings
from glasswork.model.frame import Fit, FramePlan, Registration
from glasswork.model.geometry import Region
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.model.sheet import Picture
from glasswork.model.window import Pane, Window
from glasswork.readers.light import read_light
from glasswork.readers.printer import read_printer

PROFILES = Path(__file__).parents[3] / "profiles"
PANE_MM, GAP_MM = 24.0, 3.0
COLOURS = {"ruby": "#a4161f", "sky": "#8fc0e8", "reed": "#8fae3a", "clear": "#fbfbf7"}
"""Invented glasses."""


class Shelf(dict[str, bytes]):
    """A cache in memory."""

    def put(self, key: str, data: bytes) -> None:
        self[key] = data


@cache
def shelf() -> Shelf:
    return Shelf()


@cache
def printer() -> PrinterProfile:
    return read_printer((PROFILES / "printers/dye-film.toml").read_bytes(), where="dye-film")


@cache
def light() -> Light:
    data = (PROFILES / "lights/led-b3.toml").read_bytes()
    return read_light(data, where="led-b3", sibling=lambda name: (PROFILES / name).read_bytes())


def square(left: float, top: float, side: float) -> Region:
    right, bottom = left + side, top + side
    return Region(((left, top), (right, top), (right, bottom), (left, bottom)))


@cache
def palette() -> Palette:
    """Every colour in every finish: ids like "ruby-seedy"."""
    return Palette(
        name="test",
        title="test",
        invented=True,
        glasses=tuple(
            Glass(id=f"{name}-{finish}", title=finish, srgb=srgb, finish=finish)
            for name, srgb in COLOURS.items()
            for finish in FINISHES
        ),
    )


@cache
def window(*, side_mm: float = PANE_MM) -> Window:
    """A row of panes for each colour, a pane for each finish."""
    step = side_mm + GAP_MM
    panes = []
    for row, name in enumerate(COLOURS):
        for column, finish in enumerate(FINISHES):
            region = square(GAP_MM + column * step, GAP_MM + row * step, side_mm)
            panes.append(
                Pane(
                    id=f"{name}-{finish}",
                    region=region,
                    seed_point=region.box.centre,
                    glass=f"{name}-{finish}",
                )
            )
    wide, high = GAP_MM + len(FINISHES) * step, GAP_MM + len(COLOURS) * step
    outline = Region(((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)))
    return Window(name="finishes", outline=outline, panes=tuple(panes), members=())


def plan_of(design: Window, *, bleed_mm: float = 1.0) -> FramePlan:
    """Only what the pictures need of a frame: where each pane's ink ends."""
    limits = tuple(
        (
            pane.id,
            (
                square(
                    pane.region.box.left - bleed_mm,
                    pane.region.box.top - bleed_mm,
                    pane.region.box.width + 2.0 * bleed_mm,
                ),
            ),
        )
        for pane in design.panes
    )
    return FramePlan(
        outline=design.outline,
        layers=(),
        made=(),
        cut=(),
        printed=(),
        glass_limit=limits,
        film_trim=design.outline,
        ears=(),
        fit=Fit(
            panel_mm=design.size_mm,
            thickness_mm=0.0,
            thickness_worst_mm=0.0,
            thickness_rss_mm=0.0,
            opening_mm=None,
            clearance_mm=0.0,
            recess_mm=None,
            spare_mm=None,
            layers_mm=(),
        ),
        registration=Registration(
            contributions=(),
            worst_case_mm=0.0,
            rss_mm=0.0,
            min_cover_mm=0.0,
            bleed_mm=bleed_mm,
            exposed=(),
        ),
        sheets=(),
    )


@cache
def separation(films: int = 2) -> Separation:
    found, _ = separate(window(), palette(), printer(), light(), films=films)
    return found


def glazing(settings: FinishSettings, *, films: int = 2, design: Window | None = None) -> Glazing:
    chosen = design or window()
    return glaze(
        chosen,
        palette(),
        separation(films),
        plan_of(chosen),
        profile=printer(),
        light=light(),
        settings=settings,
        cache=shelf(),
    )


class Unpacked:
    """Packs nothing: gives a picture's rows as they are."""

    def __init__(self) -> None:
        self._rows: list[bytes] = []

    def add(self, rows: np.ndarray) -> None:
        self._rows.append(rows.tobytes())

    def packed(self) -> bytes:
        return b"".join(self._rows)


def whole_films(glazed: Glazing) -> Sequence[Picture]:
    """The films as pixels; identical films share one array."""
    packed = film_pictures(glazed, Unpacked)
    made = {
        id(one): Picture(
            box=one.box,
            pixels=np.frombuffer(one.data, np.uint8).reshape(one.rows, one.columns, 3),
        )
        for one in packed
    }
    return [made[id(one)] for one in packed]
