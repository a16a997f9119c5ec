"""The light plan: where LEDs go for even light, what resistor they need, how long they run.

A diode that shines like a matt surface lights a plane at depth z, at the angle θ, with
E = I₀ cos⁴θ / z². Written as E ∝ zᵐ / rᵐ⁺² [moreno2006] that is m = 2 on a parallel plane: one
factor cos θ from the diode and one from the plane. (m = 1 counts only one of them and spaces LEDs
a tenth too wide.)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, cos, floor, log10, radians, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.colour.separate import glass_areas, print_glasses
from glasswork.errors import ProfileError
from glasswork.model.backlight import Backlight, BulbRow, Led, Resistor, Running
from glasswork.model.cautions import CAUTIONS
from glasswork.model.film import PrinterProfile, Separation
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette
from glasswork.model.window import Window
from glasswork.model.words import counted

LAMBERT_M: Final = 2.0
"""Exponent m of a matt emitter above a parallel plane: cos⁴ in all."""

SIGN_LM_PER_M2: Final = 2691.0
"""Light that a lit sign wants on its face. Source: [sign-lumens]"""

_PITCH_WITHIN: Final = 1e-6
"""How near the widest pitch is sought, as a share of the depth."""
E24: Final = (
    *(1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0),
    *(3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1),
)
"""Steps of a decade of resistors (IEC 60063, from memory)."""

_RATINGS_MW: Final = (62.5, 125.0, 250.0, 500.0, 1000.0, 2000.0)
_WALL: Final = 0.85
_HEADROOM: Final = 0.08
"""Share of the supply that must be left for the resistor, so that it can steady the current."""

_SPOTTY: Final = 0.85
"""Below this evenness of neighbouring LEDs spots are seen [common practice]."""

COIN_MA: Final = 0.2
"""What a CR2032 coin cell may give for long. Source: [coin-drain]"""

_CELLS: Final = (("3 AA cells", 2000.0, 4.5), ("4 AA cells", 2000.0, 6.0))
"""Name, mAh at a modest drain, volts when new [from memory]."""


# -- light on a plane ----------------------------------------------------------------------------


def falloff(theta_deg: float) -> float:
    """Light of one diode at an angle, over that right under it, same depth: cos⁴θ."""
    return cos(radians(theta_deg)) ** 4


def pair_spacing_mm(depth_mm: float, *, m: float = LAMBERT_M) -> float:
    """Widest spacing of two diodes whose light has no dip between them. Source: [moreno2006]"""
    return depth_mm * sqrt(4.0 / (m + 3.0))


def square_spacing_mm(depth_mm: float, *, m: float = LAMBERT_M) -> float:
    """The same for four in a square. Source: [moreno2006]"""
    return depth_mm * sqrt(4.0 / (m + 2.0))


def row_spacing_mm(depth_mm: float, *, m: float = LAMBERT_M) -> float:
    """The same for a long row. Source: [moreno2006]"""
    return depth_mm * sqrt(3.2773 / (m + 4.2539))


def grid_evenness(pitch_mm: tuple[float, float], depth_mm: float) -> float:
    """Least over most light on a bare plane before a large grid of diodes."""
    (px, py), z = pitch_mm, depth_mm
    reach = 12
    i = np.arange(-reach, reach + 1)
    u = np.linspace(0.0, 0.5, 13)
    dx = (u[:, None] - i[None, :]) * px
    dy = (u[:, None] - i[None, :]) * py
    square = dx[:, None, :, None] ** 2 + dy[None, :, None, :] ** 2 + z * z
    light = (z**LAMBERT_M / square ** (LAMBERT_M / 2.0 + 1.0)).sum(axis=(2, 3))
    return float(light.min() / light.max())


def pitch_for_evenness(evenness: float, depth_mm: float) -> float:
    """Widest pitch of a large square grid that keeps this evenness.

    Raises: ProfileError, if the evenness is not between 0.1 and 0.99
    """
    if not 0.1 <= evenness <= 0.99:
        raise ProfileError("evenness", f"{evenness:g} is not between 0.1 and 0.99", "0.9 is good")
    low, high = 0.3, 4.0
    while high - low > _PITCH_WITHIN:
        middle = (low + high) / 2.0
        if grid_evenness((middle, middle), 1.0) >= evenness:
            low = middle
        else:
            high = middle
    return low * depth_mm


def light_on_panel(plan: Backlight, *, px_per_mm: float) -> NDArray[np.float32]:
    """Light on the diffuser, most of it 1, (rows, columns) over the plan's size.

    Every diode, and its mirror images in the box's white walls, which keep 85 % of it.
    """
    wide, high = plan.size_mm
    columns, rows = (max(2, round(side * px_per_mm)) for side in plan.size_mm)
    x = (np.arange(-(-columns // 2)) + 0.5) / px_per_mm
    y = (np.arange(-(-rows // 2)) + 0.5) / px_per_mm
    along, wall_x = _images(sorted({place[0] for place in plan.places}), wide)
    down, wall_y = _images(sorted({place[1] for place in plan.places}), high)
    dx2 = ((x[None, :] - along[:, None]) ** 2)[:, None, :]
    light = np.zeros((len(y), len(x)))
    for place, kept in zip(down, wall_y, strict=True):
        away = (y[:, None] - place) ** 2 + plan.depth_mm**2
        fallen = 1.0 / (dx2 + away[None]) ** (LAMBERT_M / 2.0 + 1.0)  # a square, not a power
        light += kept * np.tensordot(wall_x, fallen, axes=1)
    share = (light / light.max()).astype(np.float32)
    return _mirrored(_mirrored(share, rows).T, columns).T


def _mirrored(half: NDArray[np.float32], rows: int) -> NDArray[np.float32]:
    """The whole of what is the same from both ends; the grid of diodes is."""
    return np.concatenate([half, half[::-1][rows % 2 :]])


def _images(
    places: Sequence[float], side: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places and their mirror images up to the second wall, with what the walls keep."""
    own = np.asarray(places)
    images = [(own, 1.0), (-own, _WALL), (2.0 * side - own, _WALL)]
    images += [(own - 2.0 * side, _WALL**2), (own + 2.0 * side, _WALL**2)]
    kept = np.concatenate([np.full(len(own), share) for _, share in images])
    return np.concatenate([place for place, _ in images]), kept


