"""Cut files in DXF, read back: the unit and the polylines with their layers.

A DXF text is pairs of lines, a group code and its value. Only what a cut file may hold is read;
anything else that would be cut is refused by name. Source: [dxf-units]
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, pi, sin

from glasswork.errors import ReadError
from glasswork.model.geometry import Box, Point

_INSUNITS = "$INSUNITS"
Tag = tuple[int, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Polyline:
    """points and bulges : y up, in the drawing's unit; a bulge is the tangent of a quarter of the
    angle of the arc that leaves its point, positive against the clock; 0 for a straight line"""

    layer: str
    points: tuple[Point, ...]
    bulges: tuple[float, ...]
    closed: bool

    def reach(self) -> Iterator[Point]:
        """The corners, and the outermost points of the arcs."""
        count = len(self.points) if self.closed else len(self.points) - 1
        yield from self.points
        for i in range(count):
            if self.bulges[i]:
                end = self.points[(i + 1) % len(self.points)]
                yield from _outermost(self.points[i], end, self.bulges[i])


@dataclass(frozen=True, slots=True, kw_only=True)
class DxfDrawing:
    """units : the code of $INSUNITS, 4 for millimetres, 0 where none is told"""

    units: int
    lines: tuple[Polyline, ...]

    def extents(self, layers: frozenset[str]) -> Box:
        """The box of what lies on these layers.

        Raises: ValueError, if nothing does
        """
        chosen = [line for line in self.lines if line.layer.lower() in layers]
        if not chosen:
            raise ValueError("nothing lies on the layers that are cut")
        return Box.around([point for line in chosen for point in line.reach()])


def read_dxf(data: bytes, *, name: str) -> DxfDrawing:
    """Read a cut file.

    Raises: ReadError, if it is no DXF text, is cut short, or holds anything but polylines
    """
    tags = _tags(data, name)
    sections = dict(_sections(tags))
    if "ENTITIES" not in sections or tags[-1] != (0, "EOF"):
        raise ReadError(name, "is cut short, or is no DXF drawing", "write it again")
    header = sections.get("HEADER", ())
    units = next(
        (header[n + 1][1] for n, tag in enumerate(header[:-1]) if tag == (9, _INSUNITS)), "0"
    )
    try:
        lines = tuple(_polyline(one, name) for one in _split(sections["ENTITIES"]))
        return DxfDrawing(units=int(units), lines=lines)
    except ValueError as exc:
        raise ReadError(name, f"holds a value that is no number: {exc}", "write it again") from exc


def _tags(data: bytes, name: str) -> list[Tag]:
    try:
        lines = data.decode("utf-8").splitlines()
        return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    except ValueError as exc:
        raise ReadError(name, f"is no DXF text: {exc}", "write it again") from exc


def _sections(tags: Sequence[Tag]) -> Iterator[tuple[str, Sequence[Tag]]]:
    """Name and tags of each section that is closed."""
    starts = [n for n, tag in enumerate(tags) if tag == (0, "SECTION")]
    for start in starts:
        end = next((n for n in range(start, len(tags)) if tags[n] == (0, "ENDSEC")), None)
        if end is not None and end > start + 1:
            yield tags[start + 1][1], tags[start + 2 : end]


def _split(tags: Sequence[Tag]) -> Iterator[Sequence[Tag]]:
    """The tags of each entity, from its name on."""
    starts = [n for n, (code, _) in enumerate(tags) if code == 0]
    for start, end in pairwise([*starts, len(tags)]):
        yield tags[start:end]


def _polyline(tags: Sequence[Tag], name: str) -> Polyline:
    if tags[0][1] != "LWPOLYLINE":
        raise ReadError(name, f"holds a {tags[0][1]}", "cut files hold polylines alone")
    layer, closed = "0", False
    xs: list[float] = []
    ys: list[float] = []
    bulges: list[float] = []
    for code, value in tags[1:]:
        if code == 8:
            layer = value
        elif code == 70:
            closed = bool(int(value) & 1)
        elif code == 10:
            xs.append(float(value))
            bulges.append(0.0)
        elif code == 20:
            ys.append(float(value))
        elif code == 42:
            bulges[-1] = float(value)
    if len(xs) != len(ys) or not xs:
        raise ReadError(name, "holds a polyline that is cut short", "write it again")
    points = tuple(zip(xs, ys, strict=True))
    return Polyline(layer=layer, points=points, bulges=tuple(bulges), closed=closed)


def _outermost(start: Point, end: Point, bulge: float) -> Iterator[Point]:
    """The points of an arc that lie furthest right, up, left and down."""
    across, up = end[0] - start[0], end[1] - start[1]
    chord = hypot(across, up)
    if chord == 0.0:
        return
    off = (1.0 - bulge**2) / (4.0 * bulge)
    x, y = (start[0] + end[0]) / 2.0 - up * off, (start[1] + end[1]) / 2.0 + across * off
    radius = chord * (1.0 + bulge**2) / (4.0 * abs(bulge))
    first, last = (start, end) if bulge > 0.0 else (end, start)
    begin = atan2(first[1] - y, first[0] - x)
    sweep = (atan2(last[1] - y, last[0] - x) - begin) % (2.0 * pi)
    for quarter in range(4):
        turn = quarter * pi / 2.0
        if (turn - begin) % (2.0 * pi) < sweep:
            yield (x + radius * cos(turn), y + radius * sin(turn))
