"""Windows built by hand: a rectangle, an arch or a circle tiled with members."""

from __future__ import annotations

from math import asin, cos, pi, sin, sqrt
from pathlib import Path

import numpy as np

from glasswork.model.film import PrinterProfile
from glasswork.model.frame import Board, Cutter
from glasswork.model.geometry import Point, Region
from glasswork.model.window import Member, Pane, Role, Window
from glasswork.planar import Area
from glasswork.readers.board import read_board
from glasswork.readers.cutter import read_cutter

ROOT = Path(__file__).parents[2]

Lead = tuple[tuple[Point, ...], float, Role]


def tiled(
    outline: Region, leads: list[Lead], *, border_mm: float, name: str = "test window"
) -> Window:
    """Border inside the outline, leads in the order given, panes in what is left."""
    whole = Area.of((outline,))
    inside = whole.grown(-border_mm)
    members = [
        Member(id="border", role=Role.BORDER, width_mm=border_mm, area=(whole - inside).regions())
    ]
    left = inside
    for number, (line, width, role) in enumerate(leads, start=1):
        strip = Area.stroke(line, width, cap="flat", join="mitre") & left
        if strip.is_empty:
            continue
        left = left - strip
        members.append(
            Member(
                id=f"m{number}",
                role=role,
                width_mm=width,
                area=strip.regions(),
                centreline=tuple(line),
            )
        )
    panes = tuple(
        Pane(id=f"p{number}", region=region, seed_point=Area.of((region,)).inner_point())
        for number, region in enumerate(left.regions(), start=1)
        if region.area_mm2 > 1e-6
    )
    return Window(name=name, outline=outline, panes=panes, members=tuple(members))


def rectangle(width: float, height: float) -> Region:
    return Region(((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)))


def circle(radius: float, *, chords: int = 256) -> Region:
    return Region(
        tuple(
            (radius + radius * cos(2 * pi * k / chords), radius + radius * sin(2 * pi * k / chords))
            for k in range(chords)
        )
    )


def arch(span: float, springing: float, *, ratio: float = 1.0, chords: int = 48) -> Region:
    """A two-centred arch on upright jambs; ratio: radius over span."""
    r = ratio * span
    rise = sqrt(r * span - span * span / 4.0)
    top = rise
    turn = asin(rise / r) / chords
    left = [(r + r * cos(pi + turn * k), top + r * sin(pi + turn * k)) for k in range(chords + 1)]
    right = [(span - x, y) for x, y in reversed(left[:-1])]
    base = top + springing
    return Region((*left, *right, (span, base), (0.0, base)))


def quarries(
    width: float, height: float, *, columns: int, rows: int, lead_mm: float, border_mm: float
) -> Window:
    """A casement of square quarries; every lead is cut at every joint, as drawings give them."""
    outline = rectangle(width, height)
    step_x = (width - 2 * border_mm + lead_mm) / columns
    step_y = (height - 2 * border_mm + lead_mm) / rows
    panes, members = [], []
    whole = Area.of((outline,))
    ring = whole - whole.grown(-border_mm)
    members.append(Member(id="border", role=Role.BORDER, width_mm=border_mm, area=ring.regions()))

    def rect(l: float, t: float, r: float, b: float) -> Region:  # noqa: E741
        return Region(((l, t), (r, t), (r, b), (l, b)))

    for j in range(rows):
        for i in range(columns):
            l, t = border_mm + i * step_x, border_mm + j * step_y  # noqa: E741
            r, b = l + step_x - lead_mm, t + step_y - lead_mm
            panes.append(
                Pane(id=f"p{j}-{i}", region=rect(l, t, r, b), seed_point=((l + r) / 2, (t + b) / 2))
            )
            if i + 1 < columns:
                c = r + lead_mm / 2
                members.append(Member(id=f"v{j}-{i}", role=Role.LEAD, width_mm=lead_mm,
                    area=(rect(r, t, r + lead_mm, b),), centreline=((c, t), (c, b))))  # fmt: skip
            if j + 1 < rows:
                c = b + lead_mm / 2
                end = r + (lead_mm if i + 1 < columns else 0.0)
                members.append(Member(id=f"h{j}-{i}", role=Role.LEAD, width_mm=lead_mm,
                    area=(rect(l, b, end, b + lead_mm),),
                    centreline=((l, c), (end, c))))  # fmt: skip
    return Window(name="quarries", outline=outline, panes=tuple(panes), members=tuple(members))


def two_light(width: float = 120.0, height: float = 160.0, *, lead_mm: float = 2.4) -> Window:
    """Two lights with a mullion, a bar and leads, in an arched outline."""
    outline = arch(width, height - width * sqrt(3) / 2)
    box = outline.box
    mid = width / 2
    leads: list[Lead] = [
        (((mid, box.top - 5), (mid, box.bottom + 5)), 6.0, Role.MULLION),
        (((-5, 105.0), (width + 5, 105.0)), 4.0, Role.BAR),
        (((-5, 70.0), (width + 5, 130.0)), lead_mm, Role.LEAD),
        (((-5, 130.0), (width + 5, 70.0)), lead_mm, Role.LEAD),
        (((30.0, 60.0), (30.0, box.bottom)), 0.6, Role.LEAD),
    ]
    return tiled(outline, leads, border_mm=8.0)


def board(name: str = "chipboard-2") -> Board:
    path = ROOT / "profiles" / "boards" / f"{name}.toml"
    return read_board(path.read_bytes(), where=path.name)


def cutter(name: str = "laser") -> Cutter:
    path = ROOT / "profiles" / "cutters" / f"{name}.toml"
    return read_cutter(path.read_bytes(), where=path.name)


def bed_for(drawn: Window) -> tuple[float, float]:
    """Just large enough for a part with its ears; nests are the matter of test_nest.py."""
    side = 1.3 * max(drawn.outline.box.width, drawn.outline.box.height) + 30.0
    return (side, side)


def printer() -> PrinterProfile:
    """A printer of which framing reads the scale and the film's thickness alone."""
    return PrinterProfile(
        name="test",
        title="test",
        device="rgb",
        levels=((0.0, 1.0),) * 3,
        nodes=np.ones((2, 2, 2, 36)),
        curves=(((0.0, 0.0), (1.0, 1.0)),) * 3,
        n=1.0,
        base=(1.0,) * 36,
        index=1.5,
        ink_limit=2.4,
    )
