"""What the page shows of a job: plain shapes and words, ready to be sent to the browser.

Shapes are path data made of our own numbers: nothing of an uploaded file is passed through.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from msgspec import Struct

from glasswork.model.finding import Finding
from glasswork.model.geometry import Point, Regions, Ring

TILE_MM: Final = 51.2
"""Side of a tile of a surface; its right edge meets its left, its bottom its top."""


def ring_d(ring: Ring | tuple[Point, ...], *, closed: bool = True) -> str:
    """A ring or line as path data."""
    steps = "L".join(f"{x:.3f} {y:.3f}" for x, y in ring)
    return f"M{steps}{'Z' if closed else ''}"


def regions_d(regions: Regions) -> str:
    """Regions with their holes as path data; to be filled even-odd."""
    return "".join(ring_d(ring) for region in regions for ring in region.rings)


class PaneSketch(Struct, frozen=True, kw_only=True):
    """glass : what the drawing or the even scheme gives, where the maker chose nothing"""

    id: str
    d: str
    area_mm2: float
    seed: Point
    glass: str


class MemberSketch(Struct, frozen=True, kw_only=True):
    """One length of the leading.

    role : that it has · told : that the drawing and the roles table tell
    key : the roles entry that would change it for all drawn like it: a name, or a width
    """

    id: str
    role: str
    told: str
    width_mm: float
    d: str
    middle: Point
    key: str


class Sketch(Struct, frozen=True, kw_only=True):
    """A drawing as understood: with a window where it makes one, always with what was found.

    art : (path data, stroke, stroke width, fill) of each drawn thing, panel mm
    """

    size_mm: tuple[float, float]
    panes: tuple[PaneSketch, ...]
    members: tuple[MemberSketch, ...]
    paint: str
    outline: str
    art: tuple[tuple[str, str | None, float, str | None], ...]
    findings: tuple[Finding, ...]
    vector: bool

    @property
    def usable(self) -> bool:
        return bool(self.panes)


class DrawnSketch(Struct, frozen=True, kw_only=True):
    """A window drawn from measures, and the drawing it makes.

    glass : (path data, "#rrggbb"), what comes later lies over it
    leads : (path data, width, role), in the order they are drawn
    solid : path data of what is filled with lead · said : the measures given, in words
    """

    title: str
    size_mm: tuple[float, float]
    glass: tuple[tuple[str, str], ...]
    leads: tuple[tuple[str, float, str], ...]
    solid: str
    notes: tuple[str, ...]
    said: str
    svg: bytes


class Group(Struct, frozen=True, kw_only=True):
    """Findings that differ in their numbers only. what, hint : of the first of them"""

    severity: str
    where: str
    what: str
    hint: str
    count: int
    places: tuple[Point, ...]


def grouped(findings: Iterable[Finding]) -> tuple[Group, ...]:
    """Findings of a kind together, in the order they were told."""
    kinds: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        kind = (finding.severity.value, re.sub(r"[A-Z]?\d[\d.,]*", "", finding.what))
        kinds.setdefault(kind, []).append(finding)
    return tuple(
        Group(
            severity=group[0].severity.value,
            where=group[0].where,
            what=group[0].what,
            hint=group[0].hint,
            count=len(group),
            places=tuple(one.place for one in group if one.place is not None),
        )
        for group in kinds.values()
    )


class Look(Struct, frozen=True, kw_only=True):
    """A glass through one, two or three films. lit, unlit, by_hand : linear sRGB, 0-1"""

    lit: tuple[float, float, float]
    unlit: tuple[float, float, float]
    by_hand: tuple[float, float, float]
    delta_e00: float
    in_reach: bool
    sentence: str


class GlassRow(Struct, frozen=True, kw_only=True):
    """A palette entry as the page lists it. wanted : "#rrggbb" before a clear light"""

    id: str
    title: str
    finish: str
    wanted: str
    note: str


class Shelf(Struct, frozen=True, kw_only=True):
    """The palette through the stack. looks : by films, by glass · tint : of the light, linear

    leads : printed leads, lit, linear, by films
    """

    glasses: tuple[GlassRow, ...]
    looks: dict[int, dict[str, Look]]
    leads: dict[int, tuple[float, float, float]]
    tint: tuple[float, float, float]
    light: str
    printer: str
    palette: str


class Tally(Struct, frozen=True, kw_only=True):
    """What the window's own glasses need. table : (films, mean ΔE00, share within 3)

    instead : glass out of reach, and one that could stand in
    """

    count: int
    table: tuple[tuple[int, float, float], ...]
    findings: tuple[Finding, ...]
    instead: dict[str, str]


class LayerSketch(Struct, frozen=True, kw_only=True):
    """A frame layer in panel mm, seen from the front."""

    file: str
    face: str
    level: str
    board: str
    thickness_mm: float
    pieces: int
    min_web_mm: float
    d: str


class SheetSketch(Struct, frozen=True, kw_only=True):
    """A nested sheet in bed mm."""

    number: int
    bed_mm: tuple[float, float]
    board: str
    used: float
    parts: tuple[str, ...]


class FrameSketch(Struct, frozen=True, kw_only=True):
    """The frame as planned.

    layers : those of the tray too, where one is cut · opening : path data of its edge, if known
    weak : (place, what) · exposed : (place, what) · stack : (layer, mm), front to back
    """

    films: int
    layers: tuple[LayerSketch, ...]
    made: dict[str, tuple[str, str]]
    printed: str
    weak: tuple[tuple[Point, str], ...]
    exposed: tuple[tuple[Point, str], ...]
    stack: tuple[tuple[str, float], ...]
    panel_mm: tuple[float, float]
    thickness_mm: float
    recess_mm: float | None
    spare_mm: float | None
    rss_mm: float
    worst_mm: float
    cover_mm: float
    sheets: tuple[SheetSketch, ...]
    opening: str
    findings: tuple[Finding, ...]


class StripRead(Struct, frozen=True, kw_only=True):
    """A photo of a strip as read. marked : PNG of what was read where"""

    data: bytes
    marked: bytes
    films: int
    patches: int
    notes: tuple[str, ...]
    doubtful: tuple[tuple[str, str], ...]


class Fitted(Struct, frozen=True, kw_only=True):
    """A printer profile made of readings. errors : (what, mean ΔE00, p95)

    plots : PNG, or nothing where it was judged by eye · inside : its path in the project
    """

    profile: bytes
    findings: tuple[Finding, ...]
    plots: bytes = b""
    errors: tuple[tuple[str, float, float], ...] = ()
    inside: str = ""


class StripCheck(Struct, frozen=True, kw_only=True):
    """A strip against a profile. mean, p95 : ΔE00 of one film, read against predicted

    printer, light : what it was compared with · changed : what is other now, in sentences
    """

    read: StripRead
    printer: str
    light: str
    holds: bool
    mean: float
    p95: float
    changed: tuple[str, ...]
