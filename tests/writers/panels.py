"""A panel built by hand for the previews: the invented Varnholt mole light at dusk.

Sky, sun, lighthouse rays, sea and reeds under a pointed arch, glazed with invented colours.
"""

from __future__ import annotations

from functools import cache
from math import cos, pi, sin, sqrt

from glasswork.framing.plan import plan_frame
from glasswork.model.film import FilmBlack, GlassOnFilm, PrinterProfile, Separation
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Point, Region
from glasswork.model.window import Member, Pane, Role, Window
from glasswork.planar import Area
from glasswork.readers.board import read_board
from glasswork.readers.cutter import read_cutter

WIDTH, HEIGHT, BORDER = 120.0, 180.0, 7.0

LIT = {
    "ruby": (0.38, 0.010, 0.014),
    "amber": (0.86, 0.40, 0.035),
    "gold": (0.93, 0.66, 0.16),
    "flesh": (0.90, 0.62, 0.44),
    "sky": (0.20, 0.45, 0.78),
    "cobalt": (0.016, 0.055, 0.42),
    "deep": (0.010, 0.12, 0.22),
    "kelp": (0.05, 0.22, 0.05),
    "reed": (0.36, 0.52, 0.10),
    "teal": (0.02, 0.32, 0.33),
    "clear": (0.97, 0.97, 0.93),
}
"""Invented lit colours, linear light, white = the lit clear stack."""


def arch(width: float, height: float, *, chords: int = 40) -> Region:
    """A two-centred pointed arch on upright jambs."""
    rise = width * sqrt(3.0) / 2.0
    left = [
        (width - width * cos(k * pi / 3 / chords), rise - width * sin(k * pi / 3 / chords))
        for k in range(chords + 1)
    ]
    right = [(width - x, y) for x, y in reversed(left[:-1])]
    return Region(((0.0, height), *left, *right, (width, height)))


def _wave(y: float, swell: float, phase: float) -> tuple[Point, ...]:
    return tuple((x, y + swell * sin(x / 13.0 + phase)) for x in [k * 2.0 - 2 for k in range(64)])


def _ray(centre: Point, angle: float) -> tuple[Point, ...]:
    x, y = centre
    return (
        (x + 15 * cos(angle), y + 15 * sin(angle)),
        (x + 200 * cos(angle), y + 200 * sin(angle)),
    )


@cache
def mole_light(*, lead_mm: float = 2.4, thin_mm: float = 0.7) -> Window:
    """About fifty panes: cut border, mullion, bar and leads, and printed thin leads."""
    outline = arch(WIDTH, HEIGHT)
    whole = Area.of((outline,))
    inside = whole.grown(-BORDER)
    sun = (WIDTH / 2, 78.0)
    disc = tuple(
        (sun[0] + 16 * cos(k * pi / 40), sun[1] + 16 * sin(k * pi / 40)) for k in range(81)
    )
    sky = Area.of((Region(((-9, -9), (130, -9), (130, 112), (-9, 112))),))
    strokes: list[tuple[tuple[Point, ...], float, Role, Area | None]] = [
        (((WIDTH / 2, -9), (WIDTH / 2, 190)), 5.0, Role.MULLION, None),
        (((-9, 114), (130, 114)), 4.0, Role.BAR, None),
        (disc, lead_mm, Role.LEAD, None),
        *(
            (_ray(sun, k * pi / 6), lead_mm, Role.LEAD, sky)
            for k in (6.5, 7.4, 8.3, 9.7, 10.6, 11.5)
        ),
        *((_wave(y, 3.0, y), lead_mm, Role.LEAD, None) for y in (126.0, 141.0, 156.0)),
        *(
            ((x, 160 - bend), (x + bend / 4, 190))
            and (((x, 120 + bend), (x + bend / 3, 190)), thin_mm, Role.LEAD, None)
            for x, bend in ((22.0, 9.0), (34.0, 17.0), (82.0, 12.0), (97.0, 20.0))
        ),
    ]
    left, members = inside, []
    members.append(
        Member(id="border", role=Role.BORDER, width_mm=BORDER, area=(whole - inside).regions())
    )
    for number, (line, width, role, within) in enumerate(strokes, start=1):
        strip = Area.stroke(line, width) & left
        strip = strip & within if within is not None else strip
        if strip.is_empty:
            continue
        left = left - strip
        members.append(
            Member(
                id=f"m{number}", role=role, width_mm=width, area=strip.regions(), centreline=line
            )
        )
    panes = tuple(
        Pane(
            id=f"p{n}",
            region=region,
            seed_point=Area.of((region,)).inner_point(),
            glass=_glass(n, region),
        )
        for n, region in enumerate((r for r in left.regions() if r.area_mm2 > 0.5), start=1)
    )
    return Window(name="Mole light", outline=outline, panes=panes, members=tuple(members))


def _glass(number: int, region: Region) -> str:
    x, y = region.box.centre
    if abs(x - WIDTH / 2) < 14 and 60 < y < 95:
        return "gold" if x < WIDTH / 2 else "amber"
    if y < 112:
        return ("ruby", "sky", "flesh", "cobalt", "amber", "sky")[number % 6]
    if y < 128:
        return ("teal", "sky")[number % 2]
    return ("deep", "kelp", "teal", "reed", "cobalt")[number % 5]


def separation(*, films: int = 2) -> Separation:
    """Invented device values and lit colours."""
    return Separation(
        count=films,
        identical=True,
        glasses=tuple(
            GlassOnFilm(
                glass=name,
                device=((128, 128, 128),) * films,
                target_lab=(50.0, 0.0, 0.0),
                predicted_lab=(50.0, 0.0, 0.0),
                delta_e00=0.0,
                in_reach=True,
                status_a=(1.0, 1.0, 1.0),
                visual=1.0,
                film_status_a=((0.5, 0.5, 0.5),) * films,
                lit_srgb=colour,
                ink_load=(1.0,) * films,
            )
            for name, colour in LIT.items()
        ),
        table=(),
        black=FilmBlack(
            device=((0, 0, 0),) * films,
            status_a=(4.0, 4.0, 4.0),
            visual=4.0,
            lit_srgb=(0.0, 0.0, 0.0),
            ink_load=2.4,
        ),
        throughput=0.8,
    )


def printer() -> PrinterProfile:
    """A printer of which only the sizes matter here."""
    import numpy as np

    return PrinterProfile(
        name="test",
        title="test",
        device="rgb",
        levels=((0.0, 1.0),) * 3,
        nodes=np.ones((2, 2, 2, 36)),
        curves=(((0.0, 0.0), (1.0, 1.0)),) * 3,
        n=1.5,
        base=(0.95,) * 36,
        index=1.57,
        ink_limit=2.6,
    )


@cache
def framed(window: Window, *, films: int = 2) -> FramePlan:
    """The frame of a window in 2 mm board, cut by laser."""
    from pathlib import Path

    profiles = Path(__file__).parents[2] / "profiles"
    plan, _ = plan_frame(
        window,
        read_board((profiles / "boards/chipboard-2.toml").read_bytes(), where="board"),
        read_cutter((profiles / "cutters/laser.toml").read_bytes(), where="cutter"),
        printer=printer(),
        films=films,
    )
    return plan
