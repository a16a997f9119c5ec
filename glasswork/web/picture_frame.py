"""Pictures of the frame: pulled apart, in section, with its weak places, on its sheets."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from glasswork.model.words import counted
from glasswork.web.picture import BOARD_HIGH, LEAD
from glasswork.web.sketch import FrameSketch, LayerSketch, SheetSketch, Sketch


def exploded_svg(sketch: Sketch, frame: FrameSketch, fills: Mapping[str, str]) -> str:
    """The layers one behind the other, front at the lower left."""
    width, height = sketch.size_mm
    layers: list[tuple[str, str]] = [
        (f"{layer.face} {layer.level}, {layer.thickness_mm:g} mm", _board(layer))
        for layer in frame.layers
        if layer.level in ("inner", "outer", "retainer")
    ]
    front = [one for one in layers if one[0].startswith("front")]
    rest = [one for one in layers if not one[0].startswith("front")]
    glass = "".join(f'<path d="{p.d}" fill="{fills[p.id]}"/>' for p in sketch.panes)
    film = (
        counted(frame.films, "film"),
        f'<g fill-opacity="0.9">{glass}</g><path d="{frame.printed}" fill="{LEAD}"/>',
    )
    order = [*front, film, *rest]
    dx, dy = 0.78 * width, 0.07 * height
    total_w = 0.72 * width + dx * (len(order) - 1) + 0.3 * width
    total_h = height * 1.1 + dy * (len(order) - 1) + 0.09 * total_w + 0.08 * width
    parts, names = [], []
    size = 0.02 * max(total_w, total_h / 1.2)
    for number, (name, body) in reversed(list(enumerate(order))):
        x, y = dx * number + 0.08 * width, dy * (len(order) - 1 - number) + 0.08 * height
        parts.append(
            f'<g transform="matrix(0.72 -0.1 0 1 {x:.2f} {y + 0.08 * width:.2f})">{body}</g>'
        )
        for line, words in enumerate(name.split(", ")):
            names.append(
                f'<text x="{x + 0.36 * width:.2f}" font-size="{size:.2f}" '
                f'y="{y + height * 1.04 + 0.08 * width + (1.2 + 1.2 * line) * size:.2f}">'
                f"{escape(words)}</text>"
            )
    parts += names
    return (
        f'<svg class="exploded" xmlns="http://www.w3.org/2000/svg" role="img" fill-rule="evenodd" '
        f'aria-label="The layers pulled apart, front to back: '
        f'{escape(", ".join(n for n, _ in order))}" '
        f'viewBox="0 0 {total_w:.2f} {total_h:.2f}">{"".join(parts)}</svg>'
    )


def _board(layer: LayerSketch) -> str:
    colour = "#8a7057" if layer.level == "outer" else "#6f5a47"
    return f'<path class="board" d="{layer.d}" fill="{colour}"/>'


def places_svg(sketch: Sketch, frame: FrameSketch) -> str:
    """The frame from the front with its weak and exposed places marked."""
    width, height = sketch.size_mm
    edge = 0.06 * max(width, height)
    unit = max(width, height) / 100.0
    inner = "".join(
        layer.d for layer in frame.layers if layer.face == "front" and layer.level == "inner"
    )
    outer = "".join(
        layer.d for layer in frame.layers if layer.face == "front" and layer.level == "outer"
    )
    marks = "".join(
        f'<circle class="{kind}" cx="{x:.3f}" cy="{y:.3f}" r="{1.5 * unit:.2f}">'
        f"<title>{escape(what)}</title></circle>"
        for kind, found in (("weak", frame.weak), ("exposed", frame.exposed))
        for (x, y), what in found
    )
    hole = f'<path d="{frame.opening}" class="opening"/>' if frame.opening else ""
    label = f"Frame with {len(frame.weak)} weak and {len(frame.exposed)} exposed places marked"
    return (
        f'<svg class="places" xmlns="http://www.w3.org/2000/svg" role="img" fill-rule="evenodd" '
        f'aria-label="{label}" '
        f'viewBox="{-edge:.2f} {-edge:.2f} {width + 2 * edge:.2f} {height + 2 * edge:.2f}">'
        f'<path d="{sketch.outline}" class="glass"/><path d="{frame.printed}" class="printed"/>'
        f'<path d="{inner}" fill="{BOARD_HIGH}"/><path d="{outer}" class="outer"/>'
        f"{hole}{marks}</svg>"
    )


def section_svg(frame: FrameSketch) -> str:
    """The stack in section against the recess, front at the left."""
    total = sum(mm for _, mm in frame.stack)
    deep = max(total, frame.recess_mm or 0.0) or 1.0
    x, parts, films = 0.0, [], [100.0, 0.0]
    for name, mm in frame.stack:
        kind = "film" if "film" in name else "glue" if "glue" in name else "board"
        left, wide = 100 * x / deep, max(0.25, 100 * mm / deep)
        parts.append(
            f'<rect class="{kind}" x="{left:.2f}" y="4" width="{wide:.2f}" height="16">'
            f"<title>{escape(name)}, {mm:g} mm</title></rect>"
        )
        if kind == "board" and wide > 8.0:
            parts.append(_named(left + wide / 2, name, mm))
        if kind == "film":
            films = [min(films[0], left), max(films[1], left + wide)]
        x += mm
    if films[1] > films[0]:
        thick = sum(mm for name, mm in frame.stack if "film" in name)
        many = counted(frame.films, "film")
        parts.append(_named((films[0] + films[1]) / 2, many, thick))
    if frame.recess_mm:
        edge = 100 * frame.recess_mm / deep
        parts.append(
            f'<path class="recess" d="M0 2H{edge:.2f}V22"/>'
            f'<text x="{edge - 1:.2f}" y="1">recess {frame.recess_mm:g} mm deep</text>'
        )
    label = f"Section: {total:.2f} mm thick" + (
        f", recess {frame.recess_mm:g} mm" if frame.recess_mm else ""
    )
    return (
        f'<svg class="section" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-label="{label}" viewBox="-1 -1.5 102 28">{"".join(parts)}</svg>'
    )


def _named(x: float, name: str, mm: float) -> str:
    return (
        f'<text class="name" x="{x:.2f}" y="22.8">{escape(name)}</text>'
        f'<text x="{x:.2f}" y="25.4">{mm:.3g} mm</text>'
    )


def sheet_svg(sheet: SheetSketch) -> str:
    """A nested sheet."""
    width, height = sheet.bed_mm
    parts = "".join(f'<path d="{d}"/>' for d in sheet.parts)
    return (
        f'<svg class="sheet" xmlns="http://www.w3.org/2000/svg" role="img" fill-rule="evenodd" '
        f'aria-label="Sheet {sheet.number}: {len(sheet.parts)} parts" '
        f'viewBox="-2 -2 {width + 4:.2f} {height + 4:.2f}">'
        f'<rect width="{width:g}" height="{height:g}"/>{parts}</svg>'
    )
