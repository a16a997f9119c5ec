"""A scanned drawing becomes line art: ink told from paper, gaps closed, edges fitted.

The leading comes out as one dark area and coloured panes as light ones, so that everything after
is the same as for a vector drawing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.drawing.trace_colour import pane_colours
from glasswork.drawing.trace_edges import fitted, parted
from glasswork.drawing.trace_gaps import close_gaps, line_ends, turning_back
from glasswork.drawing.trace_ink import Ink, cell_size_px, cells_of, find_ink, ink_grey
from glasswork.drawing.trace_rings import Floats, Index, Rings, outlines
from glasswork.drawing.trace_sheet import Sheet, find_sheet
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Region, Ring, sound_region
from glasswork.model.window import LineArt, Mark, Scan
from glasswork.planar import Area, sound_rings

GAP_MM = 1.2
"""A gap in a line up to this long is closed."""
SPECK_MM = 1.5
"""A blot whose longer side is shorter than this is dirt."""
ISLAND_MM = 8.0
"""A drawing apart from the rest is a lead if it is this long and holds a pane; else it is none."""
LEAST_PANE_MM = 0.6
"""A light spot narrower than this is no pane."""
FIT_MM = 0.05
"""How far an outline may leave its traced pixels before it is parted."""
LEAST_FIT_PX = 1.3
MOST_SKEW_DEG = 5.0
FINE_MM = 0.09
"""Pixels are put together up to this size, if all lines are broad enough for it."""
LEAST_MM2 = 1e-8
_SMALL = 10.0
GUESSED_WIDTH_MM = 150.0
"""What an unsized scan is measured by until its size is given."""

Contours = Sequence[NDArray[Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """A scan as line art. sized : its millimetres are real"""

    art: LineArt
    findings: tuple[Finding, ...]


def trace_scan(scan: Scan) -> Traced:
    """Lines, panes and colours of a scanned drawing.

    Raises: DrawingError, if nothing in it is dark, or no dark line encloses a pane
    """
    grey = ink_grey(scan)
    pitch = 1 if scan.mm_per_px is None else max(1, int(FINE_MM / scan.mm_per_px))
    seen = _seen(scan, grey, pitch)
    if pitch > 1 and (seen.ink is None or seen.ink.too_thin):
        seen = _seen(scan, grey, 1)
    mm, sheet, ink = seen.mm, seen.sheet, seen.ink
    if ink is None:
        raise DrawingError(scan.name, "nothing is dark", "draw in black on light paper")
    if sheet is not None:
        sheet.mask_outside(ink.lines, rim_px=1.0 / mm)
    net, gaps = _closed(ink, mm, scan.name)
    rings = fitted(net.rings, net.parts, ink, tolerance_px=_tolerance_px(mm)).chosen(net.order)
    flat = Rings(points=(rings.points if sheet is None else sheet.flat(rings.points)) + 0.5,
                 start=rings.start)  # fmt: skip
    flat, skew = _levelled(flat)
    sized = scan.mm_per_px is not None and (sheet is None or not sheet.aslant)
    flat = Rings(points=flat.points * mm, start=flat.start)
    with ThreadPoolExecutor(1) as beside:
        sound = beside.submit(_all_sound, flat)
        shapes = _shapes(flat)
        colours = pane_colours(scan.rgb, net.outline, net.panes, pitch=seen.pitch)
    solid = 1 + len(net.islands)
    lead = _leading(shapes[:solid], shapes[solid:], sound=solid == 1 and sound.result())
    size = seen.size_px if sheet is None else sheet.size_px
    art = LineArt(
        name=scan.name,
        size_mm=(size[0] * mm, size[1] * mm),
        marks=(
            *_glass(shapes[solid:], colours),
            Mark(paths=(), area=lead, fill="#000000"),
        ),
        sized=sized,
    )
    return Traced(art=art, findings=tuple(_told(scan.name, net, gaps, skew, sheet)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A scan's ink and sheet in pixels of `mm`, each as wide as `pitch` pixels of the scan; size_px
    is the picture's, width and height.
    """

    ink: Ink | None
    sheet: Sheet | None
    mm: float
    pitch: int
    size_px: tuple[float, float]


