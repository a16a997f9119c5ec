"""Size, units and view box of an SVG: where its user units lie in millimetres."""

from __future__ import annotations

import re
from math import isfinite
from xml.etree.ElementTree import Element

from glasswork.errors import ReadError
from glasswork.model.geometry import Affine
from glasswork.readers.svg_path import numbers
from glasswork.units import MM_PER_IN, PX_PER_IN, parse_length_mm

Frame = tuple[float, float]
"""Width and height, in user units, that percentages are of."""

MM_PER_PX = MM_PER_IN / PX_PER_IN
_BARE = re.compile(r"\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\s*\Z")
_EM_PX = 16.0
"""Height of an em where nothing sets another: the usual default of a renderer."""


def length(text: str, of: float, *, where: str) -> float:
    """A length in user units (px).

    of : what a percentage is of
    Raises: ReadError, if it is no length
    """
    if _BARE.match(text):
        return float(text)
    text = text.strip()
    if text.endswith("%"):
        found = numbers(text)
        return of * found[0] / 100.0 if found else 0.0
    if text.endswith(("em", "ex", "rem")):
        found = numbers(text)
        share = 0.5 if text.endswith("ex") else 1.0
        return found[0] * _EM_PX * share if found else 0.0
    return parse_length_mm(text, where=where, bare="px") / MM_PER_PX


def root_frame(root: Element, *, name: str) -> tuple[tuple[float, float], Affine, Frame, bool]:
    """Size in mm, map from user units to mm, frame, and whether the drawing tells its size.

    Without a size the user unit counts as a CSS pixel.
    Raises: ReadError, if the size or the view box is impossible
    """
    box = numbers(root.get("viewBox", ""))
    if box and len(box) != 4:
        raise ReadError(name, f"its viewBox has {len(box)} numbers, not 4", "give x y width height")
    if box and (box[2] <= 0.0 or box[3] <= 0.0 or not all(map(isfinite, box))):
        raise ReadError(
            name, f"its viewBox is {box[2]:g} × {box[3]:g}, which has no area", "give it a size"
        )
    told = [_told(root.get(key), where=f"{name}, {key}") for key in ("width", "height")]
    sized = any(value is not None for value in told)
    if box:
        ratio = box[3] / box[2]
        w, h = told
        if w is None and h is None:
            w, h = box[2] * MM_PER_PX, box[3] * MM_PER_PX
        elif h is None:
            h = (w or 0.0) * ratio
        elif w is None:
            w = h / ratio
    else:
        sized = all(value is not None for value in told)
        w, h = told[0] or 100.0 * MM_PER_PX, told[1] or 100.0 * MM_PER_PX
        box = [0.0, 0.0, w / MM_PER_PX, h / MM_PER_PX]
    assert w is not None
    if not (0.0 < w < 1e6 and 0.0 < h < 1e6):
        raise ReadError(name, f"its size is {w:g} × {h:g} mm", "give a size above 0 and below 1 km")
    ctm = fitted(box, (w, h), root.get("preserveAspectRatio", ""))
    return (w, h), ctm, (box[2], box[3]), sized


def _told(text: str | None, *, where: str) -> float | None:
    """A width or height in mm; None if there is none, or it is a share of the screen."""
    if text is None or not text.strip() or text.strip() == "auto" or text.strip().endswith("%"):
        return None
    return length(text, 0.0, where=where) * MM_PER_PX


def fitted(box: list[float], size: tuple[float, float], aspect: str) -> Affine:
    """The map of a view box into a frame, as preserveAspectRatio wants it."""
    sx, sy = size[0] / box[2], size[1] / box[3]
    words = aspect.split()
    align = words[0] if words else "xMidYMid"
    if align == "defer" and len(words) > 1:
        align = words[1]
    if align == "none":
        return Affine(sx, 0.0, 0.0, sy, -box[0] * sx, -box[1] * sy)
    scale = max(sx, sy) if "slice" in words else min(sx, sy)
    shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    fx, fy = shares.get(align[1:4], 0.5), shares.get(align[5:8], 0.5)
    return Affine(
        scale,
        0.0,
        0.0,
        scale,
        -box[0] * scale + fx * (size[0] - box[2] * scale),
        -box[1] * scale + fy * (size[1] - box[3] * scale),
    )
