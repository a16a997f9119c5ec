"""How often each level of its sheet shows between the leads of a pane, for all panes at once."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from glasswork.colour.finish.cut import Cut, opencv
from glasswork.colour.finish.fields import sheet_of
from glasswork.colour.finish.laid import fill, outlines_px, sheets_under

PX_PER_MM: Final = 4.0
"""Scale at which levels are counted."""

_ACROSS: Final = 4096
"""Columns of a picture of places, which OpenCV holds below 32768."""


def level_counts(cuts: Sequence[Cut]) -> NDArray[np.int64]:
    """Pixels at each level, (panes, 256); none for a pane too small to be seen.

    cuts : at least one
    """
    corner = (min(cut.box.left for cut in cuts), min(cut.box.top for cut in cuts))
    rows, columns, pane = _places(cuts, corner)
    sheets = [(cut.finish, cut.seed, cut.sheet_px) for cut in cuts]
    kinds = {sheet: at for at, sheet in enumerate(dict.fromkeys(sheets))}
    (xx, xy, x0), (yx, yy, y0) = np.moveaxis(
        sheets_under(cuts, corner, PX_PER_MM).astype(np.float32), 0, 2
    )
    across = xx[pane] * columns + xy[pane] * rows + x0[pane]
    down = yx[pane] * columns + yy[pane] * rows + y0[pane]
    levels = np.zeros(len(pane), np.uint8)
    under = np.array([kinds[sheet] for sheet in sheets])[pane]
    for (name, seed, size), at in kinds.items():
        these = np.flatnonzero(under == at) if len(kinds) > 1 else slice(None)
        sheet = sheet_of(name, seed=seed, size_px=size)
        levels[these] = _read(sheet, across[these], down[these])
    counted = np.bincount(pane * 256 + levels, minlength=256 * len(cuts))
    return counted.reshape(-1, 256)


def _places(
    cuts: Sequence[Cut], corner: tuple[float, float]
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.intp]]:
    """Rows and columns of the pixels that show glass, and the number of the pane each lies in."""
    wide = ceil((max(cut.box.right for cut in cuts) - corner[0]) * PX_PER_MM) + 1
    high = ceil((max(cut.box.bottom for cut in cuts) - corner[1]) * PX_PER_MM) + 1
    owner = np.zeros((high, wide), np.int32)
    outlines = outlines_px([(cut.glass,) for cut in cuts], corner, PX_PER_MM)
    for number, outline in enumerate(outlines, start=1):
        fill(owner, outline, number)
    flat = owner.ravel()
    at = np.flatnonzero(flat)
    rows, columns = np.divmod(at, wide)
    return rows.astype(np.float32), columns.astype(np.float32), flat[at].astype(np.intp) - 1


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
