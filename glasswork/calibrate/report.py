"""The calibration on one page: what was read, how sure it is, tone curves, residuals, reach."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from glasswork.calibrate.fit import Calibration, Spread
from glasswork.calibrate.marks import GREY, filled
from glasswork.calibrate.physics import Film, Floats, Physics
from glasswork.calibrate.plot import Plot
from glasswork.cielab import srgb_of_lab
from glasswork.model.film import PrinterProfile
from glasswork.model.geometry import Box
from glasswork.model.sheet import Colour, Document, Item, Line, Page, PageSize, Text
from glasswork.model.words import counted

_INK: Final[dict[str, Colour]] = {
    "cyan": (0, 150, 200),
    "magenta": (205, 30, 130),
    "yellow": (205, 165, 0),
    "black": (40, 40, 40),
    "grey": (110, 110, 110),
}
_FILMS: Final[tuple[Colour, ...]] = ((90, 160, 220), (220, 120, 30), (60, 60, 60))


def calibration_report(calibration: Calibration, *, physics: Physics, page: PageSize) -> Document:
    """One page that a maker keeps with the film.

    page : A4 or Letter
    """
    items = _head(calibration)
    left, right = 20.0, page.width_mm - 12.0
    middle = (left + right) / 2.0
    items += _tones(calibration, physics, Box(left, 72.0, middle - 8.0, 142.0))
    items += _residuals(calibration, physics, Box(middle + 8.0, 72.0, right, 142.0))
    items += _reach(
        calibration, physics, Box(left, 162.0, middle - 8.0, 162.0 + middle - 8.0 - left)
    )
    items += _worst(calibration, physics, Box(middle + 8.0, 162.0, right, 199.0))
    items += _findings(calibration, Box(middle + 8.0, 208.0, right, 262.0))
    sheet = Page(
        width_mm=page.width_mm, height_mm=page.height_mm, items=tuple(items), title="calibration"
    )
    return Document(
        title=f"Calibration of {calibration.profile.title}",
        pages=(sheet,),
        created=calibration.created,
        subject=calibration.profile.source,
    )


def error_rows(calibration: Calibration) -> list[tuple[str, Spread]]:
    """The table of the last word: what was tested, and its spread."""
    names = ("one film", "two films", "three films")
    rows = list(zip(names, calibration.error, strict=False))
    if calibration.former is not None:
        rows.append(("former profile", calibration.former))
    return rows


def _head(calibration: Calibration) -> list[Item]:
    profile = calibration.profile
    items: list[Item] = [
        Text(at=(14.0, 16.0), text=f"Calibration: {profile.title}", size_pt=15.0, bold=True),
        Text(at=(14.0, 22.0), text=profile.source, size_pt=8.0, colour=GREY),
    ]
    facts = [
        ("n", f"{profile.n:.2f}"),
        ("ink limit", f"{100 * profile.ink_limit:.0f} %"),
        ("lattice", " x ".join(str(len(axis)) for axis in profile.levels)),
        ("print scale", f"{profile.print_scale[0]:.4f} across, {profile.print_scale[1]:.4f} along"),
        ("light", calibration.physics_light),
    ]
    for i, (name, value) in enumerate(facts):
        items.append(Text(at=(14.0, 31.0 + 5.0 * i), text=name, size_pt=8.0, colour=GREY))
        items.append(Text(at=(36.0, 31.0 + 5.0 * i), text=value, size_pt=8.0))
    x = 108.0
    items.append(Text(at=(x, 31.0), text="cross-validated ΔE00", size_pt=8.0, bold=True))
    for shift, word in ((46.0, "mean"), (60.0, "p95"), (74.0, "most"), (88.0, "patches")):
        items.append(Text(at=(x + shift, 31.0), text=word, size_pt=8.0, anchor="end", colour=GREY))
    for i, (name, spread) in enumerate(error_rows(calibration)):
        y = 36.0 + 5.0 * i
        items.append(Text(at=(x, y), text=name, size_pt=8.0))
        cells = (
            f"{spread.mean:.2f}",
            f"{spread.p95:.2f}",
            f"{spread.most:.2f}",
            str(spread.patches),
        )
        for shift, cell in zip((46.0, 60.0, 74.0, 88.0), cells, strict=True):
            items.append(Text(at=(x + shift, y), text=cell, size_pt=8.0, anchor="end"))
    items.append(Line(points=((14.0, 60.0), (196.0, 60.0)), width_mm=0.15, colour=GREY))
    return items


def _film(profile: PrinterProfile, physics: Physics) -> Film:
    return physics.make_film(
        profile.levels, profile.nodes, curves=profile.curves, n=profile.n, where=profile.name
    )


def _tones(calibration: Calibration, physics: Physics, box: Box) -> list[Item]:
    """Peak density along each ramp: measured dots on the profile's line."""
    profile = calibration.profile
    film = _film(profile, physics)
    names = ("cyan", "magenta", "yellow", *(("black",) if profile.device == "cmyk" else ("grey",)))
    most = -np.log10(max(float(calibration.printed.min()), 1e-4))
    top = 0.5 * np.ceil(max(most, 0.5) / 0.5)
    plot = Plot(
        box=box,
        x=(0.0, 100.0),
        y=(0.0, float(top)),
        steps=(25.0, 0.5),
        title="Tone: densest wavelength of each ramp, one film",
        labels=("ink, % (dots: read, lines: profile)", "density above base"),
    )
    items = plot.frame()
    ink = 1.0 - calibration.device if profile.device == "rgb" else calibration.device
    for axis, name in enumerate(names):
        along = np.linspace(0.0, 1.0, 61)
        amounts = np.zeros((61, ink.shape[1]))
        if name == "grey":
            amounts[:] = along[:, None]
            on = np.ptp(ink, axis=1) < 0.005
        else:
            amounts[:, axis] = along
            on = np.delete(ink, axis, axis=1).max(axis=1) < 0.005
        device = 1.0 - amounts if profile.device == "rgb" else amounts
        density = -np.log10(np.maximum(film.transmittance(device).min(axis=1), 1e-4))
        items.append(
            plot.line(list(zip((100 * along).tolist(), density.tolist(), strict=True)), _INK[name])
        )
        read = -np.log10(np.maximum(calibration.printed[on].min(axis=1), 1e-4))
        for amount, value in zip(ink[on].max(axis=1), read, strict=True):
            items.append(plot.dot(100 * float(amount), float(value), _INK[name], 1.3))
        x = box.left + 3.0
        y = box.top + 4.0 + 3.6 * axis
        items.append(
            Line(points=((x, y - 0.9), (x + 4.0, y - 0.9)), width_mm=0.5, colour=_INK[name])
        )
        items.append(Text(at=(x + 5.0, y), text=name, size_pt=7.0))
    return items