# -- current -------------------------------------------------------------------------------------


def series_resistor(supply_v: float, led: Led, *, in_series: int = 1) -> Resistor:
    """The resistor of a string: R = (Vs - n·Vf) / I. Source: [led-resistor]

    Raises: ProfileError, if the string needs all of the supply's voltage or more
    """
    left = supply_v - in_series * led.forward_v
    if left <= 0.0:
        raise ProfileError(
            "light",
            f"{counted(in_series, 'LED')} of {led.forward_v:g} V in series: "
            f"{in_series * led.forward_v:g} V, the supply gives {supply_v:g} V",
            "put fewer in series, or take a supply of more volts",
        )
    exact = left / (led.current_ma / 1000.0)
    ohm = _e24_from(exact)
    current = left / ohm
    power = 1000.0 * left * current
    needed = 2.0 * power
    rating = next((r for r in _RATINGS_MW if r >= needed), needed)
    return Resistor(
        exact_ohm=exact, ohm=ohm, current_ma=1000.0 * current, power_mw=power, rating_mw=rating
    )


def _e24_from(ohm: float) -> float:
    """The first E24 value not below this one."""
    decade = 10.0 ** floor(log10(ohm))
    steps = [step * decade * ten for ten in (1.0, 10.0) for step in E24]
    return float(next(round(value, 9) for value in steps if value >= ohm * (1.0 - 1e-9)))


def running_hours(capacity_mah: float, current_ma: float) -> float:
    """Hours a cell lasts, at best: capacity over current."""
    return capacity_mah / current_ma


def coin_cell(current_ma: float) -> Running:
    """What a CR2032 makes of it: refused above its rating.

    Source: [coin-capacity], [coin-drain]
    """
    if current_ma > COIN_MA:
        return Running(
            supply="CR2032 coin cell",
            hours=None,
            advice=f"not for {current_ma:.0f} mA: it is rated for about {COIN_MA:g} mA for long",
        )
    return Running(supply="CR2032 coin cell", hours=running_hours(225.0, current_ma))


# -- the plan ------------------------------------------------------------------------------------


