"""Cut files as SVG: one user unit is a millimetre, one group an operation."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import atan, hypot, pi, sin

from glasswork.model.frame import CutPath
from glasswork.model.geometry import Point, Regions

OPERATIONS = ("engrave", "score", "hole", "inside", "outline")
GROUPS = {"hole": "holes", "inside": "inside", "outline": "outline", "score": "score",
          "engrave": "engrave"}  # fmt: skip
"""Group name of each operation, in the order of cutting in OPERATIONS."""
LINE_MM = 0.1
DIGITS = 5


def write_cut_svg(paths: Sequence[CutPath], size_mm: tuple[float, float], *, title: str) -> bytes:
    """Cut paths as an SVG drawing of this size.

    Each operation is a group of its own name; colours carry no meaning, every line is black.
    """
    groups = []
    for operation in OPERATIONS:
        mine = [path for path in paths if path.operation == operation]
        if mine:
            lines = "\n".join(f'  <path d="{path_data(path)}"/>' for path in mine)
            name = GROUPS[operation]
            groups.append(f'<g id="{name}" data-operation="{operation}">\n{lines}\n</g>')
    return _document("\n".join(groups), size_mm, title)


def write_outline_svg(regions: Regions, size_mm: tuple[float, float], *, title: str) -> bytes:
    """Finished outlines as they are, holes before outlines."""
    paths = [
        CutPath(operation=operation, points=ring)
        for operation, rings in (
            ("hole", [hole for region in regions for hole in region.holes]),
            ("outline", [region.outer for region in regions]),
        )
        for ring in rings
    ]
    return write_cut_svg(paths, size_mm, title=title)


def path_data(path: CutPath) -> str:
    """The path in SVG's own words: lines as L, arcs as A."""
    points = path.points
    bulges = path.bulges or (0.0,) * len(points)
    words = [f"M{_pair(points[0])}"]
    count = len(points) if path.closed else len(points) - 1
    for i in range(count):
        end = points[(i + 1) % len(points)]
        if bulges[i]:
            words.append(_arc(points[i], end, bulges[i]))
        elif not (path.closed and i == count - 1):
            words.append(f"L{_pair(end)}")
    return "".join(words) + ("Z" if path.closed else "")


def _arc(start: Point, end: Point, bulge: float) -> str:
    half = 2.0 * atan(abs(bulge))
    radius = hypot(end[0] - start[0], end[1] - start[1]) / (2.0 * sin(half))
    large, sweep = int(2.0 * half > pi), int(bulge > 0.0)
    return f"A{_number(radius)} {_number(radius)} 0 {large} {sweep} {_pair(end)}"


def _number(value: float) -> str:
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _pair(point: Point) -> str:
    return f"{_number(point[0])} {_number(point[1])}"


def _document(body: str, size_mm: tuple[float, float], title: str) -> bytes:
    width, height = (_number(side) for side in size_mm)
    name = escape(title, quote=False)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">\n'
        f"<title>{name}</title>\n"
        f'<g id="cut" fill="none" stroke="black" stroke-width="{LINE_MM}" '
        f'stroke-linecap="round" stroke-linejoin="round">\n{body}\n</g>\n</svg>\n'
    ).encode()
