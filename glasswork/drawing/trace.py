"""A scanned drawing becomes line art: ink told from paper, gaps closed, edges fitted.

The leading comes out as one dark area and coloured panes as light ones, so that everything after
is the same as for a vector drawing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.trace_colour import pane_colours
from glasswork.drawing.trace_edges import parted
from glasswork.drawing.trace_flat import Ground, laid_flat, thick
from glasswork.drawing.trace_follow import Outlines, followed
from glasswork.drawing.trace_gaps import close_gaps, line_ends, turning_back
from glasswork.drawing.trace_ink import Ink, cell_size_px, cells_of, find_ink, ink_grey
from glasswork.drawing.trace_net import SPECK_MM, Net, net_of
from glasswork.drawing.trace_rings import Mask, Rings
from glasswork.drawing.trace_sheet import Sheet, find_sheet
from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Region, Ring, sound_region
from glasswork.model.window import LineArt, Mark, Scan
from glasswork.planar import Area

GAP_MM = 1.2
"""A gap in a line up to this long is closed."""
FIT_MM = 0.05
"""How far an outline may leave its traced pixels before it is parted."""
LEAST_FIT_PX = 1.3
_SMOOTH = 0.8
"""Of which so much is left, for parting alone, where pixels are means: they are less uneven."""
FINE_MM = 0.09
"""Pixels are put together up to this size, if all lines are broad enough for it."""
GUESSED_WIDTH_MM = 150.0
"""What an unsized scan is measured by until its size is given."""


class Traced(Struct, frozen=True, kw_only=True):
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
    net, gaps = _closed(ink, mm, seen.pitch, scan.name)
    ground = Ground(ink=ink, sheet=sheet, mm=mm, tolerance_px=_tolerance_px(mm))
    shapes: list[Ring | None] = []
    flat = laid_flat(net, ground, lambda rings: shapes.extend(_shapes(rings)))
    sized = scan.mm_per_px is not None and (sheet is None or not sheet.aslant)
    colours = _colours(scan, net, seen.pitch)
    solid = net.solid
    lead = _leading(shapes[:solid], shapes[solid:], sound=flat.sound)
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
    return Traced(art=art, findings=tuple(_told(scan.name, net, gaps, flat.skew_deg, sheet)))


class _Seen(Struct, frozen=True, kw_only=True):
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


def _closed(ink: Ink, mm: float, pitch: int, name: str) -> tuple[Net, int]:
    """The leading, gaps closed in the picture of lines.

    Raises: DrawingError, if no line encloses a pane
    """
    part_px = _tolerance_px(mm) * (1.0 if pitch == 1 else _SMOOTH)
    outlines, parts = _outlines(ink.lines, part_px)
    width = 2.0 * float(np.count_nonzero(ink.lines)) / max(1, outlines.pixels) + 1.0
    hooked = turning_back(outlines, parts)
    hooked = hooked[outlines.size[hooked] >= 2.0 * SPECK_MM / mm]
    ends = line_ends(outlines.dense(hooked), width_px=width)
    gaps = close_gaps(ink.lines, ends, gap_px=GAP_MM / mm)
    if gaps:
        outlines, parts = _outlines(ink.lines, part_px)
    net = net_of(outlines, parts, ink.lines.shape, mm)
    if net is None:
        raise DrawingError(
            name,
            "no line encloses a pane",
            f"close the lines: gaps up to {GAP_MM} mm are closed by themselves",
        )
    return net, gaps


def _tolerance_px(mm: float) -> float:
    return max(LEAST_FIT_PX, FIT_MM / mm)


def _outlines(lines: Mask, tolerance_px: float) -> tuple[Outlines, Rings]:
    """All outlines, and the pixels by which they are parted into straight lines."""
    outlines = followed(lines)
    return outlines, parted(outlines, tolerance_px)


def _colours(scan: Scan, net: Net, pitch: int) -> list[str | None]:
    """As `pane_colours`; pitch : how many pixels of the scan those of the outlines are wide"""
    if scan.rgb is None:
        return [None] * (len(net.outlines) - net.solid)
    polygons = [net.outlines.polygon(i)[:, None] for i in range(len(net.outlines))]
    return pane_colours(scan.rgb, polygons[0], polygons[net.solid :], pitch=pitch)


def _shapes(rings: Rings) -> list[Ring | None]:
    """Each ring by itself; None for one without area."""
    x, y = rings.points.T.tolist()
    places = list(zip(x, y, strict=True))
    cuts = zip(rings.start.tolist(), rings.stop.tolist(), thick(rings).tolist(), strict=True)
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
