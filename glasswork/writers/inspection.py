"""A drawing with the places of an inspection's findings marked on it, as SVG or PNG."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Box, Point, Region
from glasswork.model.window import LineArt, Role, Window

_COLOURS = {
    Severity.DECISION: "#d0021b",
    Severity.WARNING: "#e07b00",
    Severity.NOTE: "#1766b5",
}
_MEMBERS = {
    Role.BORDER: "#20242a",
    Role.MULLION: "#2f3a46",
    Role.BAR: "#3c4a58",
    Role.LEAD: "#4b5563",
    Role.PAINT: "#7a5c3a",
}
_GLASS = "#e9eef2"
LISTED = 24
"""Findings that are written out beside the drawing; all are marked."""


def write_inspection_svg(art: LineArt, window: Window | None, findings: Sequence[Finding]) -> bytes:
    """The drawing in grey, numbered rings where something was found, and the list beside it.

    art : in panel millimetres, drawn where there is no window
    findings : places in panel millimetres; those without a place are only listed
    """
    drawn = window.box if window is not None else _box(art)
    size = max(drawn.width, drawn.height, 1.0)
    unit = size / 100.0
    margin = 5.0 * unit
    listed = findings[:LISTED]
    text_wide = 95.0 * unit if listed else 0.0
    lines = [line for number, f in enumerate(listed, 1) for line in _entry(number, f)]
    if len(findings) > LISTED:
        lines.append((f"and {len(findings) - LISTED} more, marked on the drawing", "#333333"))
    high = max(drawn.height + 2.0 * margin, 2.6 * unit * (len(lines) + 2))
    wide = drawn.width + 2.0 * margin + text_wide
    left, top = drawn.left - margin, drawn.top - margin
    body = _window(window) if window is not None else _art(art)
    marks = "\n".join(_mark(n, f, unit) for n, f in enumerate(findings, 1) if f.place is not None)
    x = drawn.right + 1.5 * margin
    words = "\n".join(
        f'<text x="{x:.3f}" y="{top + 2.6 * unit * (row + 2):.3f}" fill="{colour}">'
        f"{escape(line)}</text>"
        for row, (line, colour) in enumerate(lines)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{high:.3f}mm" '
        f'viewBox="{left:.3f} {top:.3f} {wide:.3f} {high:.3f}">\n'
        f"<title>{escape(art.name)}: inspected</title>\n"
        f'<rect x="{left:.3f}" y="{top:.3f}" width="{wide:.3f}" height="{high:.3f}" '
        f'fill="#ffffff"/>\n{body}\n<g fill="none" stroke-width="{0.45 * unit:.4f}">\n{marks}\n</g>'
        f'\n<g font-family="sans-serif" font-size="{1.7 * unit:.4f}">\n{words}\n</g>\n</svg>\n'
    ).encode()


def write_inspection_png(
    art: LineArt, window: Window | None, findings: Sequence[Finding], *, width_px: int = 1800
) -> bytes:
    """The same picture as PNG.

    Raises: ReadError, if the cairo library is missing
    """
    svg = write_inspection_svg(art, window, findings)
    try:
        import cairosvg
    except OSError as exc:
        from glasswork.errors import ReadError

        raise ReadError(
            art.name,
            "the marked picture needs the cairo library, which is missing",
            "install it (Debian: apt install libcairo2), or take the SVG",
        ) from exc
    png: bytes = cairosvg.svg2png(bytestring=svg, output_width=width_px)
    return png


def _box(art: LineArt) -> Box:
    points = [point for mark in art.marks for path, _ in mark.paths for point in path]
    return Box.around(points) if points else Box(0.0, 0.0, *art.size_mm)


def _entry(number: int, finding: Finding) -> list[tuple[str, str]]:
    """A finding as lines of text with their colour: what, and the hint."""
    colour = _COLOURS[finding.severity]
    head = f"{number}  {finding.severity.value}: {finding.where.split(', ', 1)[-1]}"
    rest = [head, *_wrapped(finding.what, 88)]
    if finding.hint:
        rest += _wrapped(f"→ {finding.hint}", 88)
    return [(rest[0], colour), *((f"    {line}", "#333333") for line in rest[1:])]


def _wrapped(text: str, most: int) -> list[str]:
    import textwrap

    return textwrap.wrap(text, most)


def _d(points: Sequence[Point], *, closed: bool = True) -> str:
    return "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in points) + ("Z" if closed else "")


def _region(region: Region) -> str:
    return "".join(_d(ring) for ring in region.rings)


def _window(window: Window) -> str:
    glass = "\n".join(
        f'<path d="{_region(pane.region)}" fill="{pane.fill or _GLASS}" fill-opacity="0.45"/>'
        for pane in window.panes
    )
    leads = "\n".join(
        f'<path d="{"".join(_region(r) for r in member.area)}" fill="{_MEMBERS[member.role]}"/>'
        for member in window.members
    )
    paint = "\n".join(
        f'<path d="{"".join(_region(r) for r in stroke.area)}" fill="{_MEMBERS[Role.PAINT]}"/>'
        for stroke in window.paint
    )
    return f'<g fill-rule="evenodd">\n{glass}\n{leads}\n{paint}\n</g>'


def _art(art: LineArt) -> str:
    found = []
    for mark in art.marks:
        if mark.fill is not None:
            d = "".join(_region(region) for region in mark.area)
            found.append(f'<path d="{d}" fill="{mark.fill}" fill-rule="evenodd"/>')
        if mark.stroke is not None:
            d = "".join(_d(points, closed=closed) for points, closed in mark.paths)
            found.append(
                f'<path d="{d}" fill="none" stroke="{mark.stroke}" '
                f'stroke-width="{mark.width_mm:.4f}"/>'
            )
    return f'<g opacity="0.55">{"".join(found)}</g>'


def _mark(number: int, finding: Finding, unit: float) -> str:
    assert finding.place is not None
    x, y = finding.place
    colour = _COLOURS[finding.severity]
    return (
        f'<circle cx="{x:.4f}" cy="{y:.4f}" r="{1.6 * unit:.4f}" stroke="#ffffff" '
        f'stroke-width="{0.9 * unit:.4f}"/>'
        f'<circle cx="{x:.4f}" cy="{y:.4f}" r="{1.6 * unit:.4f}" stroke="{colour}"/>'
        f'<text x="{x + 1.9 * unit:.4f}" y="{y - 1.1 * unit:.4f}" fill="{colour}" stroke="none" '
        f'font-family="sans-serif" font-weight="bold" font-size="{2.0 * unit:.4f}">{number}</text>'
    )
