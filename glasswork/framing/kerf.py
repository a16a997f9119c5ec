"""Cut paths: the finished shape with half the kerf added, in the order of cutting."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, hypot, pi
from statistics import median

import numpy as np
from msgspec.structs import replace

from glasswork.errors import FrameError
from glasswork.framing.arcs import with_arcs
from glasswork.framing.offset import offset_outline, offset_rings
from glasswork.model.frame import CutPath, Cutter, FrameLayer
from glasswork.model.geometry import Affine, Box, Point, Region, Ring, ring_area_mm2

ORDER = ("engrave", "score", "hole", "inside", "outline")
"""Operations in the order of cutting: what lies inside comes before what frees the part."""
LARGEST_PIN_MM = 3.0
LEAST_STRAIGHT_MM = 1.0
_FEW = 12
_ROUND_SHARE = 0.005


def cut_paths(layer: FrameLayer, cutter: Cutter) -> tuple[CutPath, ...]:
    """The paths of a layer in file mm, inside before outside.

    Raises: FrameError, if a hole or part is narrower than the kerf
    """
    kerf = cutter.kerf_for(layer.thickness_mm)
    cut = [
        _placed(path, layer.panel_to_file)
        for number, piece in enumerate(layer.pieces, start=1)
        for path in piece_paths(piece, kerf, label=f"{layer.file} {number}")
    ]
    return ordered((*layer.marks, *cut))


def _placed(path: CutPath, place: Affine) -> CutPath:
    """A path moved, and mirrored where the map mirrors: front and back keep the same curves."""
    bulges = tuple(-bulge for bulge in path.bulges) if place.mirrors else path.bulges
    return replace(path, points=place.ring(path.points), bulges=bulges)


def piece_paths(piece: Region, kerf_mm: float, *, label: str) -> tuple[CutPath, ...]:
    """One part's paths: outline half a kerf outside it, holes half a kerf inside them.

    Raises: FrameError, if the part or a hole is narrower than the kerf
    """
    outer = offset_outline(piece.outer, kerf_mm / 2.0)
    inner = offset_rings(piece.holes, -kerf_mm / 2.0)
    if len(outer) != 1:
        raise FrameError(label, "the part closes on itself within the kerf", "widen its slots")
    for hole, left in zip(piece.holes, inner, strict=True):
        if not left:
            box = Box.around(hole)
            raise FrameError(
                label,
                f"the opening of {box.width:.2f} x {box.height:.2f} mm at "
                f"({box.centre[0]:.1f}, {box.centre[1]:.1f}) is narrower than the kerf of "
                f"{kerf_mm:g} mm",
                "widen it, print the members round it, or choose a cutter with less kerf",
            )
    paths = [
        _opening(hole, ring, kerf_mm, label)
        for hole, left in zip(piece.holes, inner, strict=True)
        for ring in left
    ]
    bays = outer[0].holes  # closed off by a mouth narrower than the kerf
    paths += [CutPath(operation="inside", points=_started(bay), label=label) for bay in bays]
    edge = CutPath(operation="outline", points=_started(outer[0].outer), label=label)
    return (*paths, with_arcs(edge))


def _opening(hole: Ring, left: Ring, kerf_mm: float, label: str) -> CutPath:
    """The path inside an opening; a round hole is two half circles."""
    round_ = circle_of(hole)
    if round_ is None:
        return with_arcs(CutPath(operation="inside", points=_started(left), label=label))
    (x, y), radius = round_[0], round_[1] - kerf_mm / 2.0
    return CutPath(
        operation="hole", points=((x - radius, y), (x + radius, y)), bulges=(1.0, 1.0), label=label
    )


def ordered(paths: Iterable[CutPath]) -> tuple[CutPath, ...]:
    """Operation by operation in the order of cutting; within one, as they come."""
    return tuple(sorted(paths, key=lambda path: ORDER.index(path.operation)))


def circle_of(ring: Ring) -> tuple[Point, float] | None:
    """Centre and radius of a pin hole: a small circle drawn with many corners; else None."""
    if len(ring) < 24:
        return None
    cx = sum(x for x, _ in ring) / len(ring)
    cy = sum(y for _, y in ring) / len(ring)
    radii = [hypot(x - cx, y - cy) for x, y in ring]
    radius = sum(radii) / len(radii)
    if radius > LARGEST_PIN_MM or max(radii) - min(radii) > _ROUND_SHARE * radius:
        return None
    return (cx, cy), radius


def _started(ring: Ring) -> tuple[Point, ...]:
    """The ring begun away from corners, clockwise as seen.

    It begins in the middle of its longest straight; a ring of short chords alone begins where it
    turns least.
    """
    if len(ring) < _FEW:
        return _started_few(ring)
    points = np.asarray(ring if ring_area_mm2(ring) > 0.0 else ring[::-1], dtype=np.float64)
    edges = np.roll(points, -1, axis=0) - points
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    longest = int(np.argmax(lengths))
    if lengths[longest] > max(LEAST_STRAIGHT_MM, 2.0 * median(lengths.tolist())):
        middle = points[longest] + edges[longest] / 2.0
        turned = np.vstack([middle, np.roll(points, -longest - 1, axis=0)])
    else:
        headings = np.arctan2(edges[:, 1], edges[:, 0])
        turns = np.abs((headings - np.roll(headings, 1) + pi) % (2.0 * pi) - pi)
        turned = np.roll(points, -int(np.argmin(turns)), axis=0)
    return tuple((x, y) for x, y in turned.tolist())


def _started_few(ring: Ring) -> tuple[Point, ...]:
    """The same for a ring of few corners, begun in the middle of its longest side."""
    points = ring if ring_area_mm2(ring) > 0.0 else ring[::-1]
    after = (*points[1:], points[0])
    lengths = [hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in zip(points, after, strict=True)]
    i = lengths.index(max(lengths))
    (ax, ay), (bx, by) = points[i], after[i]
    return (((ax + bx) / 2.0, (ay + by) / 2.0), *points[i + 1 :], *points[: i + 1])


def file_place(
    pieces: Sequence[Region], *, mirrored: bool, margin_mm: float
) -> tuple[Affine, tuple[float, float]]:
    """The map from panel to file, and the file's size, with a margin round the pieces."""
    box = Box.around(point for piece in pieces for point in piece.outer)
    size = (_tenth_up(box.width + 2.0 * margin_mm), _tenth_up(box.height + 2.0 * margin_mm))
    if mirrored:
        return Affine(a=-1.0, d=1.0, e=box.right + margin_mm, f=margin_mm - box.top), size
    return Affine.shift(margin_mm - box.left, margin_mm - box.top), size


def _tenth_up(mm: float) -> float:
    return ceil(mm * 10.0 - 1e-6) / 10.0
