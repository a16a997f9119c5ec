"""The glass of a film pane by pane: a byte a pixel and each pane's own table of device colours.

A third of the bytes of one picture in full colour, and the levels of a pane serve all its films.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np

from glasswork.colour.finish.cut import FLAT, Levels, opencv
from glasswork.colour.finish.glaze import Glazing
from glasswork.colour.finish.laid import LaidCuts
from glasswork.colour.finish.pictures import film_pictures, small_panes, worked_ahead
from glasswork.model.geometry import Box
from glasswork.model.sheet import FilmPicture, Packer, Picture
from glasswork.units import mm_to_px

_NEAR: Final = np.ones((3, 3), np.uint8)


def pane_pictures(glazing: Glazing, packer: Callable[[], Packer]) -> tuple[FilmPicture, ...]:
    """For each film its panes as pictures of levels, in panel mm; () if all is flat.

    Where the glass is matted or shaded its colours are more than a table holds, and thousands of
    small pictures are slower to write and to read than a large one: then one picture a film in
    full colour, packed, as `film_pictures` gives it.
    """
    px_per_mm = mm_to_px(1.0, dpi=glazing.settings.dpi)
    shaded = glazing.settings.matting > 0.0 or bool(glazing.shades)
    if glazing.flat or shaded or small_panes(glazing, px_per_mm):
        return film_pictures(glazing, packer)
    laid = LaidCuts(glazing.cuts, glazing.box[:2], px_per_mm)
    numbers = range(len(glazing.cuts))
    made = list(worked_ahead(lambda number: _levels(glazing, laid, number, px_per_mm), numbers))
    count = 1 if glazing.identical else glazing.films
    films = tuple(
        tuple(
            Picture(box=box, pixels=levels, palette=tone.device[film], name=cut.pane)
            for cut, tone, (box, levels) in zip(glazing.cuts, glazing.tones, made, strict=True)
        )
        for film in range(count)
    )
    return films * glazing.films if glazing.identical else films


def _levels(glazing: Glazing, laid: LaidCuts, number: int, px_per_mm: float) -> tuple[Box, Any]:
    """A pane's levels and where they lie; what its ink does not reach is of one level."""
    cv2 = opencv()
    patch = laid.patch(number)
    rows, columns = patch.levels.shape
    levels: Levels = np.full((rows, columns), FLAT, np.uint8)
    cv2.copyTo(patch.levels, cv2.dilate(patch.filled, _NEAR), levels)
    left = glazing.box.left + patch.left / px_per_mm
    top = glazing.box.top + patch.top / px_per_mm
    return Box(left, top, left + columns / px_per_mm, top + rows / px_per_mm), levels