def plan_backlight(
    size_mm: tuple[float, float],
    separation: Separation,
    areas: Mapping[str, float],
    *,
    depth_mm: float = 30.0,
    evenness: float = 0.9,
    supply_v: float = 5.0,
    led: Led | None = None,
    strip_pitch_mm: float = 0.0,
) -> Backlight:
    """LEDs behind the panel for a wanted evenness.

    areas : area of each glass in the window, mm²
    strip_pitch_mm : of an LED strip to be cut; 0 for single LEDs
    Raises: ProfileError, if a length is not above 0, the evenness is out of bounds, or the supply
        is too low for one LED
    """
    diode = led or Led()
    for name, value in (("width", size_mm[0]), ("height", size_mm[1]), ("depth", depth_mm)):
        if not value > 0.0:
            raise ProfileError("light", f"{name} {value:g} mm is not above 0", "give it in mm")
    widest = pitch_for_evenness(evenness, depth_mm)
    columns, rows = (max(1, ceil(side / widest - 1e-9)) for side in size_mm)
    pitch = (size_mm[0] / columns, size_mm[1] / rows)
    count = columns * rows
    in_series = max(1, floor(supply_v * (1.0 - _HEADROOM) / diode.forward_v))
    in_series = min(in_series, count)
    resistor = series_resistor(supply_v, diode, in_series=in_series)
    strings = ceil(count / in_series)
    current = strings * resistor.current_ma
    throughput = mean_throughput(separation, areas)
    area_m2 = size_mm[0] * size_mm[1] * 1e-6
    lumens = count * diode.lumens * resistor.current_ma / diode.current_ma / area_m2
    return Backlight(
        size_mm=size_mm,
        depth_mm=depth_mm,
        pitch_mm=pitch,
        columns=columns,
        rows=rows,
        places=tuple(
            ((i + 0.5) * pitch[0], (j + 0.5) * pitch[1])
            for j in range(rows)
            for i in range(columns)
        ),
        evenness=grid_evenness(pitch, depth_mm),
        led=diode,
        supply_v=supply_v,
        in_series=in_series,
        strings=strings,
        resistor=resistor,
        strip_mm=count * strip_pitch_mm,
        current_ma=current,
        power_w=supply_v * current / 1000.0,
        throughput=throughput,
        lumens_per_m2=lumens,
        running=_running(current, supply_v),
        advice=_advice(lumens, grid_evenness(pitch, depth_mm), separation),
        cautions=CAUTIONS[3:],
    )


def mean_throughput(separation: Separation, areas: Mapping[str, float]) -> float:
    """Light let out over light let in, averaged over the area of the glass."""
    total = sum(areas.values())
    shares = (
        areas.get(glass.glass, 0.0) / total * 10.0 ** (-glass.visual)
        for glass in separation.glasses
    )
    return separation.throughput * float(sum(shares))


def suit_bulbs(
    window: Window,
    palette: Palette,
    profile: PrinterProfile,
    lights: Sequence[Light],
    *,
    films: int,
) -> tuple[BulbRow, ...]:
    """Which light suits the palette: the films solved anew for each, best first."""
    areas = glass_areas(window)
    glasses = [glass for glass in palette.glasses if glass.id in areas]
    share = np.array([areas[glass.id] for glass in glasses])
    return _ranked(glasses, share / share.sum(), profile, lights, films=films)


def suit_palette(
    palette: Palette, profile: PrinterProfile, lights: Sequence[Light], *, films: int
) -> tuple[BulbRow, ...]:
    """The same for a palette, every glass counted alike."""
    glasses = palette.glasses
    share = np.full(len(glasses), 1.0 / len(glasses))
    return _ranked(glasses, share, profile, lights, films=films)


def _ranked(
    glasses: Sequence[Glass],
    share: NDArray[np.float64],
    profile: PrinterProfile,
    lights: Sequence[Light],
    *,
    films: int,
) -> tuple[BulbRow, ...]:
    rows = []
    for light in lights:
        off = print_glasses(glasses, profile, light, films=films).off
        rows.append(
            BulbRow(
                light=light.name,
                title=light.title,
                mean_delta_e00=float(share @ off),
                area_within_3=float(share @ (off <= 3.0)),
            )
        )
    return tuple(sorted(rows, key=lambda row: (row.mean_delta_e00, row.light)))


def _running(current_ma: float, supply_v: float) -> tuple[Running, ...]:
    usb = Running(
        supply=f"{supply_v:g} V supply, ready-made",
        hours=None,
        advice=f"rated for at least {ceil(current_ma * 1.25 / 100.0) * 100} mA",
    )
    cells = tuple(
        Running(supply=name, hours=running_hours(mah, current_ma))
        for name, mah, volts in _CELLS
        if 0.88 * supply_v <= volts <= 1.02 * supply_v
    )
    return (usb, *cells, coin_cell(current_ma))


def _advice(lumens: float, evenness: float, separation: Separation) -> tuple[str, ...]:
    found = [
        "line the box with white card; the diffuser goes next to the film, not next to the LEDs"
    ]
    if lumens < SIGN_LM_PER_M2:
        found.append(
            f"{lumens:.0f} lm/m² falls on the diffuser; {SIGN_LM_PER_M2:.0f} is what a lit sign "
            "wants by day: dim the room or take brighter LEDs"
        )
    if evenness < _SPOTTY:
        found.append(
            f"evenness {100.0 * evenness:.0f} %: spots will show by eye; more depth or more LEDs "
            "make them melt into each other"
        )
    if separation.count > 1:
        found.append(
            f"{separation.count} bare films let {100.0 * separation.throughput:.0f} % of the light "
            "through before any ink"
        )
    return tuple(found)
