"""Draws two of the samples: the ferry house and the salt works of Varnholt, from measures.

Run as `python -m tests.scripts.draw_samples sample_designs`. Invented designs; the same bytes on
every run.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from math import pi, sqrt
from pathlib import Path

from glasswork.drawing.drawn import design
from glasswork.drawing.drawn.arrange import divide
from glasswork.drawing.drawn.curves import Arc, Curve, Line, area_mm2, circle, inside, polygon
from glasswork.drawing.drawn.design import Design
from glasswork.model.window import Role

Point = tuple[float, float]
Scene = tuple[list[Curve], list[tuple[Point, str]], str]
"""Leads in a circle of radius 1 about (0, 0); colours by a place in each piece; the ground's."""

SKY, DUSK, SEA = "#7db0da", "#f0cd84", "#1c7479"
WHITE, RED, AMBER, GOLD, TAR = "#eff3e9", "#c8281f", "#d98a1f", "#e3b12d", "#8a4a2c"


def _edges(*points: Point) -> list[Curve]:
    return list(polygon(points))


def _chord(y: float) -> Line:
    return Line((-sqrt(1.0 - y * y), y), (sqrt(1.0 - y * y), y))


def ferry() -> Scene:
    """The ferry under sail, the sun behind it."""
    hull = _edges((-0.66, 0.14), (0.70, 0.14), (0.48, 0.48), (-0.46, 0.48))
    main = _edges((-0.05, -0.78), (-0.05, 0.14), (-0.58, 0.14))
    jib = _edges((0.12, -0.60), (0.52, 0.14), (0.12, 0.14))
    sun = [Arc((0.62, -0.30), 0.20, 0.0, pi), Arc((0.62, -0.30), 0.20, pi, pi)]
    leads = [*hull, *main, *jib, *sun, _chord(0.30)]
    return (
        leads,
        [
            ((0.0, 0.20), TAR),
            ((0.0, 0.40), TAR),
            ((-0.2, 0.0), WHITE),
            ((0.2, 0.0), RED),
            ((0.62, -0.30), GOLD),
            ((0.0, 0.80), SEA),
        ],
        SKY,
    )


def lighthouse() -> Scene:
    """The light of the pilot station, its beams over the water."""
    tower = _edges((-0.22, 0.36), (-0.14, -0.34), (0.14, -0.34), (0.22, 0.36))
    lamp = _edges((-0.17, -0.34), (-0.17, -0.58), (0.17, -0.58), (0.17, -0.34))
    roof = _edges((-0.24, -0.58), (0.0, -0.84), (0.24, -0.58))
    bands = [Line((-0.195, 0.14), (0.195, 0.14)), Line((-0.168, -0.10), (0.168, -0.10))]
    beams = [
        Line((side * 0.17, y), (side * reach, y - 0.02 + turn))
        for side in (-1.0, 1.0)
        for y, turn, reach in ((-0.54, -0.16, 0.90), (-0.38, 0.16, 1.05))
    ]
    return (
        [*tower, *lamp, *roof, *bands, *beams, _chord(0.36)],
        [
            ((0.0, 0.25), RED),
            ((0.0, 0.02), WHITE),
            ((0.0, -0.22), RED),
            ((0.0, -0.46), GOLD),
            ((0.0, -0.68), TAR),
            ((0.55, -0.46), DUSK),
            ((-0.55, -0.46), DUSK),
            ((0.0, 0.8), SEA),
        ],
        "#2f5fa6",
    )


def heap() -> Scene:
    """A heap of salt on the pan, the sun setting beside it."""
    salt = _edges((-0.78, 0.24), (-0.25, -0.48), (0.28, 0.24))
    sun = [Arc((0.60, 0.24), 0.28, pi, pi)]
    return (
        [*salt, *sun, _chord(0.24), Line((-0.25, 0.24), (-0.25, -0.48)), _chord(0.62)],
        [
            ((-0.4, 0.1), "#fbfbf7"),
            ((-0.1, 0.1), "#c3d0da"),
            ((0.68, 0.1), AMBER),
            ((0.0, 0.45), "#63b3be"),
            ((0.0, 0.85), SEA),
        ],
        "#f4e6b4",
    )