def _seen(scan: Scan, grey: NDArray[np.uint8], pitch: int) -> _Seen:
    mm = (scan.mm_per_px or GUESSED_WIDTH_MM / grey.shape[1]) * pitch
    size = (grey.shape[1] / pitch, grey.shape[0] / pitch)
    if pitch > 1:
        grey = cells_of(grey, pitch)
    cell = cell_size_px(mm)
    small = cells_of(grey, cell)
    sheet = find_sheet(grey, small=small, cell_px=cell)
    corners = None if sheet is None else sheet.corners
    ink = find_ink(
        grey, mm_per_px=mm, sheet=corners, rgb=scan.rgb, small=small, pitch=pitch
    )  # fmt: skip
    return _Seen(ink=ink, sheet=sheet, mm=mm, pitch=pitch, size_px=size)


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """The leading as traced rings of ink pixels. rings : the same; in the order told they are
    outline, islands and panes · parts : their pixels by which they are parted into straight lines
    left_out : how many blots are none of it
    """

    outline: NDArray[Any]
    islands: tuple[NDArray[Any], ...]
    panes: tuple[NDArray[Any], ...]
    specks: int
    left_out: int
    rings: Rings
    parts: Rings
    order: Index


def _closed(ink: Ink, mm: float, name: str) -> tuple[Net, int]:
    """The leading, gaps closed in the picture of lines.

    Raises: DrawingError, if no line encloses a pane
    """
    found = _contours(ink.lines, mm)
    rings = found.rings
    width = 2.0 * float(np.count_nonzero(ink.lines)) / max(1, len(rings.points)) + 1.0
    hooked = turning_back(rings, found.parts)
    hooked = hooked[(rings.stop - rings.start)[hooked] >= 2.0 * SPECK_MM / mm]
    ends = line_ends(rings.chosen(hooked), width_px=width)
    gaps = close_gaps(ink.lines, ends, gap_px=GAP_MM / mm)
    net = _net(_contours(ink.lines, mm) if gaps else found, ink.lines.shape, mm)
    if net is None:
        raise DrawingError(
            name,
            "no line encloses a pane",
            f"close the lines: gaps up to {GAP_MM} mm are closed by themselves",
        )
    return net, gaps


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """Outlines and holes as OpenCV follows them; parents : the outline about each hole, else -1
    parts : the pixels by which they are parted into straight lines
    """

    contours: Contours
    parents: NDArray[np.int32]
    rings: Rings
    parts: Rings


def _tolerance_px(mm: float) -> float:
    return max(LEAST_FIT_PX, FIT_MM / mm)


