"""Makes the two invented printer profiles: run it to write them anew.

    python tests/colour/invented_printers.py

Nothing here was measured. No open spectral data of inkjet inks on film was found, so a printer is
made up that behaves as the trade tells of one:

1. Four inks. Each solid's spectral density is a sum of a few smooth bands with a little stray
   absorption; dyes have narrower bands and clear feet, pigments broader ones and some haze. Peaks
   stay between 0.8 and 1.3 above the film, the range told of home inks on film.
2. A driver. It turns RGB into ink amounts as C = 1 - R and so on, takes part of the grey out of
   CMY and gives it to black, and bends every amount by a tone curve.
3. Dots. The amounts spread and mix by the Yule-Nielsen spectral Neugebauer model over the sixteen
   overprints of the four inks.
4. The lattice. Steps 1-3 are run at each node of the RGB cube, and along each ramp for the tone
   curves; only what a real strip could have measured goes into the profile.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Floats = NDArray[np.float64]
NM = np.arange(380, 731, 10, dtype=float)
FOLDER = Path(__file__).parents[2] / "profiles" / "printers"

Band = tuple[float, float, float]
"""Peak wavelength in nm, width in nm, density at the peak."""


class Invented(Struct, frozen=True, kw_only=True):
    """A made-up printer. inks : bands of cyan, magenta, yellow and black; grey : the share of
    the grey that black takes over; gain : what a tone of a half prints as; dots : the n of the
    dots' mixing; haze : density that every inked dot scatters away"""

    name: str
    title: str
    inks: tuple[tuple[Band, ...], ...]
    grey: float
    gain: float
    dots: float
    haze: float
    steps: int
    ramp: tuple[float, ...]
    index: float
    base: float
    ink_limit: float
    settings: tuple[str, ...]
    print_scale: tuple[float, float]
    film_thickness_mm: float


DYE = Invented(
    name="dye-film",
    title="Home inkjet, dye inks, on coated inkjet film (invented)",
    inks=(
        ((635.0, 52.0, 1.28), (585.0, 30.0, 0.22), (400.0, 28.0, 0.16)),
        ((547.0, 27.0, 1.24), (512.0, 24.0, 0.62), (390.0, 30.0, 0.18)),
        ((428.0, 34.0, 1.22), (462.0, 16.0, 0.38), (390.0, 20.0, 0.25)),
        ((610.0, 90.0, 1.05), (500.0, 80.0, 0.90), (420.0, 60.0, 0.80)),
    ),
    grey=0.7,
    gain=0.56,
    dots=1.5,
    haze=0.004,
    steps=3,
    ramp=(0.1, 0.25, 0.5, 0.75, 0.9),
    index=1.573,
    base=0.985,
    ink_limit=2.6,
    settings=(
        "paper type: transparency film, or glossy photo paper if the driver has no film",
        "quality: best; print black and colour inks; ink drying time longest",
        "colour management: none (no ICC profile, no automatic enhancement)",
    ),
    print_scale=(1.0, 1.0),
    film_thickness_mm=0.12,
)

PIGMENT = Invented(
    name="pigment-film",
    title="Home inkjet, pigment inks, on coated inkjet film (invented)",
    inks=(
        ((630.0, 62.0, 1.05), (580.0, 45.0, 0.25), (400.0, 40.0, 0.20)),
        ((545.0, 36.0, 1.00), (508.0, 32.0, 0.55), (400.0, 40.0, 0.28)),
        ((425.0, 42.0, 1.02), (468.0, 24.0, 0.32), (390.0, 30.0, 0.20)),
        ((600.0, 110.0, 1.15), (490.0, 90.0, 0.95), (420.0, 70.0, 0.75)),
    ),
    grey=0.8,
    gain=0.60,
    dots=2.0,
    haze=0.02,
    steps=5,
    ramp=(0.1, 0.25, 0.5, 0.75, 0.9),
    index=1.573,
    base=0.975,
    ink_limit=2.2,
    settings=(
        "paper type: transparency film, or matt photo paper if the driver has no film",
        "quality: best; let the sheet dry lying flat overnight",
        "colour management: none (no ICC profile, no automatic enhancement)",
    ),
    print_scale=(1.0, 1.0),
    film_thickness_mm=0.13,
)


