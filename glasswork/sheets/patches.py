"""The check strip: patches of known device values on the offcut of every film page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from glasswork.model.geometry import Box
from glasswork.model.sheet import Colour, Fill, Item, Text
from glasswork.sheets.marks import rectangle

PATCH_MM: Final = 6.0
GAP_MM: Final = 1.0
LABEL_MM: Final = 3.6
DEPTH_MM: Final = LABEL_MM + PATCH_MM
FIXED: Final[tuple[Colour, ...]] = (
    (192, 192, 192),
    (128, 128, 128),
    (64, 64, 64),
    (0, 0, 0),
    (255, 0, 0),
    (0, 255, 0),
    (0, 0, 255),
    (0, 255, 255),
    (255, 0, 255),
    (255, 255, 0),
)
"""Greys and solid colours, the same on every print, to compare one print with another."""
MOST_GLASSES: Final = 12


def check_strip(
    free: Sequence[Box], glasses: Sequence[Colour], leads: Sequence[Colour] = ()
) -> tuple[Item, ...]:
    """Patches in the first free place that takes them, across or down; nothing if none does.

    glasses : device values of this film's panes, one for each pane; the most used are shown
    leads : device values of the printed leads, if there are any
    """
    used = [colour for colour, _ in Counter(glasses).most_common(MOST_GLASSES)]
    colours = (*FIXED, *dict.fromkeys(leads), *used)
    step = PATCH_MM + GAP_MM
    for box in free:
        across = int((box.width + GAP_MM) // step)
        if box.height >= DEPTH_MM and across > len(FIXED):
            return _row(box, colours[:across])
        down = int((box.height - LABEL_MM + GAP_MM) // step)
        if box.width >= PATCH_MM + 1.0 and down > len(FIXED):
            return _column(box, colours[:down])
    return ()


def _row(box: Box, colours: Sequence[Colour]) -> tuple[Item, ...]:
    """At the lower left of the place."""
    top = box.bottom - PATCH_MM
    boxes = [
        Box(x, top, x + PATCH_MM, top + PATCH_MM)
        for x in (box.left + k * (PATCH_MM + GAP_MM) for k in range(len(colours)))
    ]
    label = Text(at=(box.left, top - 1.2), text="check strip: keep with the print", size_pt=7.0)
    return (label, *_fills(boxes, colours))


def _column(box: Box, colours: Sequence[Colour]) -> tuple[Item, ...]:
    """Down the right side of the place."""
    right = box.right
    boxes = [
        Box(right - PATCH_MM, y, right, y + PATCH_MM)
        for y in (box.top + LABEL_MM + k * (PATCH_MM + GAP_MM) for k in range(len(colours)))
    ]
    label = Text(at=(right, box.top + 2.2), text="check", size_pt=7.0, anchor="end")
    return (label, *_fills(boxes, colours))


def _fills(boxes: Sequence[Box], colours: Sequence[Colour]) -> list[Item]:
    return [
        Fill(area=(rectangle(box),), colour=colour, name="patch")
        for box, colour in zip(boxes, colours, strict=True)
    ]
