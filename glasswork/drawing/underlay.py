"""Glass colours from a photo or painting laid under the drawing."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from glasswork.errors import DrawingError
from glasswork.model.window import Window

LEAST_PX = 4
"""A pane that fewer pixels of the picture lie under takes the colour at its middle."""


def colour_from_picture(window: Window, rgb: NDArray[np.uint8]) -> Window:
    """Each pane with the middle colour of what lies under it as its fill.

    rgb : 8-bit sRGB, (rows, columns, 3), stretched over the panel from edge to edge
    Returns: the window; the nearest glass is chosen from the fill as for any drawing
    Raises: DrawingError, if the picture is no colour picture or has no pixel
    """
    import cv2

    if rgb.ndim != 3 or rgb.shape[2] != 3 or min(rgb.shape[:2]) < 1:
        raise DrawingError(
            window.name, f"the picture has the shape {rgb.shape}", "give a colour picture"
        )
    rows, columns = rgb.shape[:2]
    box = window.box
    scale = np.array([columns / box.width, rows / box.height])
    origin = np.array([box.left, box.top])
    labels = np.full((rows, columns), -1, dtype=np.int32)
    for index, pane in enumerate(window.panes):
        rings = [
            np.round(((np.asarray(ring) - origin) * scale - 0.5) * 16.0).astype(np.int32)
            for ring in pane.region.rings
        ]
        cv2.fillPoly(labels, rings, index, shift=4)
    order = np.argsort(labels, axis=None, kind="stable")
    ranked = labels.ravel()[order]
    starts = np.searchsorted(ranked, np.arange(len(window.panes) + 1))
    pixels = rgb.reshape(-1, 3)[order]
    panes = []
    for index, pane in enumerate(window.panes):
        mine = pixels[starts[index] : starts[index + 1]]
        if len(mine) < LEAST_PX:
            x, y = ((np.asarray(pane.seed_point) - origin) * scale).astype(int).tolist()
            mine = rgb[min(rows - 1, y), min(columns - 1, x)][None]
        red, green, blue = np.median(mine, axis=0).astype(int).tolist()
        panes.append(replace(pane, fill=f"#{red:02x}{green:02x}{blue:02x}"))
    return replace(window, panes=tuple(panes))
