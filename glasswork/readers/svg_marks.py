"""Marks of an SVG: what fills cover, strokes that a map distorts, what a clip leaves."""

from __future__ import annotations

from math import hypot, isfinite, sqrt
from typing import TypedDict

from msgspec.structs import replace

from glasswork.model.geometry import Affine, Point, Regions, sound_region
from glasswork.model.window import Mark
from glasswork.planar import Area, Pen, drawn, filled
from glasswork.readers.svg_frame import Frame, length
from glasswork.readers.svg_path import numbers

DISTORTED = 1.002
"""A map that scales one way by 1.065 times the other; strokes under less are even enough."""

STROKE_KEYS = (
    "stroke-dasharray",
    "stroke-dashoffset",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
)
"""What tells how a stroke is drawn, beside its width."""

Paths = tuple[tuple[tuple[Point, ...], bool], ...]
"""Flattened subpaths in mm, each with its closed flag."""


class Look(TypedDict):
    """How a mark's stroke is drawn, as in `Mark`."""

    width_mm: float
    cap: str
    join: str
    dashes_mm: tuple[float, ...]
    dash_offset_mm: float
    miter_limit: float


def look_of(
    style: dict[str, str], frame: Frame, *, width_mm: float, scale: float, where: str
) -> Look:
    """How a stroke is drawn; scale : millimetres to a unit of its dashes.

    Raises: ReadError, if a length is none
    """
    size = hypot(*frame) / sqrt(2.0)
    dashes = tuple(
        length(v, size, where=where) * scale
        for v in style.get("stroke-dasharray", "none").replace(",", " ").split()
        if v != "none"
    )
    if sum(dashes) <= 0.0 or min(dashes) < 0.0:
        dashes = ()
    return Look(
        width_mm=width_mm,
        cap=style.get("stroke-linecap", "butt"),
        join=style.get("stroke-linejoin", "miter"),
        dashes_mm=dashes * (2 if len(dashes) % 2 else 1),
        dash_offset_mm=length(style.get("stroke-dashoffset", "0"), size, where=where) * scale,
        miter_limit=number(style.get("stroke-miterlimit", "4"), 4.0),
    )


def evened(mark: Mark, ctm: Affine) -> list[Mark]:
    """The mark; its stroke as an area if the map draws it wider one way than the other."""
    if mark.stroke is None:
        return [mark]
    a, b, c, d, _, _ = ctm
    half = (a * a + b * b + c * c + d * d) / 2.0
    det = abs(a * d - b * c)
    if mark.dashes_mm or det <= 0.0 or half <= DISTORTED * det:
        return [mark]
    back = ctm.inverse()
    pen = Pen(
        width_mm=mark.width_mm / sqrt(det),
        cap="flat" if mark.cap == "butt" else "round" if mark.cap == "round" else "square",
        join="mitre" if mark.join == "miter" else "round" if mark.join == "round" else "bevel",
        mitre_limit=mark.miter_limit,
    )
    lines = [(back.ring(points), closed) for points, closed in mark.paths]
    area = drawn(lines, [pen] * len(lines)).joined().mapped(ctm)
    alone = replace(mark, stroke=None, width_mm=0.0)
    return [alone, replace(alone, area=area.regions(), fill=mark.stroke)]


def covered(rings: list[tuple[Point, ...]], *, nonzero: bool) -> Regions:
    """What subpaths cover; a convex one is itself, which most panes are."""
    if len(rings) == 1 and _is_convex(rings[0]):
        return (sound_region(rings[0]),)
    return filled(rings, nonzero=nonzero).regions()


def _is_convex(ring: tuple[Point, ...]) -> bool:
    """Few corners that all turn the same way, once round, and some area."""
    if not 3 <= len(ring) <= 12:
        return False
    turns = []
    flips = 0
    (ax, ay), (bx, by) = ring[-2], ring[-1]
    side = bx > ax
    for cx, cy in ring:
        turns.append((bx - ax) * (cy - by) - (by - ay) * (cx - bx))
        flips += (cx > bx) != side
        side = cx > bx
        ax, ay, bx, by = bx, by, cx, cy
    return flips <= 2 and (min(turns) > 1e-12 or max(turns) < -1e-12)


def within(clip: Area | None, other: Area) -> Area:
    return other if clip is None else clip & other


def clipped(mark: Mark, clip: Area | None) -> list[Mark]:
    """The mark inside the clip: as it is, or as areas if the clip cuts it."""
    if clip is None:
        return [mark]
    reach = mark.width_mm * max(1.0, mark.miter_limit) / 2.0
    reached = Area.union(
        [*(Area.of((region,)) for region in mark.area)]
        + [Area.stroke(p, 2.0 * reach) for p, _ in mark.paths if mark.stroke and len(p) > 1]
    )
    if (reached - clip).is_empty:
        return [mark]
    found = []
    inner = Area.of(mark.area) & clip if mark.area else Area.empty()
    if mark.fill is not None and not inner.is_empty:
        found.append(replace(mark, area=inner.regions(), stroke=None, width_mm=0.0))
    if mark.stroke is not None:
        ink = Area.union(
            Area.stroke(p, mark.width_mm, closed=closed) for p, closed in mark.paths if len(p) > 1
        )
        cut = ink & clip
        if not cut.is_empty:
            found.append(
                replace(mark, area=cut.regions(), fill=mark.stroke, stroke=None, width_mm=0.0)
            )
    return found


def number(text: str, default: float) -> float:
    found = numbers(text)
    return found[0] if found and isfinite(found[0]) else default


def share(text: str) -> float:
    value = number(text, 1.0)
    return max(0.0, min(1.0, value / 100.0 if text.strip().endswith("%") else value))
