"""The light box behind the panel: what to buy, where it goes, what it draws."""

from __future__ import annotations

from msgspec import Struct

from glasswork.model.geometry import Point


class Led(Struct, frozen=True, kw_only=True):
    """One light-emitting diode as its data sheet gives it.

    forward_v : voltage across it at its current; lumens : its flux
    """

    forward_v: float = 3.2
    current_ma: float = 20.0
    lumens: float = 7.0


class Resistor(Struct, frozen=True, kw_only=True):
    """A series resistor.

    exact_ohm : by Ohm's law; ohm : the next larger value of the E24 series
    power_mw : turned to heat with that value; rating_mw : at least twice that
    """

    exact_ohm: float
    ohm: float
    current_ma: float
    power_mw: float
    rating_mw: float


class Running(Struct, frozen=True, kw_only=True):
    """How long a supply lasts. hours is None where it is not to be used, or mains-fed."""

    supply: str
    hours: float | None
    advice: str = ""


class Backlight(Struct, frozen=True, kw_only=True):
    """The light plan.

    size_mm : inside of the light box, that of the panel
    depth_mm : from the LEDs to the diffuser
    pitch_mm : across and down; the outer LEDs stand half a pitch from the white walls
    places : each LED, panel mm seen from the front
    evenness : least over most light on the bare diffuser's plane
    in_series, strings : LEDs on one resistor, and how many such strings
    strip_mm : length of LED strip with this many LEDs, at its pitch; 0 if none is asked for
    throughput : light that the lit panel lets out, of what falls on the film, averaged over glass
    lumens_per_m2 : flux on the diffuser
    """

    size_mm: tuple[float, float]
    depth_mm: float
    pitch_mm: tuple[float, float]
    columns: int
    rows: int
    places: tuple[Point, ...]
    evenness: float
    led: Led
    supply_v: float
    in_series: int
    strings: int
    resistor: Resistor
    strip_mm: float
    current_ma: float
    power_w: float
    throughput: float
    lumens_per_m2: float
    running: tuple[Running, ...]
    advice: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def count(self) -> int:
        return self.columns * self.rows


class BulbRow(Struct, frozen=True, kw_only=True):
    """What one light would do for the palette: mean ΔE00 and share of the glass area within 3."""

    light: str
    title: str
    mean_delta_e00: float
    area_within_3: float
