"""A scanned drawing becomes line art: paper evened out, lines told from paper, gaps closed,
outlines followed and smoothed.

The leading comes out as one dark area and coloured panes as light ones, so that everything after
is the same as for a vector drawing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from glasswork.errors import DrawingError
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Affine, Point, Region, Ring, ring_area_mm2
from glasswork.model.window import LineArt, Mark, Scan
from glasswork.planar import Area

Mask = NDArray[np.uint8]
Floats = NDArray[np.float64]

GAP_MM = 1.2
"""A gap in a line up to this long is closed."""
SPECK_MM = 1.5
"""A blot whose longer side is shorter than this is dirt."""
LEAST_PANE_MM = 0.6
"""A light spot narrower than this is no pane."""
FIT_MM = 0.04
"""How far a smoothed outline may leave the traced one."""
SMOOTH_PX = 1.6
MOST_SKEW_DEG = 5.0
LEAST_SKEW_DEG = 0.05
GUESSED_WIDTH_MM = 150.0
"""What an unsized scan is measured by until its size is given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """A scan as line art. sized : its millimetres are real"""

    art: LineArt
    findings: tuple[Finding, ...]


def trace_scan(scan: Scan) -> Traced:
    """Lines, panes and colours of a scanned drawing.

    Raises: DrawingError, if nothing in it is dark, or no dark line encloses a pane
    """
    import cv2

    sized = scan.mm_per_px is not None
    mm = scan.mm_per_px or GUESSED_WIDTH_MM / scan.grey.shape[1]
    lines = _lines(even_paper(_ink_grey(scan), mm_per_px=mm))
    if not lines.any():
        raise DrawingError(scan.name, "nothing is dark", "draw in black on light paper")
    net, specks = _largest(lines, speck_px=SPECK_MM / mm)
    bridged, bridges = close_gaps(net, gap_px=GAP_MM / mm)
    contours, tree = cv2.findContours(bridged, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer, holes = _outer_and_holes(contours, tree, least_px=(LEAST_PANE_MM / mm) ** 2)
    if outer is None or not holes:
        raise DrawingError(
            scan.name,
            "no line encloses a pane",
            f"close the lines: gaps up to {GAP_MM} mm are closed by themselves",
        )
    turn = _level(outer)
    rings = [
        _smooth(ring, half_px=side) for ring, side in ((outer, 0.5), *((h, -0.5) for h in holes))
    ]
    place = turn.then(Affine.scale(mm))
    regions = _net(rings, place, fit_mm=FIT_MM)
    colours = [_colour(scan.rgb, hole) for hole in holes] if scan.rgb is not None else []
    art = LineArt(
        name=scan.name,
        size_mm=(scan.grey.shape[1] * mm, scan.grey.shape[0] * mm),
        marks=(*_glass(rings[1:], colours, place), Mark(paths=(), area=regions, fill="#000000")),
        sized=sized,
    )
    return Traced(art=art, findings=tuple(_told(scan.name, specks, bridges, turn)))


def _ink_grey(scan: Scan) -> Mask:
    """Grey in which black ink is dark and coloured washes are not: the brightest channel."""
    return scan.grey if scan.rgb is None else np.asarray(scan.rgb.max(axis=2))


def even_paper(grey: Mask, *, mm_per_px: float) -> Mask:
    """The drawing as if the paper were evenly white: grey over the paper's own brightness.

    The paper is what is brightest within 6 mm, blurred; lines are narrower than that.
    """
    import cv2

    step = max(1, round(0.5 / mm_per_px))
    small = cv2.resize(grey, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    reach = max(3, round(6.0 / (mm_per_px * step)) | 1)
    paper = cv2.GaussianBlur(
        cv2.dilate(small, np.ones((reach, reach), np.uint8)), (0, 0), reach / 2
    )
    paper = cv2.resize(paper, (grey.shape[1], grey.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(cv2.divide(grey, np.maximum(paper, 1), scale=255.0))


def _lines(even: Mask) -> Mask:
    """1 where ink is: darker than the middle between ink and paper (Otsu)."""
    import cv2

    soft = cv2.GaussianBlur(even, (0, 0), 0.8)
    limit, _ = cv2.threshold(soft, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    return np.asarray((soft < min(limit, 200.0)).astype(np.uint8))


def _largest(lines: Mask, *, speck_px: float) -> tuple[Mask, int]:
    """Without dirt: every blot that is not long is gone. Returns the rest and how many went."""
    import cv2

    count, labels, stats, _ = cv2.connectedComponentsWithStats(lines, ltype=cv2.CV_32S)
    longer = np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT])
    keep = longer >= speck_px
    keep[0] = False
    return keep[labels].astype(np.uint8), int(count - 1 - keep.sum())


def close_gaps(lines: Mask, *, gap_px: float) -> tuple[Mask, int]:
    """Lines whose ends face each other, or another line, are carried on across the gap.

    A gap is where closing the picture would join two separate edges; it is bridged by a straight
    stroke as wide as the line, never by the closed blot. Returns the lines and how many gaps.
    """
    import cv2

    size = max(3, round(gap_px)) | 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    blots = (
        np.asarray(cv2.morphologyEx(lines, cv2.MORPH_CLOSE, kernel)).astype(np.uint8) & ~lines & 1
    )
    count, labels, stats, _ = cv2.connectedComponentsWithStats(blots, ltype=cv2.CV_32S)
    found = lines.copy()
    bridges = 0
    for number in range(1, count):
        x, y, w, h, area = stats[number]
        if area < 4:
            continue
        window = (slice(max(0, y - 2), y + h + 2), slice(max(0, x - 2), x + w + 2))
        blot = (labels[window] == number).astype(np.uint8)
        ends = _contacts(blot, lines[window])
        if len(ends) == 2 and _narrow(blot, ends):
            offset = np.array([window[1].start, window[0].start])
            one, two = (tuple(int(v) for v in np.round(end + offset)) for end in ends)
            width = max(2, round(float(area) / max(1.0, float(np.hypot(*(ends[0] - ends[1]))))))
            cv2.line(found, one, two, 1, min(width, size))
            bridges += 1
    return found, bridges


def _contacts(blot: Mask, lines: Mask) -> list[Floats]:
    """Middles of the separate stretches in which a blot touches the lines, (x, y)."""
    import cv2

    rim = np.asarray(cv2.dilate(blot, np.ones((3, 3), np.uint8))).astype(np.uint8) & lines
    count, _, stats, middles = cv2.connectedComponentsWithStats(rim, connectivity=8)
    return [middles[i] for i in range(1, count) if stats[i, cv2.CC_STAT_AREA] >= 2]


def _narrow(blot: Mask, ends: Sequence[Floats]) -> bool:
    """The blot spans its two contacts like a stroke, rather than filling a corner beside them."""
    across = float(np.hypot(*(ends[0] - ends[1])))
    middle = np.round((ends[0] + ends[1]) / 2.0).astype(int)
    inside = 0 <= middle[1] < blot.shape[0] and 0 <= middle[0] < blot.shape[1]
    return across >= 2.0 and inside and bool(blot[middle[1], middle[0]])


def _outer_and_holes(
    contours: Sequence[Any], tree: Any, *, least_px: float
) -> tuple[Floats | None, list[Floats]]:
    """The outline of the largest connected drawing, and the panes in it, in px."""
    import cv2

    if tree is None:
        return None, []
    areas = np.array([cv2.contourArea(contour) for contour in contours])
    parents = tree[0, :, 3]
    outers = np.flatnonzero(parents < 0)
    outer = int(outers[np.argmax(areas[outers])])
    holes = [
        contours[i][:, 0].astype(np.float64)
        for i in np.flatnonzero(parents == outer).tolist()
        if areas[i] >= least_px
    ]
    return contours[outer][:, 0].astype(np.float64), holes


def _level(outer: Floats) -> Affine:
    """The turn that sets the outline's straight sides upright, if they are askew by up to 5°."""
    import cv2

    corners = cv2.approxPolyDP(outer.astype(np.int32)[:, None], 4.0, True)[:, 0].astype(float)
    edges = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    off = (np.degrees(np.arctan2(edges[:, 1], edges[:, 0])) + 45.0) % 90.0 - 45.0
    straight = (np.abs(off) <= MOST_SKEW_DEG) & (lengths >= 0.15 * lengths.max(initial=0.0))
    if lengths[straight].sum() < 0.3 * lengths.sum():
        return Affine()
    skew = float(np.average(off[straight], weights=lengths[straight]))
    if abs(skew) < LEAST_SKEW_DEG:
        return Affine()
    cos, sin = np.cos(np.radians(-skew)), np.sin(np.radians(-skew))
    return Affine(float(cos), float(sin), float(-sin), float(cos))


def _smooth(ring: Floats, *, half_px: float) -> Floats:
    """A traced ring with the pixel stairs gone, moved out by half a pixel to the pixels' edge.

    Every corner of the trace becomes the mean of its neighbourhood, unless that would move it by
    more than a pixel: there the drawing has a corner.
    """
    reach = round(3.0 * SMOOTH_PX)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / SMOOTH_PX) ** 2)
    weights /= weights.sum()
    if len(ring) < 4 * reach:
        return ring
    padded = np.concatenate([ring[-reach:], ring, ring[:reach]])
    mean = np.stack([np.convolve(padded[:, axis], weights, "valid") for axis in (0, 1)], axis=1)
    along = np.roll(mean, -1, axis=0) - np.roll(mean, 1, axis=0)
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)
    out = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[:, None]
    turning = 1.0 if _signed(ring) > 0.0 else -1.0
    return np.asarray(mean + out * (half_px * turning) + 0.5)