def heron() -> Scene:
    """A heron that fishes in the brine."""
    body = _edges(
        (-0.68, 0.22), (-0.28, -0.10), (0.08, -0.22), (0.32, -0.04), (0.20, 0.18), (-0.10, 0.27)
    )
    neck = _edges((0.08, -0.22), (0.13, -0.52), (0.32, -0.52), (0.32, -0.04))
    head = _edges((0.13, -0.52), (0.16, -0.74), (0.38, -0.76), (0.42, -0.56), (0.32, -0.52))
    beak = _edges((0.38, -0.76), (0.86, -0.60), (0.42, -0.56))
    wing = [Line((-0.28, -0.10), (0.20, 0.18))]
    legs = [Line((-0.02, 0.245), (0.04, 0.52)), Line((0.12, 0.205), (0.20, 0.52))]
    return (
        [*body, *neck, *head, *beak, *wing, *legs, _chord(0.52)],
        [
            ((0.1, -0.05), "#6c8298"),
            ((-0.2, 0.1), "#565c62"),
            ((0.2, -0.3), WHITE),
            ((0.26, -0.64), WHITE),
            ((0.5, -0.63), GOLD),
            ((0.0, 0.8), SEA),
        ],
        "#cde3f0",
    )


def _placed(curve: Curve, centre: Point, size: float) -> Curve:
    def at(p: Point) -> Point:
        return (centre[0] + size * p[0], centre[1] + size * p[1])

    if isinstance(curve, Line):
        return Line(at(curve.a), at(curve.b))
    return Arc(at(curve.centre), size * curve.radius, curve.start_rad, curve.sweep_rad)


def picture(window: Design, place: Arc, scene: Scene, *, rim: tuple[str, float]) -> None:
    """A scene in a round of the window, inside a rim of glass of a colour and width."""
    leads, colours, rest = scene
    colour, wide = rim
    centre, lead = place.centre, min(line.width_mm for line in window.leads)
    window.paint(circle(centre, place.radius), colour)
    size = place.radius - wide - lead
    opening = circle(centre, size)
    field = divide(opening, [_placed(curve, centre, size) for curve in leads])
    window.paint(opening, rest)
    seeds = [((centre[0] + size * x, centre[1] + size * y), c) for (x, y), c in colours]
    for seed, glass in seeds:
        window.paint(min((p for p in field.panes if inside(seed, p)), key=area_mm2), glass)
    for run in field.leads:
        window.lead(run, Role.LEAD, lead)
    window.lead(opening, Role.LEAD, lead)


def rounds(window: Design) -> list[Arc]:
    """The plain rounds of the lights, from the left."""
    found = [
        line.curves[0]
        for line in window.leads
        if line.role is Role.LEAD and line.closed and len(line.curves) == 2
    ]
    arcs = [arc for arc in found if isinstance(arc, Arc)]
    least = 0.9 * max(arc.radius for arc in arcs)
    low = [arc for arc in arcs if arc.radius >= least and arc.centre[1] > window.height_mm / 2.0]
    return sorted(low, key=lambda arc: arc.centre[0])


def ferry_house() -> bytes:
    window = design(
        "equilateral",
        width_mm=110.0,
        height_mm=172.0,
        lights=2,
        tracery="quatrefoil",
        roundel="plain",
        border_mm=6.0,
        mullion_mm=3.2,
        lead_mm=0.8,
        quarry_width_mm=12.0,
        quarry_height_mm=17.5,
        colours="dusk",
        seed=8,
    )
    _finished(window, "Ferry house, Varnholt", [ferry(), lighthouse()], rim=(GOLD, 2.6))
    return window.svg()


def salt_works() -> bytes:
    window = design(
        "casement",
        width_mm=96.0,
        height_mm=132.0,
        lights=2,
        transoms=1,
        roundel="plain",
        glass_border_mm=4.0,
        border_mm=5.0,
        mullion_mm=3.4,
        lead_mm=0.8,
        quarry_width_mm=10.0,
        quarry_height_mm=14.2,
        colours="salt",
        seed=4,
    )
    _finished(window, "Salt works casement, Varnholt", [heap(), heron()], rim=("#2f5fa6", 1.6))
    return window.svg()


def _finished(
    window: Design, title: str, scenes: Sequence[Scene], *, rim: tuple[str, float]
) -> None:
    window.title = title
    window.notes.insert(0, "Invented design for the invented harbour town of Varnholt.")
    for place, scene in zip(rounds(window), scenes, strict=True):
        picture(window, place, scene, rim=rim)


SAMPLES: dict[str, Callable[[], bytes]] = {
    "ferry-house.svg": ferry_house,
    "salt-works.svg": salt_works,
}

if __name__ == "__main__":
    for name, drawn in SAMPLES.items():
        (Path(sys.argv[1]) / name).write_bytes(drawn())
