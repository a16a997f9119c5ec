"""The reach of films as a picture and as JSON."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from glasswork.cielab import srgb_of_lab
from glasswork.model.reach import GlassReach, Reach, Slice
from glasswork.model.words import counted

if TYPE_CHECKING:
    from PIL import ImageDraw

_SPAN: Final = 120.0
"""a* and b* run from minus to plus this."""

_INK: Final = (40, 42, 46)
_PALE: Final = (150, 152, 156)
_LINES: Final = {1: (1.0, (120, 122, 128)), 2: (2.2, (30, 32, 36)), 3: (1.4, (178, 60, 40))}
"""Width in pixels and colour of the outline of each count of films."""


def write_reach_json(reach: Reach) -> bytes:
    """The reach as JSON, keys as in `Reach`."""
    return msgspec.json.format(msgspec.json.encode(reach), indent=2) + b"\n"


def draw_reach(reach: Reach, *, width_px: int = 1500) -> bytes:
    """A PNG: one a*b* slice for each lightness, an outline for each count of films, and the
    glasses whose lightness is nearest; those in reach with any count ringed, others crossed."""
    from PIL import Image, ImageDraw

    scale = 2
    levels = sorted({piece.lightness for piece in reach.slices})
    columns = min(3, len(levels))
    rows = -(-len(levels) // columns)
    width = width_px * scale
    side = width // columns
    head, foot = side // 6, side // 8
    image = Image.new("RGB", (width, head + rows * side + foot), (252, 252, 250))
    draw = ImageDraw.Draw(image)
    _text(draw, (side // 14, head // 2), _title(reach), size=side // 19, anchor="lm")
    for number, level in enumerate(levels):
        left, top = (number % columns) * side, head + (number // columns) * side
        pieces = [piece for piece in reach.slices if piece.lightness == level]
        _panel(image, (left, top, side), level, pieces)
        for glass in reach.glasses:
            if min(levels, key=lambda at: abs(at - glass.lab[0])) == level:
                _glass(draw, (left, top, side), glass, reach.limit)
    _legend(draw, reach, (side // 14, head + rows * side + foot // 2), side)
    image = image.resize((width_px, image.height // scale), Image.Resampling.LANCZOS)
    kept = BytesIO()
    image.save(kept, "PNG", optimize=False)
    return kept.getvalue()


def _title(reach: Reach) -> str:
    return f"Reach of {reach.printer} before {reach.light}, with the glasses of {reach.palette}"


def _panel(image: Any, place: tuple[int, int, int], level: float, pieces: list[Slice]) -> None:
    """Background in the colours themselves where the widest outline reaches; axes; outlines."""
    from PIL import Image, ImageDraw

    left, top, side = place
    inner = side - 2 * (side // 14)
    corner = (left + side // 14, top + side // 14)
    colours = Image.fromarray(_colours(level, inner), "RGB")
    mask = Image.new("L", (inner, inner), 0)
    for piece in pieces:
        if piece.outline_ab:
            ImageDraw.Draw(mask).polygon(_points(piece, (0, 0), inner), fill=235)
    image.paste((244, 244, 241), (*corner, corner[0] + inner, corner[1] + inner))
    image.paste(colours, corner, mask)
    draw = ImageDraw.Draw(image)
    middle = inner // 2
    for k in (-100, -50, 0, 50, 100):
        at = round(middle + k / _SPAN * middle)
        tone = _PALE if k == 0 else (222, 222, 219)
        draw.line(
            (corner[0] + at, corner[1], corner[0] + at, corner[1] + inner), fill=tone, width=2
        )
        draw.line(
            (corner[0], corner[1] + at, corner[0] + inner, corner[1] + at), fill=tone, width=2
        )
    for piece in pieces:
        if piece.outline_ab:
            weight, tone = _LINES.get(piece.films, (1.0, _PALE))
            points = _points(piece, corner, inner)
            draw.line(
                [*points, points[0]], fill=tone, width=round(2 * weight * side / 500), joint="curve"
            )
    text = side // 26
    _text(
        draw,
        (corner[0] + text // 2, corner[1] + text // 2),
        f"L* {level:g}",
        size=text,
        anchor="lt",
    )
    _text(
        draw,
        (corner[0] + inner - 6, corner[1] + middle - 4),
        "a*",
        size=text,
        anchor="rb",
        tone=_PALE,
    )
    _text(draw, (corner[0] + middle + 8, corner[1] + 6), "b*", size=text, anchor="lt", tone=_PALE)


def _points(piece: Slice, corner: tuple[int, int], inner: int) -> list[tuple[float, float]]:
    middle = inner / 2.0
    return [
        (corner[0] + middle * (1.0 + a / _SPAN), corner[1] + middle * (1.0 - b / _SPAN))
        for a, b in piece.outline_ab
    ]


def _glass(
    draw: ImageDraw.ImageDraw, place: tuple[int, int, int], glass: GlassReach, limit: float
) -> None:
    left, top, side = place
    margin = side // 14
    inner = side - 2 * margin
    x = left + margin + inner / 2.0 * (1.0 + glass.lab[1] / _SPAN)
    y = top + margin + inner / 2.0 * (1.0 - glass.lab[2] / _SPAN)
    r = side / 70.0
    fill = tuple(round(255.0 * v) for v in glass.srgb)
    draw.ellipse((x - r, y - r, x + r, y + r), fill=fill, outline=(255, 255, 255), width=5)
    draw.ellipse((x - r, y - r, x + r, y + r), outline=_INK, width=3)
    if min(glass.delta_e00) > limit:
        for dx in (-1.0, 1.0):
            draw.line(
                (x - 1.6 * r, y - 1.6 * dx * r, x + 1.6 * r, y + 1.6 * dx * r), fill=_INK, width=4
            )
        right = glass.lab[1] < _SPAN / 3.0
        at = (x + 2.0 * r, y) if right else (x - 2.0 * r, y)
        _text(draw, at, glass.id, size=side // 34, anchor="lm" if right else "rm")


def _legend(draw: ImageDraw.ImageDraw, reach: Reach, at: tuple[int, int], side: int) -> None:
    x, y = at
    size = side // 26
    for count in reach.counts:
        weight, tone = _LINES.get(count, (1.0, _PALE))
        draw.line((x, y, x + side // 10, y), fill=tone, width=round(2 * weight * side / 500))
        _text(draw, (x + side // 8, y), counted(count, "film"), size=size, anchor="lm")
        x += round(side * 0.36)
    _text(
        draw,
        (x, y),
        f"dots: glasses of nearest lightness; crossed: off by more than {reach.limit:g} "
        "(CIEDE2000) with any count",
        size=size,
        anchor="lm",
    )


def _text(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    text: str,
    *,
    size: int,
    anchor: str,
    tone: tuple[int, int, int] = _INK,
) -> None:
    from PIL import ImageFont

    draw.text(at, text, fill=tone, font=ImageFont.load_default(size), anchor=anchor)


def _colours(level: float, size: int) -> NDArray[np.uint8]:
    """sRGB of the plane of one lightness, cut to what a display shows, (size, size, 3)."""
    axis = np.linspace(-_SPAN, _SPAN, size)
    a, b = np.meshgrid(axis, -axis)
    lab = np.stack((np.full_like(a, level), a, b), axis=-1)
    return np.asarray(np.rint(255.0 * srgb_of_lab(lab)), dtype=np.uint8)