def _residuals(calibration: Calibration, physics: Physics, box: Box) -> list[Item]:
    """Cross-validated ΔE00 over lightness."""
    off = calibration.residual
    top = max(2.0, float(np.ceil(off.max())) if len(off) else 2.0)
    plot = Plot(
        box=box,
        x=(0.0, 100.0),
        y=(0.0, top),
        steps=(20.0, 0.5 if top <= 3 else 1.0),
        title="Patches the fit did not see, one film",
        labels=("lightness L*", "ΔE00"),
    )
    items = plot.frame()
    if not len(off):
        return items
    film = _film(calibration.profile, physics)
    base = np.array(calibration.profile.base)
    said = np.clip(film.transmittance(calibration.checked), 0.0, 1.0)
    lab = physics.lab(said, 1, base=base, index=calibration.profile.index)
    for (lightness, _, _), value, colour in zip(lab, off, _srgb(lab), strict=True):
        items.append(plot.dot(float(lightness), float(value), colour, 1.5))
    for value, word in ((off.mean(), "mean"), (np.percentile(off, 95), "p95")):
        items.append(plot.line(((0.0, value), (100.0, value)), GREY, dashes_mm=(1.0, 1.0)))
        _, y = plot.at(0.0, float(value))
        items.append(Text(at=(box.right - 1.0, y - 0.6), text=word, size_pt=6.5, anchor="end"))
    return items


