"""What each drawn mark is: lead, paint, or glass; by the roles map, by name, by colour."""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from glasswork.cielab import XYZ_OF_SRGB, decode_srgb
from glasswork.errors import DrawingError
from glasswork.model.geometry import Point
from glasswork.model.window import LineArt, Mark, Role
from glasswork.planar import Cap, Join, Pen

_STROKE_RULE = re.compile(r"stroke\s*(>=|<=|>|<|=)\s*([\d.]+)\s*(?:mm)?\Z")
_CAPS: dict[str, Cap] = {"butt": "flat", "round": "round", "square": "square"}
_JOINS: dict[str, Join] = {"miter": "mitre", "round": "round", "bevel": "bevel"}
_GLASS = {"glass", "pane", "panes"}
_PLURALS = {f"{role.value}s": role for role in Role} | {role.value: role for role in Role}

DARKEST_GLASS = 0.11
"""Relative luminance under which a drawn colour is a lead, if it is hardly coloured."""


class Ink(StrEnum):
    """lead : opaque leading · light : hides what lies under it · paint : painted on the glass."""

    LEAD = "lead"
    LIGHT = "light"
    PAINT = "paint"


class Stroke(Struct, frozen=True, kw_only=True):
    """One lead line: its points, pen and role, if the drawing tells one; order of painting."""

    points: tuple[Point, ...]
    closed: bool
    pen: Pen
    role: Role | None
    order: int


@lru_cache(maxsize=4096)
def is_dark(colour: str) -> bool:
    """The colour of leads: nearly black, or a dark grey.

    Source: relative luminance of sRGB [wcag-luminance]; the limits are our own
    """
    code = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    light = float(XYZ_OF_SRGB[1] @ decode_srgb(code))
    coloured = max(code) - min(code)
    return (light < 0.02 and coloured < 0.35) or (light < DARKEST_GLASS and coloured < 0.12)


def dark_fill(mark: Mark) -> bool:
    """Whether a mark is filled with the colour of leads; a shape named glass or pane is glass."""
    if mark.fill is None or not is_dark(mark.fill):
        return False
    return not any(name.lower() in _GLASS for name in mark.names)


def paint_tone(colour: str | None) -> float:
    """How opaque a painted mark is meant: 1 where its colour is dark, less the paler it is."""
    if colour is None or is_dark(colour):
        return 1.0
    light = sum(int(colour[i : i + 2], 16) for i in (1, 3, 5)) / (3.0 * 255.0)
    return max(0.05, 1.0 - light)


class Roles:
    """The roles map of a project, and the names that speak for themselves.

    Raises: DrawingError, if the map names an unknown role or a rule that cannot be read
    """

    def __init__(self, roles: Mapping[str, str], *, where: str) -> None:
        known = ", ".join(role.value for role in Role)
        self._named: dict[str, Role] = {}
        self._rules: list[tuple[str, float, Role]] = []
        for key, value in roles.items():
            if value not in _PLURALS:
                raise DrawingError(
                    f"{where}, roles", f'"{key}" is given the role "{value}"', f"known: {known}"
                )
            rule = _STROKE_RULE.match(key.strip())
            if rule:
                self._rules.append((rule.group(1), float(rule.group(2)), _PLURALS[value]))
            else:
                self._named[key.strip().lower().lstrip("#.")] = _PLURALS[value]
        self._used: set[str] = set()

    def of(self, mark: Mark) -> Role | None:
        """The mark's role, if the map or one of its names tells it."""
        if not mark.names and not self._rules:
            return None
        names = [name.lower() for name in mark.names]
        for name in names:
            if name in self._named:
                self._used.add(name)
                return self._named[name]
        for sign, width, role in self._rules:
            if mark.stroke is not None and _meets(mark.width_mm, sign, width):
                return role
        for name in names:
            if name in _PLURALS:
                return _PLURALS[name]
        return None

    def unused(self) -> tuple[str, ...]:
        """Names in the map that no mark bears."""
        return tuple(sorted(set(self._named) - self._used))


def _meets(value: float, sign: str, limit: float) -> bool:
    near = abs(value - limit) < 1e-6
    return {
        ">=": value > limit or near,
        "<=": value < limit or near,
        ">": value > limit and not near,
        "<": value < limit and not near,
        "=": near,
    }[sign]


def pen_of(mark: Mark) -> Pen:
    return Pen(
        width_mm=mark.width_mm,
        cap=_CAPS.get(mark.cap, "flat"),
        join=_JOINS.get(mark.join, "mitre"),
        mitre_limit=mark.miter_limit,
    )


def scaled(art: LineArt, factor: float) -> LineArt:
    """The drawing with its strokes' widths kept in proportion, every length multiplied."""
    if factor == 1.0:
        return art
    return replace(
        art,
        size_mm=(art.size_mm[0] * factor, art.size_mm[1] * factor),
        marks=tuple(_scaled_mark(mark, factor) for mark in art.marks),
    )


def _scaled_mark(mark: Mark, k: float) -> Mark:
    from glasswork.model.geometry import Affine

    grow = Affine.scale(k)
    return replace(
        mark,
        paths=tuple((grow.ring(points), closed) for points, closed in mark.paths),
        area=tuple(region.mapped(grow) for region in mark.area),
        width_mm=mark.width_mm * k,
        dashes_mm=tuple(d * k for d in mark.dashes_mm),
        dash_offset_mm=mark.dash_offset_mm * k,
    )
