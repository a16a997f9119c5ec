"""Line art as an SVG of plain paths in millimetres, to go on drawing with."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from glasswork.model.geometry import Point
from glasswork.model.window import LineArt, Mark


def write_line_art_svg(art: LineArt) -> bytes:
    """Every mark as a path; a user unit is 1 mm. Read again, it gives the same marks."""
    w, h = art.size_mm
    body = "\n".join(part for mark in art.marks for part in _mark(mark))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w:.6f}mm" height="{h:.6f}mm" '
        f'viewBox="0 0 {w:.6f} {h:.6f}">\n<title>{escape(art.name)}</title>\n{body}\n</svg>\n'
    ).encode()


def _d(points: Sequence[Point], *, closed: bool) -> str:
    return "M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in points) + ("Z" if closed else "")


def _names(mark: Mark) -> str:
    names = " ".join(name for name in mark.names if name and " " not in name)
    return f' class="{escape(names, quote=True)}"' if names else ""


def _mark(mark: Mark) -> list[str]:
    names = _names(mark)
    found = []
    if mark.fill is not None and mark.area:
        d = "".join(_d(ring, closed=True) for region in mark.area for ring in region.rings)
        found.append(f'<path{names} d="{d}" fill="{mark.fill}" fill-rule="evenodd"/>')
    if mark.stroke is not None:
        d = "".join(_d(points, closed=closed) for points, closed in mark.paths)
        more = ""
        if mark.dashes_mm:
            dashes = " ".join(f"{dash:.6f}" for dash in mark.dashes_mm)
            more = f' stroke-dasharray="{dashes}" stroke-dashoffset="{mark.dash_offset_mm:.6f}"'
        found.append(
            f'<path{names} d="{d}" fill="none" stroke="{mark.stroke}" '
            f'stroke-width="{mark.width_mm:.6f}" stroke-linecap="{mark.cap}" '
            f'stroke-linejoin="{mark.join}" stroke-miterlimit="{mark.miter_limit:g}"{more}/>'
        )
    return found