def _reach(calibration: Calibration, physics: Physics, box: Box) -> list[Item]:
    """The widest a*, b* at any lightness that 1, 2, 3 films reach."""
    plot = Plot(
        box=box,
        x=(-120.0, 120.0),
        y=(-120.0, 120.0),
        steps=(40.0, 40.0),
        title="Reach: outermost a*, b* of one, two and three films",
        labels=("a*", "b*"),
    )
    items = plot.frame()
    profile = calibration.profile
    axes = len(profile.levels)
    steps = np.linspace(0.0, 1.0, 11 if axes == 3 else 5)
    device = np.stack(np.meshgrid(*[steps] * axes, indexing="ij"), axis=-1).reshape(-1, axes)
    ink = (1.0 - device if profile.device == "rgb" else device).sum(axis=1)
    device = device[ink <= profile.ink_limit + 1e-9]
    printed = np.clip(_film(profile, physics).transmittance(device), 0.0, 1.0)
    for films, colour in zip((1, 2, 3), _FILMS, strict=True):
        lab = physics.lab(printed, films, base=np.array(profile.base), index=profile.index)
        items.append(plot.line(outline(lab[:, 1:]), colour, closed=True))
        x, y = box.left + 3.0, box.top + 4.0 + 3.6 * (films - 1)
        items.append(Line(points=((x, y - 0.9), (x + 4.0, y - 0.9)), width_mm=0.5, colour=colour))
        items.append(Text(at=(x + 5.0, y), text=counted(films, "film"), size_pt=7.0))
    return items


def outline(points: Floats) -> list[tuple[float, float]]:
    """Convex outline of points in the plane, turning one way (monotone chain)."""
    rows = sorted({(float(x), float(y)) for x, y in points})

    def half(ordered: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        chain: list[tuple[float, float]] = []
        for x, y in ordered:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                    break
                chain.pop()
            chain.append((x, y))
        return chain

    return half(rows)[:-1] + half(rows[::-1])[:-1]


def _worst(calibration: Calibration, physics: Physics, box: Box) -> list[Item]:
    """The patches that are worst predicted: as read, beside as the profile says."""
    items: list[Item] = [
        Text(
            at=(box.left, box.top - 2.0),
            text="Worst predicted: left as read, right as predicted",
            size_pt=8.5,
            bold=True,
        )
    ]
    order = np.argsort(-calibration.residual)[:6]
    if not len(order):
        return items
    profile = calibration.profile
    base = np.array(profile.base)
    film = _film(profile, physics)
    device = calibration.checked[order]
    match = np.abs(device[:, None] - calibration.device[None]).max(axis=2).argmin(axis=1)
    read = physics.lab(calibration.printed[match], 1, base=base, index=profile.index)
    said = physics.lab(
        np.clip(film.transmittance(device), 0.0, 1.0), 1, base=base, index=profile.index
    )
    full = 255 if profile.device == "rgb" else 100
    for slot, (i, a, b) in enumerate(zip(order, _srgb(read), _srgb(said), strict=True)):
        column, row = slot % 3, slot // 3
        x, y = box.left + column * 28.0, box.top + 1.0 + row * 18.0
        items.append(filled(Box(x, y, x + 12.0, y + 10.0), a))
        items.append(filled(Box(x + 12.0, y, x + 24.0, y + 10.0), b))
        ink = " ".join(f"{value * full:.0f}" for value in device[slot])
        items.append(
            Text(at=(x, y + 13.5), text=f"{ink}:  {calibration.residual[i]:.1f}", size_pt=6.5)
        )
    return items


def _findings(calibration: Calibration, box: Box) -> list[Item]:
    from textwrap import wrap

    items: list[Item] = [
        Text(at=(box.left, box.top - 2.0), text="Good to know", size_pt=8.5, bold=True)
    ]
    lines: list[str] = []
    for finding in calibration.findings:
        hint = f" ({finding.hint})" if finding.hint else ""
        lines += wrap(f"{finding.where}: {finding.what}{hint}", 66, subsequent_indent="   ")
    for i, line in enumerate(lines[:16]):
        items.append(Text(at=(box.left, box.top + 3.0 + 3.2 * i), text=line, size_pt=6.5))
    return items


def _srgb(lab: Floats) -> list[Colour]:
    """Display colours of CIELAB, cut to what a display shows."""
    return [(int(r), int(g), int(b)) for r, g, b in np.round(255 * srgb_of_lab(lab))]
