"""What can safely be mended in a drawing, each change listed; nothing is mended unasked."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from glasswork.drawing.inks import Roles, Stroke, is_dark
from glasswork.drawing.lines import lead_strokes
from glasswork.drawing.net import build_net
from glasswork.drawing.tips import Tip, loose_tips
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Point, path_length_mm
from glasswork.model.window import LineArt, Mark

SPECK_SHARE = 0.5
"""A stroke shorter than this share of its own width is a slip of the pen."""


def repair(
    art: LineArt, *, roles: Mapping[str, str], miss_mm: float = 1.5
) -> tuple[LineArt, tuple[Finding, ...]]:
    """The drawing with doubled lines and specks removed and near-misses closed.

    miss_mm : a line that ends this near to another is drawn on to it, in the drawing's mm
    Returns: the drawing, and a remark for each change, with its place
    """
    known = Roles(roles, where=art.name)
    changes: list[Finding] = []
    art = _without_doubles(art, known, changes)
    art = _without_specks(art, changes)
    for _ in range(3):
        strokes = lead_strokes(art, known)
        if not strokes:
            break
        tips = [t for t in loose_tips(strokes, build_net(strokes)) if t.nearest[1] <= miss_mm]
        if not tips:
            break
        art = _drawn_on(art, strokes, tips, changes)
    return art, tuple(changes)


def _changed(art: LineArt, what: str, place: Point) -> Finding:
    return Finding(severity=Severity.NOTE, where=art.name, what=f"repaired: {what}", place=place)


def _without_doubles(art: LineArt, known: Roles, changes: list[Finding]) -> LineArt:
    """Of lines drawn on the same points, in one mark or several, the widest is kept."""
    places: dict[tuple[object, ...], list[tuple[int, int]]] = {}
    for m, mark in enumerate(art.marks):
        if mark.stroke is None or mark.fill is not None or mark.dashes_mm:
            continue
        for p, (points, closed) in enumerate(mark.paths):
            role = known.of(mark)
            shade = role if role is not None else is_dark(mark.stroke)
            places.setdefault((_turned(points, closed), shade), []).append((m, p))
    gone: set[tuple[int, int]] = set()
    for same in places.values():
        widest = max(same, key=lambda at: art.marks[at[0]].width_mm)
        for m, p in same:
            if (m, p) != widest:
                gone.add((m, p))
                first = art.marks[m].paths[p][0][0]
                changes.append(_changed(art, "a line drawn twice is left out once", first))
    kept = []
    for m, mark in enumerate(art.marks):
        paths = tuple(path for p, path in enumerate(mark.paths) if (m, p) not in gone)
        if paths or not mark.paths:
            kept.append(mark if len(paths) == len(mark.paths) else replace(mark, paths=paths))
    return replace(art, marks=tuple(kept))


def _turned(points: tuple[Point, ...], closed: bool) -> tuple[Point, ...]:
    """The same for a line drawn from either end, and for a ring begun anywhere."""
    ring = _rounded(points)
    if not closed:
        return min(ring, ring[::-1])
    if len(ring) > 1 and ring[0] == ring[-1]:
        ring = ring[:-1]
    ways = []
    for way in (ring, ring[::-1]):
        first = way.index(min(way))
        ways.append(way[first:] + way[:first])
    return (*min(ways), min(ways)[0])


def _rounded(points: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple((round(x, 4), round(y, 4)) for x, y in points)


def _without_specks(art: LineArt, changes: list[Finding]) -> LineArt:
    kept: list[Mark] = []
    for mark in art.marks:
        if mark.stroke is None or mark.fill is not None:
            kept.append(mark)
            continue
        paths = []
        for points, closed in mark.paths:
            long = path_length_mm(points, closed=closed)
            if long < SPECK_SHARE * mark.width_mm and len(art.marks) > 1:
                what = f"a speck of {long:.2f} mm is left out"
                changes.append(_changed(art, what, points[0]))
            else:
                paths.append((points, closed))
        if paths:
            kept.append(replace(mark, paths=tuple(paths)))
    return replace(art, marks=tuple(kept))


def _drawn_on(
    art: LineArt, strokes: list[Stroke], tips: list[Tip], changes: list[Finding]
) -> LineArt:
    """Loose ends carried to the nearest line; one of two ends that face each other."""
    marks = list(art.marks)
    done: list[Point] = []
    for tip in tips:
        to, off = tip.nearest
        if any(abs(to[0] - x) < 1e-6 and abs(to[1] - y) < 1e-6 for x, y in done):
            continue
        order = strokes[tip.stroke].order
        mark = marks[order]
        marks[order] = replace(
            mark,
            paths=tuple((_extended(p, closed, tip.place, to), closed) for p, closed in mark.paths),
        )
        done.append(tip.place)
        changes.append(
            _changed(
                art,
                f"a line is drawn on by {off:.2f} mm to ({to[0]:.2f}, {to[1]:.2f})",
                tip.place,
            )
        )
    return replace(art, marks=tuple(marks))


def _extended(points: tuple[Point, ...], closed: bool, tip: Point, to: Point) -> tuple[Point, ...]:
    if closed or len(points) < 2:
        return points
    if points[0] == tip:
        return (to, *points)
    if points[-1] == tip:
        return (*points, to)
    return points