def _signed(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2.0)


def _ring(points: Floats, place: Affine) -> Ring:
    return tuple(place.apply((float(x), float(y))) for x, y in points)


def _net(rings: Sequence[Floats], place: Affine, *, fit_mm: float) -> tuple[Region, ...]:
    """The leading as one area: the outline less the panes, with few corners."""
    whole = Area.of([Region(_ring(rings[0], place))]).simplified(fit_mm)
    panes = [Area.of([Region(_ring(ring, place))]).simplified(fit_mm) for ring in rings[1:]]
    return (whole - Area.union(panes)).regions()


def _colour(rgb: NDArray[np.uint8] | None, hole: Floats) -> str | None:
    """The colour a pane was given: its median, if that is no grey of paper or pencil."""
    import cv2

    assert rgb is not None
    left, top = np.maximum(hole.min(axis=0).astype(int), 0)
    right, bottom = hole.max(axis=0).astype(int) + 1
    mask = np.zeros((bottom - top, right - left), np.uint8)
    cv2.fillPoly(mask, [(hole - (left, top)).astype(np.int32)], 1)
    inner = cv2.erode(mask, np.ones((5, 5), np.uint8))
    pixels = rgb[top:bottom, left:right][(inner if inner.any() else mask) > 0]
    red, green, blue = (int(value) for value in np.median(pixels, axis=0))
    if max(red, green, blue) - min(red, green, blue) < 24:
        return None
    return f"#{red:02x}{green:02x}{blue:02x}"


def _glass(rings: Sequence[Floats], colours: Sequence[str | None], place: Affine) -> Iterator[Mark]:
    for ring, colour in zip(rings, colours, strict=False):
        if colour is not None:
            outline: tuple[Point, ...] = _ring(ring, place)
            if ring_area_mm2(outline):
                yield Mark(paths=((outline, True),), area=(Region(outline),), fill=colour)


def _told(name: str, specks: int, bridges: int, turn: Affine) -> Iterator[Finding]:
    said = []
    if specks:
        said.append(f"{specks} specks under {SPECK_MM} mm left out")
    if bridges:
        said.append(f"{bridges} gaps up to {GAP_MM} mm closed")
    if turn != Affine():
        skew = np.degrees(np.arctan2(-turn.b, turn.a))
        said.append(f"turned upright by {skew:.1f}°")
    for what in said:
        yield Finding(severity=Severity.NOTE, where=name, what=what)
