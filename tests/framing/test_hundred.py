"""A hundred windows by lot and every kind drawn from measures, as line art through the whole
reader, each at one of three scales in turn. The samples are framed at three scales each.
"""

from __future__ import annotations

import random
import re
from functools import lru_cache
from math import sqrt
from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from svgelements import Path

from glasswork.drawing.drawn import draw
from glasswork.drawing.make import make_window
from glasswork.errors import FrameError
from glasswork.framing.made import narrowest_cut_mm
from glasswork.framing.plan import plan_frame
from glasswork.model.geometry import Affine
from glasswork.model.window import Role, Sizing, Window
from glasswork.readers.svg import read_svg

from test_drawn import held, sound, weak_places_are_listed  # isort: skip
from windows import bed_for, board, cutter, printer  # isort: skip

SCALES = {0.4: "card-0.3", 1.0: "chipboard-2", 1.7: "chipboard-3"}


def drawing(seed: int) -> bytes:
    """A window by lot: outline, mullions, bars, and quarries, diamonds, a roundel or a wave."""
    lots = random.Random(seed)
    width, height = lots.randrange(70, 130, 5), lots.randrange(110, 190, 5)
    edge = lots.choice([6.0, 8.0, 10.0])
    left, right, base = edge / 2, width - edge / 2, height - edge / 2
    span = right - left
    shape = lots.choice(["rectangle", "arch", "lancet", "round arch", "circle"])
    if shape == "rectangle":
        outline = f"M{left} {left}H{right}V{base}H{left}Z"
        top = left
    elif shape == "circle":
        height = width
        base = right
        r, mid = span / 2, width / 2
        outline = f"M{left} {mid}A{r} {r} 0 0 1 {right} {mid}A{r} {r} 0 0 1 {left} {mid}Z"
        top = left
    elif shape == "round arch":
        spring = left + span / 2
        outline = f"M{left} {base}V{spring}A{span / 2} {span / 2} 0 0 1 {right} {spring}V{base}Z"
        top = left
    else:
        r = span if shape == "arch" else 1.25 * span
        rise = sqrt(r * span - span * span / 4)
        height = max(height, rise + edge + 30.0)
        base = height - edge / 2
        spring, mid = left + rise, width / 2
        outline = (
            f"M{left} {base}V{spring}A{r} {r} 0 0 1 {mid} {left}"
            f"A{r} {r} 0 0 1 {right} {spring}V{base}Z"
        )
        top = left
    lead = lots.choice([0.6, 1.0, 1.4, 2.0, 2.4])
    lines = [f'<path class="border" d="{outline}" stroke-width="{edge}"/>']
    for k in range(lots.choice([0, 1, 1, 2])):
        x = left + span * (k + 1) / 3 if k else width / 2
        lines.append(f'<path class="mullion" d="M{x} {top}V{base}" stroke-width="5"/>')
    for _ in range(lots.choice([0, 1, 2])):
        y = lots.uniform(height * 0.4, height * 0.8)
        lines.append(f'<path class="bar" d="M{left} {y}H{right}" stroke-width="3"/>')
    pattern = lots.choice(["quarries", "diamonds", "roundel", "wave"])
    step = lots.choice([14.0, 18.0, 24.0])
    if pattern == "quarries":
        count = int(width / step)
        lines += [
            f'<path d="M{k * step} 0V{height}" stroke-width="{lead}"/>' for k in range(1, count)
        ]
        lines += [
            f'<path d="M0 {k * step}H{width}" stroke-width="{lead}"/>'
            for k in range(1, int(height / step))
        ]
    elif pattern == "diamonds":
        for k in range(-int(height / step), int(width / step) + int(height / step), 2):
            for way in (1, -1):
                x = k * step + 3.0
                end = x + way * height * 0.7
                lines.append(f'<path d="M{x} 0L{end} {height}" stroke-width="{lead}"/>')
    elif pattern == "roundel":
        r = width * 0.22
        mid = height * 0.55
        lines.append(f'<circle cx="{width / 2}" cy="{mid}" r="{r}" stroke-width="2.4"/>')
        for d in (f"M0 {mid}H{width / 2 - r}", f"M{width / 2 + r} {mid}H{width}"):
            lines.append(f'<path d="{d}" stroke-width="{lead}"/>')
    else:
        for k in range(1, 4):
            y = height * (0.3 + 0.15 * k)
            d = f"M0 {y}C{width * 0.3} {y - 20} {width * 0.6} {y + 20} {width} {y - 5}"
            lines.append(f'<path d="{d}" stroke-width="{lead}"/>')
    body = "\n".join(_inside(line, outline) for line in lines)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">'
        f'<g fill="none" stroke="black">{body}</g></svg>'
    ).encode()


