"""Colours of fills and strokes: names, functions, gradients as their mean, opacity over white."""

from __future__ import annotations

from functools import lru_cache
from xml.etree.ElementTree import Element

from glasswork.readers.css import Sheets
from glasswork.readers.svg_frame import MM_PER_PX
from glasswork.readers.svg_path import numbers
from glasswork.readers.svg_tree import href, local

Rgba = tuple[float, float, float, float]

FAINTEST = 0.05
"""A paint of less opacity counts as not there."""


@lru_cache(maxsize=4096)
def parse_colour(text: str) -> Rgba | None:
    """A colour as red, green, blue, opacity 0-1; None for none and for what is no colour."""
    if len(text) == 7 and text[0] == "#":
        try:
            return (int(text[1:3], 16) / 255, int(text[3:5], 16) / 255, int(text[5:7], 16) / 255, 1)
        except ValueError:
            return None
    from tinycss2.color3 import parse_color

    found = parse_color(text)
    if found is None or isinstance(found, str):
        return None
    return (float(found.red), float(found.green), float(found.blue), float(found.alpha))


class Paints:
    """Resolves paints of one drawing."""

    px_mm = MM_PER_PX

    def __init__(self, sheets: Sheets, by_id: dict[str, Element]) -> None:
        self._sheets = sheets
        self._by_id = by_id
        self._gradients: dict[str, Rgba | None] = {}
        self._known: dict[tuple[str, str | None, float], str | None] = {}

    def colour(self, style: dict[str, str], kind: str, default: str, opacity: float) -> str | None:
        """The paint of a fill or stroke as #rrggbb seen on white; None if there is none."""
        text = style.get(kind, default).strip()
        if text == "none":
            return None
        if text.lower() == "currentcolor":
            text = style.get("color", "#000000")
        key = (text, style.get(f"{kind}-opacity"), opacity)
        if key not in self._known:
            self._known[key] = self._colour(*key)
        return self._known[key]

    def _colour(self, text: str, share: str | None, opacity: float) -> str | None:
        rgba = self._link(text) if text.startswith("url(") else parse_colour(text)
        if rgba is None:
            return None
        alpha = rgba[3] * opacity
        if share is not None:
            found = numbers(share)
            alpha *= max(0.0, min(1.0, found[0] * (0.01 if "%" in share else 1.0))) if found else 1
        if alpha < FAINTEST:
            return None
        red, green, blue = (
            min(255, max(0, round(255.0 * (v * alpha + 1.0 - alpha)))) for v in rgba[:3]
        )
        return f"#{red:02x}{green:02x}{blue:02x}"

    def _link(self, text: str) -> Rgba | None:
        target, _, fallback = text[4:].partition(")")
        name = target.strip("'\" #")
        if name not in self._gradients:
            self._gradients[name] = self._mean(name, 0)
        if self._gradients[name] is None and fallback.strip() not in ("", "none"):
            return parse_colour(fallback.strip())
        return self._gradients[name]

    def _mean(self, name: str, depth: int) -> Rgba | None:
        """The mean of a gradient's stops; mid grey for a pattern."""
        element = self._by_id.get(name)
        if element is None or depth > 16:
            return None
        if local(element) == "pattern":
            return (0.5, 0.5, 0.5, 1.0)
        stops = [self._stop(child) for child in element if local(child) == "stop"]
        found = [stop for stop in stops if stop is not None]
        if found:
            red, green, blue, alpha = (sum(part) / len(found) for part in zip(*found, strict=True))
            return (red, green, blue, alpha)
        link = href(element)
        return self._mean(link[1:], depth + 1) if link.startswith("#") else None

    def _stop(self, element: Element) -> Rgba | None:
        style = self._sheets.style_of(element)
        rgba = parse_colour(style.get("stop-color", "#000000"))
        if rgba is None:
            return None
        opacity = numbers(style.get("stop-opacity", "1"))
        return (*rgba[:3], rgba[3] * (opacity[0] if opacity else 1.0))
