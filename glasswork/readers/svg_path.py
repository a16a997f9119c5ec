"""Path data and transforms of an SVG, as control points in user units.

A subpath is a start point, pieces that are lines (one point) or cubic curves (three), and a
closed flag. Arcs become cubic curves of at most 45°, off by under 5 millionths of the radius.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from math import acos, ceil, cos, hypot, pi, radians, sin, sqrt, tan
from operator import eq

from glasswork.model.geometry import Affine, Point

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_ARC = re.compile(
    r"\s*,?\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)[\s,]*"
    r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)[\s,]*"
    r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)[\s,]*([01])[\s,]*([01])[\s,]*"
    r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)[\s,]*"
    r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
)
_BEYOND_LINES = re.compile(r"[^LZz\d\s.,+\-]")
_TRANSFORM = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}

Piece = tuple[Point, ...]


@dataclass(slots=True)
class Subpath:
    """One stroke of the pen: a start, then lines (p,) and cubic curves (c1, c2, p)."""

    start: Point
    pieces: list[Piece] = field(default_factory=list)
    closed: bool = False


def numbers(text: str) -> list[float]:
    """Every number in a list such as points, viewBox or a dash array."""
    return [float(found) for found in _NUMBER.findall(text)]


def parse_transform(text: str) -> Affine:
    """A transform attribute; the leftmost function is the outermost. Unknown ones are ignored."""
    total = Affine()
    for name, body in _TRANSFORM.findall(text):
        total = _transform(name, numbers(body)).then(total)
    return total


def _transform(name: str, v: list[float]) -> Affine:
    if name == "matrix" and len(v) == 6:
        return Affine(*v)
    if name == "translate" and v:
        return Affine.shift(v[0], v[1] if len(v) > 1 else 0.0)
    if name == "scale" and v:
        return Affine.scale(v[0], v[1] if len(v) > 1 else None)
    if name == "rotate" and v:
        c, s = cos(radians(v[0])), sin(radians(v[0]))
        turn = Affine(c, s, -s, c, 0.0, 0.0)
        if len(v) < 3:
            return turn
        return Affine.shift(-v[1], -v[2]).then(turn).then(Affine.shift(v[1], v[2]))
    if name == "skewX" and v:
        return Affine(c=tan(radians(v[0])))
    if name == "skewY" and v:
        return Affine(b=tan(radians(v[0])))
    return Affine()


# -- path data -----------------------------------------------------------------------------------


class _Pen:
    """Follows path commands; remembers what smooth curves and closings need."""

    __slots__ = ("at", "mirror", "smooth", "subpaths")

    def __init__(self) -> None:
        self.subpaths: list[Subpath] = []
        self.at: Point = (0.0, 0.0)
        self.mirror: Point = (0.0, 0.0)
        self.smooth = ""

    def move(self, to: Point) -> None:
        self.subpaths.append(Subpath(to))
        self.at = to

    def _path(self) -> Subpath:
        if not self.subpaths or self.subpaths[-1].closed:
            self.subpaths.append(Subpath(self.at))
        return self.subpaths[-1]

    def line(self, to: Point) -> None:
        self._path().pieces.append((to,))
        self.at = to

    def cubic(self, one: Point, two: Point, to: Point) -> None:
        self._path().pieces.append((one, two, to))
        self.at = to

    def quadratic(self, control: Point, to: Point) -> None:
        (x0, y0), (cx, cy), (x1, y1) = self.at, control, to
        one = (x0 + 2.0 * (cx - x0) / 3.0, y0 + 2.0 * (cy - y0) / 3.0)
        two = (x1 + 2.0 * (cx - x1) / 3.0, y1 + 2.0 * (cy - y1) / 3.0)
        self.cubic(one, two, to)

    def close(self) -> None:
        if self.subpaths and not self.subpaths[-1].closed:
            self.subpaths[-1].closed = True
            self.at = self.subpaths[-1].start


def parse_path(data: str, *, broken: Callable[[], None] | None = None) -> list[Subpath]:
    """Path data up to its first fault, as renderers do; what precedes it counts.

    broken : called if there is such a fault
    """
    broken = broken or _nothing
    pen = _Pen()
    for command, body in _COMMAND.findall(data):
        if not pen.subpaths and command not in "Mm":
            broken()
            break
        if command in "Zz":
            pen.close()
            pen.smooth = ""
            continue
        kind = command.upper()
        values = _arc_values(body) if kind == "A" else [float(n) for n in _NUMBER.findall(body)]
        arity = _ARITY[kind]
        whole = len(values) - len(values) % arity
        for index in range(0, whole, arity):
            _DRAW[kind](pen, values[index : index + arity], command.islower())
            if kind == "M":
                kind = "L"
        if whole < len(values) or not values:
            broken()
            break
    return [path for path in pen.subpaths if path.pieces or path.closed]


def path_parts(data: str) -> Iterator[tuple[str, list[Point] | None, bool]]:
    """The subpaths of a path one by one: its data, and its corners and whether it is closed if it
    holds nothing but absolute straight lines, which is far faster to read.
    """
    if "m" in data or not data.lstrip().startswith("M"):
        yield data, None, False
        return
    for part in data.split("M")[1:]:
        corners = None
        body, end, rest = part.replace("z", "Z").partition("Z")
        if not _BEYOND_LINES.search(part) and not rest.strip():
            pairs = [pair.split() for pair in body.replace(",", " ").split("L")]
            try:
                corners = [(float(x), float(y)) for x, y in pairs]
            except ValueError:  # several corners after one letter, or a fault
                corners = None
        yield f"M{part}", corners, bool(end)


def _nothing() -> None:
    """Nobody wants to know."""


def _arc_values(body: str) -> list[float]:
    values: list[float] = []
    at = 0
    while match := _ARC.match(body, at):
        values += [float(group) for group in match.groups()]
        at = match.end()
    return values


def _points(pen: _Pen, v: list[float], relative: bool) -> list[Point]:
    ox, oy = pen.at if relative else (0.0, 0.0)
    return [(v[i] + ox, v[i + 1] + oy) for i in range(0, len(v), 2)]


def _draw_move(pen: _Pen, v: list[float], relative: bool) -> None:
    pen.move(_points(pen, v, relative)[0])
    pen.smooth = ""


def _draw_line(pen: _Pen, v: list[float], relative: bool) -> None:
    pen.line(_points(pen, v, relative)[0])
    pen.smooth = ""


def _draw_across(pen: _Pen, v: list[float], relative: bool) -> None:
    pen.line((v[0] + (pen.at[0] if relative else 0.0), pen.at[1]))
    pen.smooth = ""


def _draw_down(pen: _Pen, v: list[float], relative: bool) -> None:
    pen.line((pen.at[0], v[0] + (pen.at[1] if relative else 0.0)))
    pen.smooth = ""


def _reflected(pen: _Pen, kind: str) -> Point:
    if pen.smooth != kind:
        return pen.at
    return (2.0 * pen.at[0] - pen.mirror[0], 2.0 * pen.at[1] - pen.mirror[1])


def _draw_cubic(pen: _Pen, v: list[float], relative: bool) -> None:
    one, two, to = _points(pen, v, relative)
    pen.cubic(one, two, to)
    pen.mirror, pen.smooth = two, "C"


def _draw_smooth_cubic(pen: _Pen, v: list[float], relative: bool) -> None:
    two, to = _points(pen, v, relative)
    pen.cubic(_reflected(pen, "C"), two, to)
    pen.mirror, pen.smooth = two, "C"


def _draw_quadratic(pen: _Pen, v: list[float], relative: bool) -> None:
    control, to = _points(pen, v, relative)
    pen.quadratic(control, to)
    pen.mirror, pen.smooth = control, "Q"


def _draw_smooth_quadratic(pen: _Pen, v: list[float], relative: bool) -> None:
    (to,) = _points(pen, v, relative)
    control = _reflected(pen, "Q")
    pen.quadratic(control, to)
    pen.mirror, pen.smooth = control, "Q"


def _draw_arc(pen: _Pen, v: list[float], relative: bool) -> None:
    (to,) = _points(pen, v[5:], relative)
    for piece in arc_pieces(pen.at, to, (v[0], v[1], v[2]), flags=(v[3] != 0, v[4] != 0)):
        if len(piece) == 1:
            pen.line(piece[0])
        else:
            pen.cubic(*piece)
    pen.smooth = ""


_DRAW: dict[str, Callable[[_Pen, list[float], bool], None]] = {
    "M": _draw_move,
    "L": _draw_line,
    "H": _draw_across,
    "V": _draw_down,
    "C": _draw_cubic,
    "S": _draw_smooth_cubic,
    "Q": _draw_quadratic,
    "T": _draw_smooth_quadratic,
    "A": _draw_arc,
}


# -- arcs ----------------------------------------------------------------------------------------


def arc_pieces(
    start: Point, end: Point, shape: tuple[float, float, float], *, flags: tuple[bool, bool]
) -> Iterator[Piece]:
    """An elliptic arc as cubic curves.

    shape : radii and the turn of the x axis in degrees
    flags : large arc, sweep
    Source: [svg2-arcs]
    """
    rx, ry, turn = abs(shape[0]), abs(shape[1]), radians(shape[2])
    if start == end:
        return
    if rx == 0.0 or ry == 0.0:
        yield (end,)
        return
    c, s = cos(turn), sin(turn)
    dx, dy = (start[0] - end[0]) / 2.0, (start[1] - end[1]) / 2.0
    x1, y1 = c * dx + s * dy, -s * dx + c * dy
    grow = sqrt((x1 / rx) ** 2 + (y1 / ry) ** 2)
    if grow > 1.0:
        rx, ry = rx * grow, ry * grow
    den = (rx * y1) ** 2 + (ry * x1) ** 2
    root = sqrt(max(0.0, ((rx * ry) ** 2 - den) / den)) * (-1.0 if flags[0] == flags[1] else 1.0)
    cx1, cy1 = root * rx * y1 / ry, -root * ry * x1 / rx
    cx = c * cx1 - s * cy1 + (start[0] + end[0]) / 2.0
    cy = s * cx1 + c * cy1 + (start[1] + end[1]) / 2.0
    begin = _angle((1.0, 0.0), ((x1 - cx1) / rx, (y1 - cy1) / ry))
    sweep = _angle(((x1 - cx1) / rx, (y1 - cy1) / ry), ((-x1 - cx1) / rx, (-y1 - cy1) / ry))
    if flags[1] and sweep < 0.0:
        sweep += 2.0 * pi
    elif not flags[1] and sweep > 0.0:
        sweep -= 2.0 * pi
    place = Affine(rx * c, rx * s, -ry * s, ry * c, cx, cy)
    pieces = list(unit_arc(begin, sweep))
    for index, piece in enumerate(pieces):
        one, two, to = (place.apply(p) for p in piece)
        yield (one, two, end if index == len(pieces) - 1 else to)


def _angle(u: Point, v: Point) -> float:
    size = hypot(*u) * hypot(*v)
    if size == 0.0:
        return 0.0
    angle = acos(max(-1.0, min(1.0, (u[0] * v[0] + u[1] * v[1]) / size)))
    return -angle if u[0] * v[1] - u[1] * v[0] < 0.0 else angle


def unit_arc(begin: float, sweep: float) -> Iterator[Piece]:
    count = max(1, ceil(abs(sweep) / (pi / 4.0) - 1e-9))
    step = sweep / count
    k = 4.0 / 3.0 * tan(step / 4.0)
    for index in range(count):
        a, b = begin + index * step, begin + (index + 1) * step
        yield (
            (cos(a) - k * sin(a), sin(a) + k * cos(a)),
            (cos(b) + k * sin(b), sin(b) - k * cos(b)),
            (cos(b), sin(b)),
        )


# -- flattening ----------------------------------------------------------------------------------


def flatten(path: Subpath, ctm: Affine, *, tolerance_mm: float) -> tuple[Point, ...]:
    """The subpath as corners of straight lines, no farther off than the tolerance.

    ctm : user units to mm
    Repeated points are dropped; of a closed one the first is not repeated at the end.
    Source: the chord count is Wang's bound on a cubic's second differences [wang1984]
    """
    a, b, c, d, e, f = ctm
    x0, y0 = path.start
    x0, y0 = a * x0 + c * y0 + e, b * x0 + d * y0 + f
    points = [(x0, y0)]
    for piece in path.pieces:
        if len(piece) == 1:
            ((x, y),) = piece
            points.append((a * x + c * y + e, b * x + d * y + f))
            continue
        p1, p2, p3 = [(a * x + c * y + e, b * x + d * y + f) for x, y in piece]
        points += _chords(points[-1], p1, p2, p3, tolerance_mm)
    return _plain(points, closed=path.closed)


def flat_lines(points: list[Point], ctm: Affine, *, closed: bool) -> tuple[Point, ...]:
    """Corners of straight lines in mm, as `flatten` makes them."""
    return _plain(list(ctm.ring(tuple(points))), closed=closed)


def _plain(points: list[Point], *, closed: bool) -> tuple[Point, ...]:
    """The corners without those told twice."""
    kept = points
    if True in map(eq, points, points[1:]):
        kept = [points[0], *(b for a, b in pairwise(points) if a != b)]
    if closed and len(kept) > 1 and _same(kept[0], kept[-1]):
        kept = kept[:-1]
    return tuple(kept)


def _same(one: Point, two: Point) -> bool:
    return abs(one[0] - two[0]) < 1e-9 and abs(one[1] - two[1]) < 1e-9


def _chords(p0: Point, p1: Point, p2: Point, p3: Point, tolerance: float) -> Iterator[Point]:
    second = max(
        hypot(p0[0] - 2.0 * p1[0] + p2[0], p0[1] - 2.0 * p1[1] + p2[1]),
        hypot(p1[0] - 2.0 * p2[0] + p3[0], p1[1] - 2.0 * p2[1] + p3[1]),
    )
    chords = min(2000, max(1, ceil(sqrt(0.75 * second / tolerance))))
    for index in range(1, chords):
        t = index / chords
        u = 1.0 - t
        k0, k1, k2, k3 = u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t
        yield (
            k0 * p0[0] + k1 * p1[0] + k2 * p2[0] + k3 * p3[0],
            k0 * p0[1] + k1 * p1[1] + k2 * p2[1] + k3 * p3[1],
        )
    yield p3