def _inside(line: str, outline: str) -> str:
    """A path's part inside the outline's middle line; other shapes as they are."""
    if 'class="border"' in line or "<circle" in line:
        return line
    found = re.search(r' d="([^"]*)"', line)
    assert found
    inside = shapely.intersection(shapely.LineString(_points(found[1])), _within(outline))
    parts = [p for p in shapely.get_parts(inside) if p.geom_type == "LineString" and p.length > 1.0]
    return "\n".join(
        line.replace(found[1], "M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in part.coords))
        for part in parts
    )


@lru_cache(maxsize=1)
def _within(outline: str) -> shapely.Polygon:
    return shapely.Polygon(_points(outline))


def _points(data: str) -> np.ndarray:
    """Points on a path: the ends of straight lines, one each 0.4 mm of what is curved."""
    path = Path(data)
    if "A" not in data and "C" not in data:
        return np.array([(s.end.x, s.end.y) for s in path if s.end is not None])
    count = max(2, int(path.length(error=1e-3) / 0.4))
    return np.asarray(path.npoint(np.arange(count + 1) / count))


def window(seed: int) -> Window:
    art = read_svg(drawing(seed), name=f"window {seed}.svg")
    return make_window(art, roles={}, sizing=Sizing())[0]


@pytest.mark.parametrize("seed", range(100))
def test_frames_of_windows_by_lot_hold(seed: int) -> None:
    """Each at one scale: its measures are by lot too, so that all meet the limits of all boards."""
    _hold(window(seed), list(SCALES)[seed % len(SCALES)])


_MEASURES: list[tuple[str, dict[str, Any]]] = [
    ("equilateral", {"lights": 2, "tracery": "quatrefoil"}),
    ("lancet", {"lights": 3, "tracery": "intersecting", "height_mm": 200.0, "lead_mm": 1.4}),
    ("drop", {"lights": 2, "tracery": "dagger", "border_mm": 8.0}),
    ("round", {"lights": 2, "tracery": "triangle", "pattern": "rectangular", "lead_mm": 2.0}),
    ("segmental", {"pattern": "honeycomb", "bars": 2, "border_mm": 6.0}),
    ("four-centred", {"lights": 3, "pattern": "brick"}),
    ("ogee", {"glass_border_mm": 5.0, "lead_mm": 1.2, "roundel": "sexfoil"}),
    ("casement", {"lights": 4, "transoms": 1, "width_mm": 150.0}),
    ("rose", {"petals": 12, "mullion_mm": 3.0}),
    ("wheel", {"petals": 6, "rounds": "quatrefoil"}),
]


@pytest.mark.parametrize("number", range(len(_MEASURES)), ids=[kind for kind, _ in _MEASURES])
def test_frames_of_windows_from_measures_hold(number: int) -> None:
    kind, measures = _MEASURES[number]
    art = read_svg(draw(kind, **measures), name=f"{kind}.svg")
    _hold(make_window(art, roles={}, sizing=Sizing())[0], list(SCALES)[number % len(SCALES)])


def _hold(drawn: Window, scale: float) -> None:
    scaled = drawn.mapped(Affine.scale(scale), width_factor=scale)
    on = board(SCALES[scale])
    means = replace(cutter(), bed_mm=bed_for(scaled))
    border = max(m.width_mm for m in scaled.members if m.role is Role.BORDER)
    if border < narrowest_cut_mm(on, means):
        with pytest.raises(FrameError, match="the least that can be cut"):
            plan_frame(scaled, on, means, printer=printer(), films=2)
        return
    made, _ = plan_frame(scaled, on, means, printer=printer(), films=2)
    sound(made, scaled)
    held(made, scaled, on.web_refuse_mm)
    if scale == 1.0:  # the slowest check; the other scales have it on the samples
        weak_places_are_listed(made, scaled, on.web_warn_mm)
