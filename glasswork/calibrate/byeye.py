"""Without instrument and camera: a sheet on which the eye finds equal tones.

Fine lines of full ink over a known part of the area let through a known part of the light,
whatever the printer's tones do. Above them lies a row of even tints: where the two look alike
from afar, the tint's device value has that effect. Three such matches an ink give its tone curve.
It is coarse: it mends tones, not the colour of the inks, which stays that of the profile before.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from glasswork.calibrate.marks import filled
from glasswork.calibrate.physics import Floats, Physics
from glasswork.calibrate.strip_page import MARGIN_MM, device_colour, ink_figures, moved, wrapped
from glasswork.errors import CalibrationError
from glasswork.model.film import PrinterProfile
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Affine, Box
from glasswork.model.sheet import Item, Line, Page, PageSize, Text

INKS: Final = ("cyan", "magenta", "yellow")
COVERS: Final = (25, 50, 75)
STEPS: Final = 13
PITCH_MM: Final = 0.8
_WIDE_MM: Final = 190.0
_ROW_MM: Final = 15.0
_NOTES: Final = (
    "Lay the film on the lit panel and step back until the fine lines melt into an even tint, two "
    "metres or more; a squint helps.",
    "In each row find the step that is as light as the lines under it. Between two steps, write "
    "a half. Write all nine numbers down.",
    "Then judge the squares: the last one whose clear lines are all open and which is dry after "
    "an hour is the ink limit.",
)


class EyeAnswers(Struct, frozen=True, kw_only=True):
    """What the eye found.

    matches : "cyan-25" … "yellow-75" to the step, 1 to 13, halves allowed
    ink_limit : of the last good square, 2.4 for 240 %
    """

    matches: Mapping[str, float]
    ink_limit: float | None = None


def step_ink(cover: int) -> tuple[float, ...]:
    """Ink 0-1 of the steps beside lines that cover so many percent."""
    share = cover / 100.0
    low, high = 0.25 * share, share + 0.55 * (1.0 - share)
    return tuple(round(255 * v) / 255 for v in np.linspace(low, high, STEPS))


def eye_page(page: PageSize) -> Page:
    """The sheet for judging by eye."""
    items: list[Item] = [
        Text(at=(0.0, 6.0), text="Glasswork tones by eye", size_pt=13.0, bold=True),
        Text(
            at=(0.0, 11.0),
            text="which step is as light as the lines under it?",
            size_pt=8.5,
        ),
    ]
    top = 18.0
    for axis, ink in enumerate(INKS):
        for cover in COVERS:
            items += _row(axis, ink, cover, top)
            top += _ROW_MM
        top += 2.0
    items += ink_figures(Box(14.0, top + 4.0, 176.0, top + 32.0))
    for i, note in enumerate(wrapped(_NOTES)):
        items.append(Text(at=(0.0, top + 40.0 + 3.6 * i), text=note, size_pt=7.0))
    place = Affine.shift((page.width_mm - _WIDE_MM) / 2.0, MARGIN_MM + 6.0)
    return Page(
        width_mm=page.width_mm,
        height_mm=page.height_mm,
        items=tuple(moved(item, place) for item in items),
        title="tones by eye",
    )


def _row(axis: int, ink: str, cover: int, top: float) -> list[Item]:
    left, right = 22.0, 188.5
    wide = (right - left) / STEPS
    items: list[Item] = [
        Text(at=(0.0, top + 4.0), text=f"{ink}-{cover}", size_pt=8.0, bold=True),
        Text(at=(0.0, top + 9.5), text="step", size_pt=7.0),
        Line(points=((6.5, top + 9.8), (18.0, top + 9.8)), width_mm=0.15),
    ]
    full = [1.0, 1.0, 1.0]
    full[axis] = 0.0
    for i, amount in enumerate(step_ink(cover)):
        tint = [1.0, 1.0, 1.0]
        tint[axis] = 1.0 - amount
        box = Box(left + i * wide, top, left + (i + 1) * wide, top + 5.0)
        items.append(filled(box, device_colour(tint)))
        items.append(
            Text(at=(box.centre[0], top + 12.6), text=str(i + 1), size_pt=6.5, anchor="middle")
        )
    thick = PITCH_MM * cover / 100.0
    for k in range(int(5.0 / PITCH_MM)):
        y = top + 5.0 + k * PITCH_MM
        items.append(filled(Box(left, y, right, y + thick), device_colour(full)))
    return items


def fit_by_eye(
    answers: EyeAnswers,
    former: PrinterProfile,
    *,
    name: str,
    created: str,
    physics: Physics,
) -> tuple[PrinterProfile, tuple[Finding, ...]]:
    """The former profile with its tones mended by what the eye found.

    Raises: CalibrationError, if a match is missing, not on the sheet, or tones would not rise
    """
    if former.device != "rgb" or former.bands != "spectral":
        raise CalibrationError(
            former.name, "is no spectral RGB profile to begin from", "name a former profile that is"
        )
    _check(answers)
    film = physics.make_film(
        former.levels, former.nodes, curves=former.curves, n=former.n, where=former.name
    )
    base = np.array(former.base)
    levels, curves, largest = [], [], 0.0
    for axis, ink in enumerate(INKS):
        ramp = np.ones((257, 3))
        ramp[:, axis] = np.linspace(0.0, 1.0, 257)
        light = _light(film.transmittance(ramp), physics, base, former.index)
        at, was = [0.0], [0.0]
        for cover in reversed(COVERS):
            step = answers.matches[f"{ink}-{cover}"]
            device = 1.0 - float(np.interp(step, np.arange(1, STEPS + 1), step_ink(cover)))
            through = 1.0 - cover / 100.0 * (1.0 - light[0])
            at.append(device)
            was.append(float(np.interp(through, light, ramp[:, axis])))
            largest = max(largest, abs(at[-1] - was[-1]))
        at.append(1.0)
        was.append(1.0)
        if min(np.diff(at)) < 0.01 or min(np.diff(was)) < 0.005:
            raise CalibrationError(
                f"answers, {ink}", "the steps do not rise from 25 to 50 to 75", "look again"
            )
        levels.append(tuple(np.interp(former.levels[axis], was, at).tolist()))
        curves.append(_bent(former.curves[axis], at, was))
    profile = replace(
        former,
        name=name,
        levels=tuple(levels),
        curves=tuple(curves),
        ink_limit=answers.ink_limit or former.ink_limit,
        invented=former.invented,
        source=f"tones by eye {created[:10]} on top of {former.name} ({former.source})",
    )
    note = Finding(
        severity=Severity.WARNING,
        where="by eye",
        what=f"tones moved by up to {largest:.0%}; the inks' colours are still those of "
        f"{former.name}",
        hint="coarse: expect several ΔE00; a photo of the strip does better",
    )
    return profile, (note,)


def _bent(
    curve: tuple[tuple[float, float], ...], at: list[float], was: list[float]
) -> tuple[tuple[float, float], ...]:
    """A tone curve for device values that now stand for others."""
    return tuple((float(np.interp(x, was, at)), y) for x, y in curve)


def _light(printed: Floats, physics: Physics, base: Floats, index: float) -> Floats:
    """Luminous transmittance against bare film."""
    lab = physics.lab(np.clip(printed, 0.0, 1.0), 1, base=base, index=index)
    return np.asarray(np.maximum.accumulate(((lab[:, 0] + 16.0) / 116.0) ** 3))


def _check(answers: EyeAnswers) -> None:
    wanted = [f"{ink}-{cover}" for ink in INKS for cover in COVERS]
    missing = [key for key in wanted if key not in answers.matches]
    if missing:
        raise CalibrationError(
            "answers",
            f"{len(missing)} of 9 matches are missing: {', '.join(missing)}",
            "judge these too",
        )
    for key, step in answers.matches.items():
        if key not in wanted:
            raise CalibrationError("answers", f'no row "{key}"', f"rows: {', '.join(wanted)}")
        if not 1.0 <= step <= STEPS:
            raise CalibrationError(
                f"answers, {key}",
                f"step {step:g} is not between 1 and {STEPS}",
                "give the number of the step that matches",
            )
