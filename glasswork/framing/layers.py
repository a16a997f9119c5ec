"""The finished shapes of the layers, before pin ears."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest

from msgspec import Struct

from glasswork.errors import FrameError
from glasswork.framing.border import border_width_mm
from glasswork.framing.made import CutSet
from glasswork.framing.offset import LONGEST_MITRE, OVER, as_cut, offset_region, offset_rings
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import Board, Cutter, Face, Made
from glasswork.model.geometry import Point, Region, Regions, ring_area_mm2
from glasswork.model.window import Member, Role, Window
from glasswork.model.words import counted
from glasswork.planar import Area, AreaSet

LEAST_STEP_MM, MOST_STEP_MM = 0.4, 1.5
"""A step narrower than the first is not seen; common practice."""
GRID_MM = 1e-6
"""Finished shapes stand on this grid, so that no spike or slit thinner than it is left."""
SPECK_MM2 = 1.0
"""Area under which an opening too narrow to cut is left closed."""
_SLIT_MM2 = 0.05
"""A slit of less area that the cut cannot enter is not told."""
_PASSES = 4
_HAIR_MM = 1e-3
_CRACK_MM = 0.002
_FINE_MM, _TOOTH_SHARE = 0.02, 0.49


class Shapes(Struct, frozen=True, kw_only=True):
    """Finished shapes in panel mm.

    outer : of each face
    step_mm : how far the outer layers stand back at the glass
    """

    inner: Area
    outer: Mapping[Face, Area]
    retainer: Area
    step_mm: float


def build_shapes(
    window: Window,
    cut: CutSet,
    *,
    inner_kerf_mm: float,
    retainer_kerf_mm: float,
    outer: Board,
    cutter: Cutter,
    step_mm: float | None,
    raised: Mapping[Face, frozenset[Role]],
) -> tuple[Shapes, tuple[Finding, ...]]:
    """Inner and outer layers and the retaining ring.

    raised : the roles that lie on each face's outer layer

    Raises: FrameError, if the step leaves too little of the border, or nothing of an outer layer
    """
    border = border_width_mm(window)
    least = max(outer.web_refuse_mm, cutter.min_width_mm)
    step = chosen_step_mm(border, least, outer) if step_mm is None else step_mm
    most = max(border - least, 0.0)
    if step_mm is not None and not 0.0 <= step <= most + _HAIR_MM:
        raise FrameError(
            "frame, step",
            f"{step:g} mm is not between 0 and {most:.2f} mm, which leaves "
            f"{least:g} mm of the border's {border:.2f} mm",
            "make the step smaller, or draw a wider border",
        )
    whole = Area.of((window.outline,))
    rounded = rounded_corners(cut.area, cutter.corner_radius_mm) & whole
    ring = whole - Area.of(offset_region(window.outline, -retainer_width_mm(border, cutter)))
    if any(item.made is Made.PRINTED for item in cut.made):
        rounded = _clean(window, cut, rounded, least_mm=least)
    inner, specks = _as_cut(_main(rounded.snapped(GRID_MM)), inner_kerf_mm)
    outers: dict[frozenset[Role], tuple[Area, tuple[Finding, ...]]] = {}
    for roles in raised.values():
        if roles not in outers:
            high, low = _raised(window, cut, (whole, roles), step_mm=step, least_mm=least)
            high = without_spurs(high & inner, _TOOTH_SHARE * least)
            high = rounded_corners(high, cutter.corner_radius_mm) & inner
            high = _fallen_apart(high.snapped(GRID_MM))
            high, more = _as_cut(high, cutter.kerf_for(outer.thickness_mm))
            specks = (*specks, *more)
            outers[roles] = (_worth_cutting(high, least), low)
            _need_outer(outers[roles][0], border, least, outer)
    findings = dict.fromkeys(finding for _, low in outers.values() for finding in low)
    behind = (rounded_corners(ring, cutter.corner_radius_mm) & whole).snapped(GRID_MM)
    behind, _ = _as_cut(_fallen_apart(behind), retainer_kerf_mm)
    worth = _worth_cutting(behind, least)
    return Shapes(
        inner=inner,
        outer={face: outers[roles][0] for face, roles in raised.items()},
        retainer=behind if worth.is_empty else worth,
        step_mm=step,
    ), (*findings, *_speck_findings(specks))


def _need_outer(layer: Area, border_mm: float, least_mm: float, board: Board) -> None:
    """Raises: FrameError, if nothing of an outer layer can be cut"""
    if layer.is_empty:
        raise FrameError(
            "frame, outer layer",
            f"nothing is left of it: the border is {border_mm:.2f} mm wide, {least_mm:g} mm is "
            f"the least that can be cut from {board.title}",
            "draw a wider border, make the panel larger, or choose a thinner outer board",
        )


def chosen_step_mm(border_mm: float, least_mm: float, outer: Board) -> float:
    """How far the outer layer stands back: half its board's thickness, so that the inner layer's
    edge is seen, but never so far that too little border is left; 0 if no step can be seen.
    """
    step = min(max(LEAST_STEP_MM, outer.thickness_mm / 2.0), MOST_STEP_MM, border_mm / 3.0)
    step = min(step, border_mm - least_mm)
    return step if step >= LEAST_STEP_MM / 2.0 else 0.0


def retainer_width_mm(border_mm: float, cutter: Cutter) -> float:
    """The ring covers the border but for a quarter, so that it is not seen from the front."""
    return max(border_mm * 0.75, min(border_mm, cutter.min_width_mm))


def rounded_corners(area: Area, radius_mm: float) -> Area:
    """Inside and outside corners rounded to a blade or beam; nothing thinner than it is left."""
    if radius_mm <= 0.0:
        return area
    closed = area.grown(radius_mm, join="round").grown(-radius_mm, join="round")
    return closed.opened(radius_mm) & area.grown(radius_mm)


def _clean(window: Window, cut: CutSet, area: Area, *, least_mm: float) -> Area:
    """The cut shape without the teeth that members have where printed leads join them."""
    widths = [
        member.width_mm
        for member, item in zip(window.members, cut.made, strict=True)
        if item.made is Made.CUT
    ]
    printed = cut.which(Made.PRINTED)
    half = _TOOTH_SHARE * min(least_mm, *widths)
    fine = without_spurs(area, _FINE_MM)
    return without_spurs(fine, half, beside=cut.leads.chosen(printed))


def _as_cut(area: Area, kerf_mm: float) -> tuple[Area, tuple[Point, ...]]:
    """The shape as the cut can leave it, and where openings were closed for it."""
    regions = left = area.regions()
    for _ in range(_PASSES):
        before = left
        left = tuple(piece for part in parted(before, kerf_mm) for piece in as_cut(part, kerf_mm))
        if len(left) == len(before) and all(a is b for a, b in zip(left, before, strict=True)):
            break
    if all(a is b for a, b in zip_longest(left, regions)):
        return _without_specks(area, kerf_mm)
    cut, specks = _without_specks(Area.of(left), kerf_mm)
    slits = [part for part in (Area.of(left) - area).parts() if part.area_mm2 > _SLIT_MM2]
    return cut, (*(slit.inner_point() for slit in slits), *specks)


def _fallen_apart(area: Area) -> Area:
    """Pieces that hang together by a hair set apart, as they are once cut."""
    half = _FINE_MM / 2.0
    thin = area.grown(-half, join="mitre", mitre_limit=LONGEST_MITRE)
    if len(thin.parts()) == len(area.parts()):
        return area
    return thin.grown(half, join="mitre", mitre_limit=LONGEST_MITRE)


def parted(pieces: Regions, kerf_mm: float) -> Regions:
    """Pieces nearer to each other than the cut is wide joined: it would cut into both.

    Those that meet in nothing but points cannot be joined; the smaller one stands back.
    """
    if len(pieces) < 2 or kerf_mm <= 0.0:
        return pieces
    each = AreaSet.of_regions(pieces)
    here, there = each.within(each, kerf_mm)
    near = sorted(set(here[here != there].tolist()))
    if not near:
        return pieces
    close = each.chosen(near).joined()
    alone = [piece for i, piece in enumerate(pieces) if i not in set(near)]
    return (*alone, *_set_apart(close.healed(OVER * kerf_mm), kerf_mm))


def _set_apart(area: Area, kerf_mm: float) -> Regions:
    """The area's pieces, largest first, each as far from those before it as the cut is wide."""
    first, *rest = area.parts()
    kept = [first]
    for piece in rest:
        near = [one for one in kept if one.touches(piece, within_mm=kerf_mm)]
        room = Area.union(near).grown(OVER * kerf_mm, join="round") if near else Area.empty()
        kept += (piece - room).parts() if near else [piece]
    return tuple(region for piece in kept for region in piece.regions())


