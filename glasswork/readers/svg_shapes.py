"""Basic shapes of an SVG as subpaths: rectangles, ellipses, lines, polygons."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, pi, sqrt
from xml.etree.ElementTree import Element

from glasswork.model.geometry import Affine, Point
from glasswork.readers.svg_frame import Frame, length
from glasswork.readers.svg_path import Subpath, arc_pieces, numbers, parse_path, unit_arc
from glasswork.readers.svg_tree import local


def subpaths_of(
    element: Element, frame: Frame, *, where: str, broken: Callable[[], None]
) -> list[Subpath]:
    """The subpaths of a path or a basic shape; broken : called if path data has a fault.

    Raises: ReadError, if a length is none
    """

    def get(name: str, of: float) -> float:
        return length(element.get(name, "0"), of, where=where)

    tag, (w, h) = local(element), frame
    if tag == "path":
        return parse_path(element.get("d", ""), broken=broken)
    if tag == "rect":
        size = (get("width", w), get("height", h))
        if size[0] <= 0 or size[1] <= 0:
            return []
        rx, ry = element.get("rx", "auto"), element.get("ry", "auto")
        rx, ry = (ry if rx == "auto" else rx), (rx if ry == "auto" else ry)
        radii = (
            length("0" if rx == "auto" else rx, w, where=where),
            length("0" if ry == "auto" else ry, h, where=where),
        )
        return [rectangle((get("x", w), get("y", h)), size, radii)]
    if tag in ("circle", "ellipse"):
        diagonal = hypot(w, h) / sqrt(2.0)
        rx_mm = get("r", diagonal) if tag == "circle" else get("rx", w)
        ry_mm = get("r", diagonal) if tag == "circle" else get("ry", h)
        if rx_mm <= 0 or ry_mm <= 0:
            return []
        return [ellipse((get("cx", w), get("cy", h)), rx_mm, ry_mm)]
    if tag == "line":
        start, end = (get("x1", w), get("y1", h)), (get("x2", w), get("y2", h))
        return [Subpath(start, [(end,)])]
    values = numbers(element.get("points", ""))
    points = list(zip(values[0::2], values[1::2], strict=False))
    if len(points) < 2:
        return []
    return [Subpath(points[0], [(p,) for p in points[1:]], closed=tag == "polygon")]


def ellipse(centre: Point, rx: float, ry: float) -> Subpath:
    """A whole ellipse, from its right end clockwise as seen on paper."""
    place = Affine(rx, 0.0, 0.0, ry, centre[0], centre[1])
    pieces = [tuple(place.apply(p) for p in piece) for piece in unit_arc(0.0, 2.0 * pi)]
    start = (centre[0] + rx, centre[1])
    pieces[-1] = (*pieces[-1][:2], start)
    return Subpath(start, pieces, closed=True)


def rectangle(corner: Point, size: Point, radii: Point) -> Subpath:
    """A rectangle, its corners rounded if the radii are positive."""
    (x, y), (w, h), (rx, ry) = corner, size, radii
    rx, ry = min(rx, w / 2.0), min(ry, h / 2.0)
    if rx <= 0.0 or ry <= 0.0:
        return Subpath((x, y), [((x + w, y),), ((x + w, y + h),), ((x, y + h),)], closed=True)
    path = Subpath((x + rx, y), closed=True)
    at = path.start
    for line, corner_end in (
        ((x + w - rx, y), (x + w, y + ry)),
        ((x + w, y + h - ry), (x + w - rx, y + h)),
        ((x + rx, y + h), (x, y + h - ry)),
        ((x, y + ry), (x + rx, y)),
    ):
        if line != at:
            path.pieces.append((line,))
        path.pieces += arc_pieces(line, corner_end, (rx, ry, 0.0), flags=(False, True))
        at = corner_end
    return path
