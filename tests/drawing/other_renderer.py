"""The leads of a window against another renderer's picture of the same SVG (resvg)."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray

from glasswork.model.geometry import Regions
from glasswork.model.window import LineArt, Window

LEAST_PX, MOST_PX = 1000, 2000
"""Pixels on the longer side of both pictures."""
COARSE = 0.5
"""The share of that size at which the pictures are tried first."""
LEAD_PX = 6.0
"""A thin lead is to be about this wide, so that rounding to pixels matters little."""


def picture_px(size_mm: tuple[float, float], window: Window) -> int:
    """How large the pictures must be for the window's thin leads."""
    widths = sorted(member.width_mm for member in window.members)
    thin = widths[len(widths) // 10]
    return int(min(MOST_PX, max(LEAST_PX, LEAD_PX * max(size_mm) / thin)))


def picture(data: bytes, *, size_mm: tuple[float, float], px: int) -> NDArray[np.uint8]:
    """resvg's picture on white without smoothed edges, (rows, columns, 3)."""
    import resvg_py
    from PIL import Image

    wide = size_mm[0] >= size_mm[1]
    png = resvg_py.svg_to_bytes(
        svg_string=data.decode("utf-8", "replace"),
        background="#ffffff",
        skip_system_fonts=True,
        shape_rendering="crisp_edges",
        dpi=96.0,
        **({"width": px} if wide else {"height": px}),
    )
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def dark(rgb: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """The colours that count as lead, by the rule of glasswork.drawing.inks, written again."""
    levels = np.arange(256) / 255.0
    linear = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    weighed = [(part * linear).astype(np.float32) for part in (0.2126, 0.7152, 0.0722)]
    found = np.zeros(rgb.shape[:2], dtype=bool)
    maybe = rgb[..., 1] < 128  # green alone is lighter than the rule allows from 110 on
    some = rgb[maybe]
    light = sum(table[some[:, k]] for k, table in enumerate(weighed))
    coloured = (some.max(axis=1) - some.min(axis=1)) / np.float32(255.0)
    found[maybe] = ((light < 0.02) & (coloured < 0.35)) | ((light < 0.11) & (coloured < 0.12))
    return found


def raster(groups: list[Regions], art: LineArt, px: int) -> NDArray[np.bool_]:
    """Areas drawn black by the same renderer, so that edges fall on pixels by one rule."""
    w, h = art.size_mm
    paths = "".join(
        "M" + "L".join(f"{x:.5f} {y:.5f}" for x, y in ring) + "Z"
        for regions in groups
        for region in regions
        for ring in region.rings
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}"><path fill-rule="evenodd" d="{paths}"/></svg>'
    )
    return dark(picture(svg.encode(), size_mm=art.size_mm, px=px))


def agrees(data: bytes, art: LineArt, window: Window, least: float) -> bool:
    """Whether the intersection over union is the least asked for.

    Half as large first, at a quarter of the work: rounding to pixels takes a larger share of leads
    there, so that more agree at the full size, not fewer.
    """
    px = picture_px(art.size_mm, window)
    coarse = agreement(data, art, window, px=round(COARSE * px))
    return coarse >= least or agreement(data, art, window, px=px) >= least


def agreement(data: bytes, art: LineArt, window: Window, *, px: int) -> float:
    """Intersection over union of the window's leads and paint with resvg's dark pixels.

    window : in the drawing's own millimetres, not moved · px : the pictures' longer side
    """
    theirs = dark(picture(data, size_mm=art.size_mm, px=px))
    groups = [member.area for member in window.members] + [p.area for p in window.paint]
    ours = raster(groups, art, px)
    if ours.shape != theirs.shape:
        rows, columns = (min(a, b) for a, b in zip(ours.shape, theirs.shape, strict=True))
        ours, theirs = ours[:rows, :columns], theirs[:rows, :columns]
    return float((ours & theirs).sum() / max(1, (ours | theirs).sum()))
