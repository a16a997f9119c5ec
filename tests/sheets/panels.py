"""Panels to lay on pages: an invented tide-gauge casement, its separation, its frame."""

from __future__ import annotations

from functools import cache

from msgspec.structs import replace

from glasswork.framing.plan import plan_frame
from glasswork.model.film import FilmBlack, FilmsRow, GlassOnFilm, PrinterProfile, Separation
from glasswork.model.frame import FramePlan
from glasswork.model.sheet import PageSize
from glasswork.model.window import Window
from tests.framing import windows

A4 = PageSize(name="a4", title="A4", width_mm=210.0, height_mm=297.0)
LETTER = PageSize(name="letter", title="Letter", width_mm=215.9, height_mm=279.4)
PAGES = {"A4": A4, "Letter": LETTER}

DEVICES = (
    (200, 13, 77),
    (17, 130, 201),
    (240, 200, 40),
    (30, 96, 50),
    (255, 244, 233),
    (90, 60, 150),
)
"""Invented device values of six invented glasses."""


@cache
def tide_gauge(*, width: float = 120.0, height: float = 160.0) -> Window:
    """Two lights, cut and printed leads; glasses by turns."""
    return glazed(windows.two_light(width, height))


@cache
def casement(width: float, height: float, *, columns: int = 4, rows: int = 5) -> Window:
    return glazed(
        windows.quarries(width, height, columns=columns, rows=rows, lead_mm=2.4, border_mm=7.0)
    )


def glazed(window: Window) -> Window:
    panes = tuple(
        replace(pane, glass=f"g{number % len(DEVICES)}") for number, pane in enumerate(window.panes)
    )
    return replace(window, panes=panes)


def separation(*, films: int = 2) -> Separation:
    """Each film of a glass with its own device values, so that no film is taken for another."""
    return Separation(
        count=films,
        identical=films == 1,
        glasses=tuple(
            GlassOnFilm(
                glass=f"g{number}",
                device=tuple(
                    (max(0, r - 9 * k), max(0, g - 9 * k), max(0, b - 9 * k)) for k in range(films)
                ),
                target_lab=(50.0, 0.0, 0.0),
                predicted_lab=(52.0, 3.0, 0.0),
                delta_e00=2.5 if number else 6.1,
                in_reach=bool(number),
                status_a=(1.0, 0.8, 0.6),
                visual=0.8,
                film_status_a=((0.5, 0.4, 0.3),) * films,
                lit_srgb=(r / 255, g / 255, b / 255),
                ink_load=(1.0,) * films,
                sentence="Two films of middling red and little blue.",
            )
            for number, (r, g, b) in enumerate(DEVICES)
        ),
        table=tuple(
            FilmsRow(count=n, mean_delta_e00=9.0 / n**2, area_within_3=share)
            for n, share in ((1, 0.4), (2, 0.97), (3, 1.0))
        ),
        black=FilmBlack(
            device=((20, 62, 24),) * films,
            status_a=(2.2, 2.2, 2.3),
            visual=2.2,
            lit_srgb=(0.006,) * 3,
            ink_load=2.58,
        ),
        throughput=0.8,
    )


def printer(*, scale: tuple[float, float] = (1.0, 1.0)) -> PrinterProfile:
    return replace(windows.printer(), print_scale=scale, settings=("quality: best",))


@cache
def framed(
    window: Window, *, films: int = 2, cutter: str = "laser", scale: tuple[float, float] = (1, 1)
) -> FramePlan:
    plan, _ = plan_frame(
        window,
        windows.board(),
        windows.cutter(cutter),
        printer=printer(scale=scale),
        films=films,
    )
    return plan