def _contours(lines: NDArray[np.uint8], mm: float) -> _Found:
    import cv2

    contours, tree = cv2.findContours(lines, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    parents = np.empty(0, np.int32) if tree is None else np.asarray(tree[0])[:, 3]
    rings = outlines(contours)
    parts = parted(rings, _tolerance_px(mm)) if contours else rings
    return _Found(contours=contours, parents=parents, rings=rings, parts=parts)


def _net(found: _Found, shape: tuple[int, ...], mm: float) -> Net | None:
    """The largest drawing that encloses a pane, with what belongs to it."""
    contours, parents, rings = found.contours, found.parents, found.rings
    if not contours:
        return None
    import cv2

    size = rings.stop - rings.start
    places = Rings(points=rings.points[found.parts.points], start=found.parts.start)
    areas = np.abs(places.areas())
    # the straight parts of a small hole tell its area too roughly
    worth = size >= 2.0 * LEAST_PANE_MM / mm
    small = np.flatnonzero(worth & (areas < _SMALL * (LEAST_PANE_MM / mm) ** 2))
    areas[small] = [cv2.contourArea(contours[i]) for i in small.tolist()]
    areas[~worth] = 0.0
    holes = np.flatnonzero((parents >= 0) & (areas >= (LEAST_PANE_MM / mm) ** 2))
    glazed = np.zeros(len(contours))
    np.add.at(glazed, parents[holes], areas[holes])
    outers = np.flatnonzero((parents < 0) & (glazed > 0.0))
    outers = outers[np.argsort(-areas[outers], kind="stable")]
    if not len(outers):
        return None
    outer = _not_the_rim(outers, areas, contours, shape)
    outline = contours[outer]
    islands, left_out = [], 0
    for i in np.flatnonzero((parents < 0) & (size >= 2.0 * SPECK_MM / mm)).tolist():
        _, _, w, h = cv2.boundingRect(contours[i])
        if i == outer or max(w, h) < SPECK_MM / mm:
            continue
        first = tuple(float(v) for v in contours[i][0, 0])
        within = cv2.pointPolygonTest(outline, first, False) > 0
        if within and glazed[i] * mm * mm >= 4.0 and max(w, h) >= ISLAND_MM / mm:
            islands.append(i)
        else:
            left_out += 1
    panes = holes[np.isin(parents[holes], [outer, *islands])].tolist()
    kept = np.array([outer, *islands, *panes])
    parts = found.parts
    if len(kept) < len(size):
        rings = rings.chosen(np.sort(kept))
        parts = parted(rings, _tolerance_px(mm))
    specks = int((parents < 0).sum()) - 1 - len(islands) - left_out
    return Net(
        outline=outline,
        islands=tuple(contours[i] for i in islands),
        panes=tuple(contours[i] for i in panes),
        specks=specks,
        left_out=left_out,
        rings=rings,
        parts=parts,
        order=np.argsort(np.argsort(kept)),
    )


def _not_the_rim(
    outers: NDArray[np.intp], areas: Floats, contours: Contours, shape: tuple[int, ...]
) -> int:
    """The largest drawing, unless it is the picture's dark rim about another one."""
    import cv2

    first = int(outers[0])
    x, y, w, h = cv2.boundingRect(contours[first])
    touching = (x <= 1) + (y <= 1) + (x + w >= shape[1] - 1) + (y + h >= shape[0] - 1)
    if touching >= 2 and len(outers) > 1:
        second = int(outers[1])
        if areas[second] >= 0.05 * shape[0] * shape[1]:
            return second
    return first


def _levelled(rings: Rings) -> tuple[Rings, float]:
    """The rings turned so that the outline's straight sides stand upright, if they are askew by
    up to 5°, and by how much they were, degrees.
    """
    outer = rings.points[: rings.stop[0]]
    along = np.roll(outer, -1, axis=0) - outer
    length = np.hypot(*along.T)
    off = (np.degrees(np.arctan2(along[:, 1], along[:, 0])) + 45.0) % 90.0 - 45.0
    straight = (np.abs(off) <= MOST_SKEW_DEG) & (length >= 0.1 * length.max(initial=0.0))
    if length[straight].sum() < 0.3 * length.sum():
        return rings, 0.0
    skew = float(np.average(off[straight], weights=length[straight]))
    cos, sin = np.cos(np.radians(-skew)), np.sin(np.radians(-skew))
    turned = rings.points @ np.array([[cos, sin], [-sin, cos]])
    return Rings(points=turned, start=rings.start), skew


def _all_sound(rings: Rings) -> bool:
    """Whether the first ring with the others as its holes is an area as it is."""
    return bool(_thick(rings).all()) and sound_rings(rings.points, rings.ring_of)


def _thick(rings: Rings) -> NDArray[np.bool_]:
    """Which rings have an area."""
    return np.asarray((np.abs(rings.areas()) > LEAST_MM2) & (rings.stop - rings.start >= 3))


def _shapes(rings: Rings) -> list[Ring | None]:
    """Each ring by itself; None for one without area."""
    x, y = rings.points.T.tolist()
    places = list(zip(x, y, strict=True))
    cuts = zip(rings.start.tolist(), rings.stop.tolist(), _thick(rings).tolist(), strict=True)
    return [tuple(places[first:last]) if thick else None for first, last, thick in cuts]


def _leading(
    solids: Sequence[Ring | None], panes: Sequence[Ring | None], *, sound: bool
) -> tuple[Region, ...]:
    """The outline and what stands apart in it, less the panes.

    sound : the outline with the panes as its holes is an area as it is
    """
    rings = [ring for ring in panes if ring is not None]
    outer = solids[0]
    assert outer is not None
    if sound:
        return (sound_region(outer, tuple(rings)),)
    glass = Area.union([Area.of([Region(ring)]) for ring in rings])
    apart = [Area.of([Region(ring)]) for ring in solids[1:] if ring is not None]
    inner = [
        Area.of([Region(ring)]) for ring in rings
        if any(Area.of([Region(ring)]).area_mm2 < a.area_mm2 and a.touches(Area.of([Region(ring)]))
               for a in apart)
    ]  # fmt: skip
    lead = (Area.of([Region(outer)]) - glass) | (Area.union(apart) - Area.union(inner))
    return lead.regions()


def _glass(rings: Sequence[Ring | None], colours: Sequence[str | None]) -> Iterator[Mark]:
    for ring, colour in zip(rings, colours, strict=False):
        if ring is not None and colour is not None:
            yield Mark(paths=((ring, True),), area=(Region(ring),), fill=colour, names=("glass",))


def _told(name: str, net: Net, gaps: int, skew: float, sheet: Sheet | None) -> Iterator[Finding]:
    said = []
    if sheet is not None and sheet.aslant:
        said.append("the sheet was seen aslant: laid flat by its four corners")
    if net.specks:
        said.append(f"{net.specks} specks under {SPECK_MM} mm left out")
    if net.left_out:
        said.append(f"{net.left_out} marks that touch no lead left out")
    if gaps:
        said.append(f"{gaps} gaps up to {GAP_MM} mm closed")
    if abs(skew) >= 0.05:
        said.append(f"turned upright by {abs(skew):.1f}°")
    for what in said:
        yield Finding(severity=Severity.NOTE, where=name, what=what)
