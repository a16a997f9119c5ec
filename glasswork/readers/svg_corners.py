"""Corners of SVG shapes in millimetres, curves made straight."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from msgspec import Struct

from glasswork.errors import ReadError
from glasswork.model.geometry import Affine, Point
from glasswork.planar import Area
from glasswork.readers.svg_frame import Frame
from glasswork.readers.svg_marks import Paths
from glasswork.readers.svg_path import Subpath, flat_lines, flatten, parse_path, path_parts
from glasswork.readers.svg_shapes import subpaths_of
from glasswork.readers.svg_tree import local

REACH_MM = 1e6
SHAPES = frozenset(("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))


class State(Struct, frozen=True):
    """What an element inherits: map to mm, style, group opacity, names, clip, depth."""

    ctm: Affine
    style: dict[str, str]
    frame: Frame
    opacity: float = 1.0
    names: tuple[str, ...] = ()
    clip: Area | None = None
    depth: int = 0


@dataclass(slots=True)
class Corners:
    """Reads shapes. name : of the drawing · note : is told what is doubtful"""

    name: str
    tolerance_mm: float
    note: Callable[[str], None]
    _broken: bool = False

    def flat(self, element: Element, state: State) -> Paths:
        """A shape's paths in mm, each with whether it is closed.

        Raises: ReadError, if a corner lies beyond all reason
        """
        found = []
        for points, closed, dot in self._corners(element, state):
            for x, y in points:
                if not (abs(x) < REACH_MM and abs(y) < REACH_MM):
                    what = f"a coordinate of {x:.3g}, {y:.3g} mm lies beyond {REACH_MM:.0e} mm"
                    raise ReadError(self.place(element), what, "bring the shape into the drawing")
            if len(points) > 1 or dot:
                found.append((points, closed))
        return tuple(found)

    def box_of(self, element: Element, state: State) -> tuple[float, float, float, float] | None:
        """Bounding box of a shape in its own units: left, top, width, height."""
        if local(element) not in SHAPES:
            return None
        points = [
            point
            for path in self._subpaths(element, state.frame)
            for point in flatten(path, Affine(), tolerance_mm=self.tolerance_mm)
        ]
        if not points:
            return None
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return (min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))

    def _corners(
        self, element: Element, state: State
    ) -> Iterator[tuple[tuple[Point, ...], bool, bool]]:
        """Each subpath's corners in mm, whether it is closed, and whether it is at least a dot."""
        if local(element) != "path":
            yield from self._flattened(self._subpaths(element, state.frame), state.ctm)
            return
        self._broken = False
        for data, corners, closed in path_parts(element.get("d", "")):
            if corners is None:
                paths = parse_path(data, broken=self._broken_path)
                yield from self._flattened(paths, state.ctm)
            elif closed or len(corners) > 1:
                yield flat_lines(corners, state.ctm, closed=closed), closed, True
            if self._broken:
                return

    def _flattened(
        self, paths: Sequence[Subpath], ctm: Affine
    ) -> Iterator[tuple[tuple[Point, ...], bool, bool]]:
        for path in paths:
            points = flatten(path, ctm, tolerance_mm=self.tolerance_mm)
            yield points, path.closed, path.closed or bool(path.pieces)

    def place(self, element: Element) -> str:
        """Where an element is, for a fault."""
        name = element.get("id") or local(element)
        return f"{self.name}, {name}"

    def _subpaths(self, element: Element, frame: Frame) -> list[Subpath]:
        where = self.place(element)
        return subpaths_of(element, frame, where=where, broken=self._broken_path)

    def _broken_path(self) -> None:
        self._broken = True
        self.note("a path's data is broken: it is read up to the fault")
