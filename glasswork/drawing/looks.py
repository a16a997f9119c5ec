"""The single looks of an inspection, each a plain function of the drawing or the window."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import acos, degrees, hypot

import numpy as np

from glasswork.drawing.inks import Stroke, dark_fill
from glasswork.drawing.net import Net
from glasswork.drawing.tips import loose_tips
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Point, Region, point_along
from glasswork.model.window import LineArt, Member, Role, Window
from glasswork.planar import Area, AreaSet, lines_at, slits

MOST_OF_A_KIND = 200
"""Remarks of one kind that are listed; more are counted."""


def _capped(found: Iterable[Finding], name: str, kind: str) -> list[Finding]:
    items = list(found)
    if len(items) <= MOST_OF_A_KIND:
        return items
    more = len(items) - MOST_OF_A_KIND
    what = f"{more} more of the kind: {kind}"
    return [
        *items[:MOST_OF_A_KIND],
        Finding(severity=Severity.WARNING, where=name, what=what),
    ]


def loose_ends(
    name: str, strokes: Sequence[Stroke], net: Net | None, *, miss_mm: float
) -> list[Finding]:
    """Lines that end in the open: near another line, in the middle of a pane, or outside."""
    found = []
    for tip in loose_tips(strokes, net):
        near, off = tip.nearest
        away = f"{off:.2f} mm from the nearest line at ({near[0]:.2f}, {near[1]:.2f})"
        if off <= miss_mm:
            what = f"a line stops short: {away}, 0 mm joins it"
            hint = "draw it on to the line it was meant to reach, or let repair do so"
            severity = Severity.WARNING
        elif net is not None and tip.inside:
            what = f"a lead ends in the middle of a pane, {away}"
            hint = "draw it on to the next lead, or give it the role paint"
            severity = Severity.WARNING
        else:
            what = f"a line is open: it ends {away}"
            hint = "close the outline, or remove what lies outside it"
            severity = Severity.DECISION
        found.append(Finding(severity=severity, where=name, what=what, hint=hint, place=tip.place))
    return _capped(found, name, "open lines")


def double_strokes(name: str, strokes: Sequence[Stroke]) -> list[Finding]:
    """Lines drawn twice over, point for point."""
    seen: dict[tuple[Point, ...], int] = {}
    found = []
    for stroke in strokes:
        ring = tuple((round(x, 4), round(y, 4)) for x, y in stroke.points)
        key = min(ring, ring[::-1])
        if key in seen:
            found.append(
                Finding(
                    severity=Severity.NOTE,
                    where=name,
                    what="a line is drawn twice",
                    hint="remove one of the two",
                    place=point_along(stroke.points, 0.5),
                )
            )
        seen[key] = 1
    return _capped(found, name, "lines drawn twice")


def overlapping_strokes(name: str, strokes: Sequence[Stroke], net: Net | None) -> list[Finding]:
    """Lines that run along each other closer than their widths allow: the glass between is lost."""
    if net is None:
        return []
    widths = np.array([s.pen.width_mm for s in strokes])[net.source]
    middles = net.ends.mean(axis=1)
    way = net.ends[:, 1] - net.ends[:, 0]
    long = np.hypot(way[:, 0], way[:, 1])
    way = way / long[:, None]
    at, which = lines_at(middles, net.ends, reach_mm=float(widths.max()))
    ids = np.stack([net.origin[: net.count], net.origin[net.count :]], axis=1)
    apart = (ids[at][:, :, None] != ids[which][:, None, :]).all(axis=(1, 2))
    cross = np.abs(way[at, 0] * way[which, 1] - way[at, 1] * way[which, 0])
    across = np.abs(
        way[which, 0] * (middles[at] - net.ends[which, 0])[:, 1]
        - way[which, 1] * (middles[at] - net.ends[which, 0])[:, 0]
    )
    limit = (widths[at] + widths[which]) / 2.0
    along = ((middles[at] - net.ends[which, 0]) * way[which]).sum(axis=1)
    beside = (along > 0.0) & (along < long[which])
    close = apart & beside & (cross < 0.09) & (across < limit - 1e-3) & (long[at] > 2.0 * limit)
    seen: set[tuple[int, int]] = set()
    found = []
    for k in np.flatnonzero(close).tolist():
        one, two = sorted((int(net.source[at[k]]), int(net.source[which[k]])))
        if one == two or (one, two) in seen:
            continue
        seen.add((one, two))
        x, y = middles[at[k]].tolist()
        found.append(
            Finding(
                severity=Severity.WARNING,
                where=name,
                what=f"two lines overlap: their middles run {across[k]:.2f} mm apart, their widths "
                f"need {limit[k]:.2f} mm",
                hint="draw them apart, or leave one out",
                place=(x, y),
            )
        )
    return _capped(found, name, "overlapping lines")


def small_panes(window: Window, pane_mm: float, pane_mm2: float) -> list[Finding]:
    """Panes too narrow or too small to be printed and seen."""
    panes = AreaSet.of_regions([pane.region for pane in window.panes])
    shrunk = panes.grown(np.full(len(panes), -pane_mm / 2.0)).areas_mm2()
    sizes = panes.areas_mm2()
    found = []
    for pane, rest, size in zip(window.panes, shrunk.tolist(), sizes.tolist(), strict=True):
        if rest > 0.0 and size >= pane_mm2:
            continue
        if rest <= 0.0:
            wide = 2.0 * Area.of((pane.region,)).inner_radius_mm()
            what = f"a sliver: {wide:.2f} mm at its widest, {pane_mm:g} mm is least"
        else:
            what = f"a small pane: {size:.2f} mm², {pane_mm2:g} mm² is least"
        found.append(
            Finding(
                severity=Severity.WARNING,
                where=f"{window.name}, pane {pane.id}",
                what=what,
                hint="join it to its neighbour, or make the window larger",
                place=pane.seed_point,
            )
        )
    return _capped(found, window.name, "small panes")


def thin_leads(window: Window, cut_mm: float) -> list[Finding]:
    """Leads narrower than can be cut, those of one role and width together; they are printed."""
    groups: dict[tuple[Role, float], list[Member]] = {}
    for member in window.members:
        if member.width_mm < cut_mm - 1e-9 and member.role is not Role.PAINT:
            groups.setdefault((member.role, round(member.width_mm, 2)), []).append(member)
    found = []
    for (role, width), members in groups.items():
        first = members[0]
        more = f" and {len(members) - 1} more" if len(members) > 1 else ""
        found.append(
            Finding(
                severity=Severity.NOTE if role is Role.LEAD else Severity.WARNING,
                where=f"{window.name}, {role.value} {first.id}{more}",
                what=f"{width:.2f} mm wide, {cut_mm:g} mm can be cut",
                hint="it will be printed; draw it wider to have it cut",
                place=point_along(first.centreline, 0.5) if first.centreline else None,
            )
        )
    return _capped(found, window.name, "thin leads")


def acute_corners(window: Window, corner_deg: float) -> list[Finding]:
    """Corners of glass sharper than a blade can turn."""
    found = []
    for pane in window.panes:
        for ring in pane.region.rings:
            for place, angle in _corners(ring):
                if angle < corner_deg:
                    found.append(
                        Finding(
                            severity=Severity.NOTE,
                            where=f"{window.name}, pane {pane.id}",
                            what=f"a corner of {angle:.0f}°, {corner_deg:g}° is the sharpest "
                            "that is cut cleanly",
                            hint="let the leads meet less sharply, or accept a rounded corner",
                            place=place,
                        )
                    )
    return _capped(found, window.name, "acute corners")


def _corners(ring: Sequence[Point]) -> Iterator[tuple[Point, float]]:
    """Corners and the angle between their two sides, in degrees."""
    for index, (x, y) in enumerate(ring):
        (ax, ay), (bx, by) = ring[index - 1], ring[(index + 1) % len(ring)]
        ux, uy, vx, vy = ax - x, ay - y, bx - x, by - y
        size = hypot(ux, uy) * hypot(vx, vy)
        if size > 0.0:
            yield (x, y), degrees(acos(max(-1.0, min(1.0, (ux * vx + uy * vy) / size))))


def floating_leads(window: Window) -> list[Finding]:
    """Leads that hang free inside a pane: nothing holds them."""
    found = []
    for pane in window.panes:
        for hole in pane.region.holes:
            box = Region(hole).box
            found.append(
                Finding(
                    severity=Severity.WARNING,
                    where=f"{window.name}, pane {pane.id}",
                    what=f"leads of {box.width:.1f} × {box.height:.1f} mm hang free in the pane, "
                    "0 joints hold them, 2 are least",
                    hint="join them to the other leads, or accept stays",
                    place=box.centre,
                )
            )
    return _capped(found, window.name, "free leads")


def half_held_leads(window: Window, told: Sequence[Finding]) -> list[Finding]:
    """Leads with the same pane on both sides: they end in it, or all that hangs on them has no
    other joint.

    told : what is known already; no end is told twice
    """
    inner = [m.width_mm for m in window.members if m.role in (Role.LEAD, Role.BAR)]
    widest = max(inner or [member.width_mm for member in window.members])
    panes = AreaSet.of_regions([pane.region for pane in window.panes])
    found = []
    for slit in slits(panes, widest):
        near = slit.length_mm + 2.0 * slit.width_mm
        known = (f.place for f in told if f.place is not None and "middle of a pane" in f.what)
        if any(hypot(x - slit.place[0], y - slit.place[1]) <= near for x, y in known):
            continue
        if slit.mouths == 1:
            what = (
                f"a lead of {slit.length_mm:.1f} mm ends in the middle of a pane: 1 of its ends "
                "is joined, 2 are least"
            )
            hint = "draw it on to the next lead, or give it the role paint"
        else:
            what = (
                f"all that hangs on a lead of {slit.length_mm:.1f} × {slit.width_mm:.1f} mm is "
                "held at 1 joint, 2 are least"
            )
            hint = "join it to the other leads at a second place"
        found.append(
            Finding(
                severity=Severity.WARNING,
                where=f"{window.name}, pane {window.panes[slit.area].id}",
                what=what,
                hint=hint,
                place=slit.place,
            )
        )
    return _capped(found, window.name, "leads held at one end")


def unparted_colours(art: LineArt, window: Window) -> list[Finding]:
    """Panes that show two colours with no lead between them; places in the drawing's mm."""
    light = [
        (mark.fill, region)
        for mark in art.marks
        if mark.fill is not None and not dark_fill(mark)
        for region in mark.area
    ]
    if len(light) < 2:
        return []
    panes = AreaSet.of_regions([pane.region for pane in window.panes])
    fills = AreaSet.of_regions([region for _, region in light]).without_later()
    at, which = panes.meeting(fills)
    shared = panes.chosen(at).meet(fills.chosen(which)).areas_mm2()
    sizes = panes.areas_mm2()
    colours: dict[int, dict[str, float]] = {}
    for pane, fill, size in zip(at.tolist(), which.tolist(), shared.tolist(), strict=True):
        name = light[fill][0] or ""
        held = colours.setdefault(pane, {})
        held[name] = held.get(name, 0.0) + size
    found = []
    for pane, held in colours.items():
        rest = max(0.0, float(sizes[pane]) - sum(held.values()))
        shares = sorted([*held.values(), rest], reverse=True)
        if len(shares) > 1 and shares[1] > 0.1 * sizes[pane]:
            mine = window.panes[pane]
            share = 100.0 * shares[1] / float(sizes[pane])
            found.append(
                Finding(
                    severity=Severity.WARNING,
                    where=f"{window.name}, pane {mine.id}",
                    what=f"two colours in one pane, {share:.0f} % of it another colour, no lead "
                    "between them",
                    hint="draw a lead where the colours meet; the pane takes the colour in its "
                    "middle",
                    place=mine.seed_point,
                )
            )
    return _capped(found, window.name, "panes of two colours")