def _without_specks(area: Area, kerf_mm: float) -> tuple[Area, tuple[Point, ...]]:
    """Openings closed that are both tiny and narrower than the kerf; where they were.

    A tiny one cannot be cut and is not missed; a long slot is left for `cut_paths` to refuse.
    """
    regions = area.regions()
    closed = [
        hole
        for region in regions
        for hole in region.holes
        if abs(ring_area_mm2(hole)) < SPECK_MM2
        and not offset_rings((hole,), -max(kerf_mm, _FINE_MM) / 2.0)[0]
    ]
    if not closed:
        return area, ()
    filled = Area.union([area, *(Area.of((Region(hole),)) for hole in closed)])
    return filled.healed(_CRACK_MM), tuple(hole[0] for hole in closed)


def _speck_findings(specks: Sequence[Point]) -> tuple[Finding, ...]:
    if not specks:
        return ()
    return (
        Finding(
            severity=Severity.WARNING,
            where="frame",
            what=f"{counted(len(specks), 'opening or slit', 'openings and slits')} narrower than "
            "the cut, left closed",
            hint="widen the gap, or have the members round it printed",
            place=specks[0],
        ),
    )


def without_spurs(area: Area, half_mm: float, *, beside: AreaSet | None = None) -> Area:
    """Spurs narrower than twice half_mm taken off flush with what they stand on; corners stay.

    beside : only where they touch one of these
    """
    left = area.grown(-half_mm, join="mitre").grown(half_mm, join="mitre")
    spurs = [
        bit
        for bit in (area - left).parts()
        if bit.area_mm2 > half_mm * half_mm * 0.05 and bit.apart_mm_from(left) > 0.3 * half_mm
    ]
    if beside is not None and spurs:
        touching = AreaSet.of_areas(spurs).within(beside, _HAIR_MM * 10.0)[0]
        spurs = [spurs[i] for i in sorted(set(touching.tolist()))]
    return area - Area.union(spurs) if spurs else area