def densities(printer: Invented) -> Floats:
    """Spectral density of the four solids above the film, (4, 36)."""
    rows = []
    for ink in printer.inks:
        row = sum(peak * np.exp(-(((NM - at) / width) ** 2) / 2.0) for at, width, peak in ink)
        rows.append(row + printer.haze)
    return np.asarray(rows)


def amounts(rgb: Floats, printer: Invented) -> Floats:
    """The driver: RGB 0-1, (..., 3), to ink amounts 0-1 of C, M, Y, K, (..., 4)."""
    cmy = 1.0 - rgb
    grey = cmy.min(axis=-1, keepdims=True)
    black = grey**2.2
    rest = cmy - printer.grey * black
    spread = np.log(printer.gain) / np.log(0.5)
    return np.clip(np.concatenate((rest, black), axis=-1), 0.0, 1.0) ** spread


def printed(rgb: Floats, printer: Invented) -> Floats:
    """Transmittance relative to the bare film, (..., 36)."""
    ink = amounts(rgb, printer)
    solids = densities(printer)
    root = np.zeros((*rgb.shape[:-1], len(NM)))
    for mix in product((0, 1), repeat=4):
        share = np.prod([ink[..., i] if on else 1.0 - ink[..., i] for i, on in enumerate(mix)], 0)
        density = np.asarray(mix) @ solids
        root += share[..., None] * 10.0 ** (-density / printer.dots)
    return root**printer.dots


def tone_curve(axis: int, printer: Invented) -> list[tuple[float, float]]:
    """Device value to effective value along one ramp, as least squares over the roots."""

    def ramp(value: float) -> Floats:
        rgb = np.ones(3)
        rgb[axis] = value
        return printed(rgb, printer) ** (1.0 / printer.dots)

    dark, clear = ramp(0.0), ramp(1.0)
    span = clear - dark
    points = [(0.0, 0.0)]
    points += [(v, round(float((ramp(v) - dark) @ span / (span @ span)), 4)) for v in printer.ramp]
    return [*points, (1.0, 1.0)]


def toml_text(printer: Invented) -> str:
    """The profile file."""
    base = printer.base * (1.0 - 0.05 * np.exp(-(NM - 380.0) / 18.0))
    steps = np.linspace(0.0, 1.0, printer.steps)
    head = [
        "# Written by tests/colour/invented_printers.py: change it there.",
        f'title = "{printer.title}"',
        "invented = true",
        'source = "invented for Glasswork: four made-up inks through a made-up driver; no printer '
        'was measured"',
        "settings = [",
        *(f'  "{line}",' for line in printer.settings),
        "]",
        'device = "rgb"',
        f"n = {printer.dots}",
        f"index = {printer.index}",
        f"ink_limit = {printer.ink_limit}",
        f"print_scale = [{printer.print_scale[0]}, {printer.print_scale[1]}]",
        "print_scale_uncertainty = 0.002",
        f"film_thickness_mm = {printer.film_thickness_mm}",
        "unprintable_mm = [4.0, 4.0, 4.0, 7.0]",
        "curves = [",
        *(
            "  [" + ", ".join(f"[{x:g}, {y:g}]" for x, y in tone_curve(axis, printer)) + "],"
            for axis in range(3)
        ),
        "]",
        f"base = {_row(base)}",
    ]
    for rgb in product(steps, repeat=3):
        head += [
            "",
            "[[node]]",
            f"device = [{', '.join(f'{v:g}' for v in rgb)}]",
            f"transmittance = {_row(printed(np.asarray(rgb), printer))}",
        ]
    return "\n".join(head) + "\n"


def _row(values: Floats) -> str:
    return "[" + ", ".join(f"{v:.4g}" for v in values) + "]"


if __name__ == "__main__":
    for printer in (DYE, PIGMENT):
        (FOLDER / f"{printer.name}.toml").write_text(toml_text(printer), "utf-8")
