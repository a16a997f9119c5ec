"""Pictures of windows, drawings and frames as SVG of our own geometry, never of the user's file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Final

from glasswork.cielab import encode_value
from glasswork.model.finish import FINISHES
from glasswork.model.project import Project
from glasswork.web.sketch import (
    TILE_MM,
    DrawnSketch,
    FrameSketch,
    Group,
    Look,
    Shelf,
    Sketch,
)

Linear = tuple[float, float, float]

LEAD: Final = "#15110d"
INK: Final = "var(--ink)"
"""Printed leads, which are grey where few films carry them."""
BOARD: Final = "#3f3329"
BOARD_HIGH: Final = "#524337"


def hex_of(linear: Linear, *, bright: float = 1.0, tint: Linear = (1.0, 1.0, 1.0)) -> str:
    """Linear sRGB as "#rrggbb", made brighter and tinted. Source: [srgb]"""
    code = ""
    for value, colour in zip(linear, tint, strict=True):
        code += f"{round(255.0 * encode_value(value * bright * colour)):02x}"
    return f"#{code}"


def seen(look: Look, view: str) -> Linear:
    """The colour of a glass in a view."""
    if view == "unlit":
        return look.unlit
    return look.by_hand if view == "by-hand" else look.lit


def window_svg(
    sketch: Sketch,
    fills: Mapping[str, str],
    labels: Mapping[str, str],
    *,
    surfaces: Mapping[str, str],
    frame: FrameSketch | None,
    back: bool,
    ink: str = LEAD,
) -> str:
    """The window with a shape for each pane, reached by pointer and keys.

    fills, labels, surfaces : by pane id
    ink : colour of printed leads
    """
    width, height = sketch.size_mm
    edge = 0.075 * max(width, height)
    panes = "".join(
        f'<path id="p-{escape(pane.id)}" data-pane="{escape(pane.id)}" d="{pane.d}" role="option" '
        f'aria-selected="false" tabindex="{0 if number == 0 else -1}" '
        f'aria-label="{escape(labels[pane.id])}" fill="{fills[pane.id]}"/>'
        for number, pane in enumerate(sketch.panes)
    )
    coats = "".join(
        f'<path data-coat="{escape(pane.id)}" d="{pane.d}" '
        f'fill="url(#{coat_id(pane.id, surfaces[pane.id])})"/>'
        for pane in sketch.panes
        if surfaces[pane.id] != "clear"
    )
    turn = f' transform="translate({width:.3f} 0) scale(-1 1)"' if back else ""
    return (
        f'<svg class="window" xmlns="http://www.w3.org/2000/svg" '
        f'viewBox="{-edge:.2f} {-edge:.2f} {width + 2 * edge:.2f} {height + 2 * edge:.2f}" '
        f'data-width="{width:.3f}" data-height="{height:.3f}" style="--ink:{ink}">'
        f"<defs>{_patterns()}</defs><g{turn}>"
        f'<path d="{sketch.outline}" fill="{LEAD}" stroke="{LEAD}" stroke-width="0.4"/>'
        f'<g class="panes" role="listbox" aria-multiselectable="true" '
        f'aria-label="Panes of the window" fill-rule="evenodd">{panes}</g>'
        f'<g class="coats" aria-hidden="true" fill-rule="evenodd">{coats}</g>'
        f"{_leading(sketch, frame, back=back)}"
        f"</g></svg>"
    )


TURNS: Final = (7, 64, 131)
"""Degrees by which the sheets of a surface are turned, so that neighbours do not run on."""


def coat_id(pane: str, surface: str) -> str:
    """Name of the pattern that lies on a pane; bench.js names it in the same way."""
    return f"coat-{surface}-{sum(map(ord, pane)) % len(TURNS)}"


def _patterns() -> str:
    """Every surface as a pattern in panel mm."""
    return "".join(
        f'<pattern id="coat-{word}-{number}" width="{TILE_MM}" height="{TILE_MM}" '
        f'patternUnits="userSpaceOnUse" patternTransform="rotate({turn})">'
        f'<image href="/surface/{word}.png" width="{TILE_MM}" height="{TILE_MM}"/></pattern>'
        for word in FINISHES
        if word != "clear"
        for number, turn in enumerate(TURNS)
    )


def _leading(sketch: Sketch, frame: FrameSketch | None, *, back: bool) -> str:
    """What lies over the glass: paint, printed leads, and the board in its two heights."""
    parts = [f'<path d="{sketch.paint}" fill="{INK}"/>'] if sketch.paint else []
    if frame is None:
        parts.append(f'<path d="{"".join(m.d for m in sketch.members)}" fill="{LEAD}"/>')
    else:
        parts.append(f'<path d="{frame.printed}" fill="{INK}"/>')
        face = "back" if back else "front"
        for layer in sorted(
            (one for one in frame.layers if one.face == face and one.level in ("inner", "outer")),
            key=lambda one: one.level,
        ):
            high = layer.level == "outer"
            parts.append(
                f'<path class="board{" high" if high else ""}" d="{layer.d}" '
                f'fill="{BOARD_HIGH if high else BOARD}"/>'
            )
    return f'<g class="leading" fill-rule="evenodd" aria-hidden="true">{"".join(parts)}</g>'


def drawing_svg(
    sketch: Sketch, made: Mapping[str, tuple[str, str]], *, marks: Sequence[Group], live: bool
) -> str:
    """The drawing with its members by role, and the findings marked at their places.

    live : members can be chosen
    """
    width, height = sketch.size_mm
    edge = 0.05 * max(width, height)
    unit = max(width, height) / 100.0
    if sketch.usable:
        panes = "".join(f'<path d="{pane.d}"/>' for pane in sketch.panes)
        members = "".join(
            f'<path id="m-{escape(m.id)}" data-member="{escape(m.id)}" d="{m.d}" '
            f'class="member {m.role} {made.get(m.id, ("", ""))[0]}"'
            + (
                f' role="option" aria-selected="false" tabindex="{0 if number == 0 else -1}" '
                f'aria-label="{escape(_member_label(m.id, m.role, m.width_mm, made))}"'
                if live
                else ""
            )
            + "/>"
            for number, m in enumerate(sketch.members)
        )
        group = ' role="listbox" aria-label="Members of the leading"' if live else ""
        body = (
            f'<g class="paper-panes">{panes}</g><g class="members"{group}>{members}</g>'
            f'<path d="{sketch.paint}" class="paint"/>'
        )
    else:
        body = "".join(
            f'<path d="{d}" fill="{_plain(fill, "none")}" stroke="{_plain(stroke, "none")}" '
            f'stroke-width="{line:.3f}"/>'
            for d, stroke, line, fill in sketch.art
        )
        body = f'<g class="raw">{body}</g>'
    pins = "".join(
        f'<g class="pin {group.severity}" transform="translate({x:.3f} {y:.3f})">'
        f'<circle r="{1.7 * unit:.2f}"/><text font-size="{2.0 * unit:.2f}" '
        f'dy="{0.7 * unit:.2f}">{number}</text></g>'
        for number, group in reversed(list(enumerate(marks, start=1)))
        if group.severity != "note"
        for x, y in group.places
    )
    return (
        f'<svg class="drawing" xmlns="http://www.w3.org/2000/svg" fill-rule="evenodd" '
        f'viewBox="{-edge:.2f} {-edge:.2f} {width + 2 * edge:.2f} {height + 2 * edge:.2f}">'
        f'{body}<g class="pins" aria-hidden="true">{pins}</g></svg>'
    )


def _member_label(member: str, role: str, width: float, made: Mapping[str, tuple[str, str]]) -> str:
    how = made.get(member, ("", ""))[0]
    return f"{role} {member}, {width:.2f} mm{', ' + how if how else ''}"


def _plain(colour: str | None, otherwise: str) -> str:
    """A colour of the model, or nothing; never text that came through."""
    if colour and len(colour) == 7 and all(c in "#0123456789abcdefABCDEF" for c in colour):
        return colour
    return otherwise


def drawn_svg(drawn: DrawnSketch) -> str:
    """A window drawn from measures, in the colours of its drawing."""
    width, height = drawn.size_mm
    edge = 0.04 * max(width, height)
    glass = "".join(
        f'<path d="{d}" fill="{_plain(colour, "#c9b48a")}"/>' for d, colour in drawn.glass
    )
    leads = "".join(
        f'<path d="{d}" stroke-width="{line:.3f}" '
        f'stroke="{LEAD if role in ("lead", "bar") else BOARD_HIGH}" '
        f'stroke-linejoin="{"miter" if role == "border" else "round"}"/>'
        for d, line, role in drawn.leads
    )
    return (
        f'<svg class="drawn" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-label="{escape(drawn.title)}, {width:.1f} by {height:.1f} mm" '
        f'viewBox="{-edge:.2f} {-edge:.2f} {width + 2 * edge:.2f} {height + 2 * edge:.2f}">'
        f'<g class="glazed">{glass}</g><path d="{drawn.solid}" fill="{BOARD_HIGH}"/>'
        f'<g fill="none" stroke-linecap="round" stroke-miterlimit="8">{leads}</g>'
        f"</svg>"
    )


def thumbnail_svg(sketch: Sketch, project: Project, shelf: Shelf | None) -> str:
    """A small picture for the list of projects."""
    width, height = sketch.size_mm
    looks = shelf.looks[2] if shelf is not None else {}

    def colour(pane: str, glass: str) -> str:
        chosen = project.glass.get(pane, glass)
        return hex_of(looks[chosen].lit) if chosen in looks else "#c9b48a"

    panes = "".join(
        f'<path d="{pane.d}" fill="{colour(pane.id, pane.glass)}"/>' for pane in sketch.panes
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}" height="{height:.2f}" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" fill-rule="evenodd">'
        f'<path d="{sketch.outline}" fill="{LEAD}"/>{panes}'
        f'<path d="{sketch.paint}" fill="{LEAD}"/></svg>'
    )