def _worth_cutting(area: Area, least_mm: float) -> Area:
    """The parts larger than a square of twice the least width."""
    return Area.union(p for p in area.parts() if p.area_mm2 > 4.0 * least_mm * least_mm)


def _main(area: Area) -> Area:
    return area.parts()[0]


def _raised(
    window: Window,
    cut: CutSet,
    wanted: tuple[Area, frozenset[Role]],
    *,
    step_mm: float,
    least_mm: float,
) -> tuple[Area, tuple[Finding, ...]]:
    """The members of these roles, narrower by the step at the glass; flush at the panel's edge."""
    whole, roles = wanted
    chosen = [
        i
        for i, (member, item) in enumerate(zip(window.members, cut.made, strict=True))
        if member.role in roles
        and item.made is Made.CUT
        and (member.role is Role.BORDER or member.width_mm - 2.0 * step_mm >= least_mm)
    ]
    raised = _with_joints(window, cut, chosen)
    low = whole - raised.grown(_HAIR_MM)
    narrowed = whole - low.grown(step_mm + _HAIR_MM) if step_mm > 0.0 else raised
    solid = narrowed.opened(least_mm / 2.0 * 0.98)
    kept = [part for part in (narrowed & solid.grown(least_mm)).parts() if part.touches(solid)]
    taken = set(chosen)
    flat = [
        member
        for i, (member, item) in enumerate(zip(window.members, cut.made, strict=True))
        if i not in taken and member.role in roles and item.made is Made.CUT
    ]
    return Area.union(kept), _low_findings(flat, least_mm + 2.0 * step_mm)


def _with_joints(window: Window, cut: CutSet, chosen: Sequence[int]) -> Area:
    """The members with the joints that lie on them, whichever member owns the joint's area."""
    lines = [window.members[i] for i in chosen if len(window.members[i].centreline) > 1]
    strokes = AreaSet.of_strokes(
        [line.centreline for line in lines], [line.width_mm for line in lines]
    )
    own = cut.leads.chosen(chosen).joined()
    if not len(strokes):
        return own
    return Area.union([own, strokes.joined() & cut.area]).healed(_CRACK_MM)


def _low_findings(low: Sequence[Member], need_mm: float) -> tuple[Finding, ...]:
    if not low:
        return ()
    names = ", ".join(member.id for member in low[:6]) + (" …" if len(low) > 6 else "")
    roles = " and ".join(sorted({f"{member.role.value}s" for member in low}))
    return (
        Finding(
            severity=Severity.NOTE,
            where="frame, outer layer",
            what=f"{len(low)} {roles} are narrower than the {need_mm:.2f} mm that a raised one "
            f"needs and lie on the inner layer alone ({names})",
            hint="widen them, or choose a thinner board for the outer layer",
        ),
    )
