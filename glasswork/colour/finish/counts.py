"""How often each level of its sheet shows between the leads of a pane, for all panes at once."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from glasswork.colour.finish.cut import Cut, opencv, ring_px, sheet_under
from glasswork.colour.finish.fields import sheet_of

PX_PER_MM: Final = 4.0
"""Scale at which levels are counted."""

_ACROSS: Final = 4096
"""Columns of a picture of places, which OpenCV holds below 32768."""


def level_counts(cuts: Sequence[Cut]) -> NDArray[np.int64]:
    """Pixels at each level, (panes, 256); none for a pane too small to be seen.

    cuts : at least one
    """
    left = min(cut.box.left for cut in cuts)
    top = min(cut.box.top for cut in cuts)
    rows, columns, pane = _places(cuts, (left, top))
    matrices = np.array([sheet_under(cut, (left, top), PX_PER_MM) for cut in cuts])
    sheets = [(cut.finish, cut.seed, cut.sheet_px) for cut in cuts]
    number = {sheet: at for at, sheet in enumerate(dict.fromkeys(sheets))}
    under = np.array([number[sheet] for sheet in sheets])[pane]
    levels = np.zeros(len(pane), np.uint8)
    for (name, seed, size), at in number.items():
        these = np.flatnonzero(under == at)
        along = matrices[pane[these]]
        x, y = columns[these], rows[these]
        across = along[:, 0, 0] * x + along[:, 0, 1] * y + along[:, 0, 2]
        down = along[:, 1, 0] * x + along[:, 1, 1] * y + along[:, 1, 2]
        levels[these] = _read(sheet_of(name, seed=seed, size_px=size), across, down)
    index = pane.astype(np.int64) * 256 + levels
    return np.bincount(index, minlength=256 * len(cuts)).reshape(-1, 256)


def _places(
    cuts: Sequence[Cut], corner: tuple[float, float]
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]]:
    """Rows and columns of the pixels that show glass, and the number of the pane each lies in."""
    cv2 = opencv()
    wide = max(cut.box.right for cut in cuts) - corner[0]
    high = max(cut.box.bottom for cut in cuts) - corner[1]
    owner = np.zeros((ceil(high * PX_PER_MM) + 1, ceil(wide * PX_PER_MM) + 1), np.int32)
    for number, cut in enumerate(cuts, start=1):
        rings = [ring_px(ring, corner, PX_PER_MM) for ring in cut.glass]
        cv2.fillPoly(owner, rings, number, cv2.LINE_8, 4)
    rows, columns = np.nonzero(owner)
    pane = owner[rows, columns] - 1
    return rows.astype(np.float32), columns.astype(np.float32), pane


def _read(sheet: NDArray[np.uint8], across: Any, down: Any) -> NDArray[np.uint8]:
    """The sheet's levels at places, between pixels by straight lines; the sheet repeats."""
    cv2 = opencv()
    count = len(across)
    shape = (-(-count // _ACROSS), _ACROSS)
    maps = []
    for places in (across, down):
        full = np.zeros(shape, np.float32)
        full.ravel()[:count] = places
        maps.append(full)
    seen = cv2.remap(sheet, *maps, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
    return np.asarray(seen, np.uint8).ravel()[:count]
