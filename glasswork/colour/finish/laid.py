"""Pieces of glass laid in a picture: where each lies in its pixels and which levels it shows."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.colour.finish.cut import Cut, Levels, opencv
from glasswork.colour.finish.fields import PX_PER_MM, sheet_of
from glasswork.model.geometry import Regions, corners_of

Place = tuple[float, float]
Outlines = list[list[NDArray[np.int32]]]
"""For each of many areas its rings, corners in sixteenths of a pixel as OpenCV fills them."""

_SHIFT: Final = 4
_FINE: Final = 1 << _SHIFT


class Patch(Struct, frozen=True, kw_only=True):
    """Where a pane lies in a picture: first column and row, and its levels and masks.

    filled : 255 where its ink goes; levels outside it mean nothing
    """

    left: int
    top: int
    levels: Levels
    filled: Levels


class LaidCuts:
    """Cuts in a picture at a scale; what is alike for all is worked out for all at once.

    corner : panel mm of the picture's top left
    """

    def __init__(self, cuts: Sequence[Cut], corner: Place, px_per_mm: float) -> None:
        boxes = (np.array([cut.box for cut in cuts]) - (*corner, *corner)) * px_per_mm
        first = np.floor(boxes[:, :2]).astype(np.intp)
        size = np.maximum(np.ceil(boxes[:, 2:]).astype(np.intp) - first, 1)
        self._cuts = cuts
        self._first: list[tuple[int, int]] = list(map(tuple, first.tolist()))
        self._size: list[tuple[int, int]] = list(map(tuple, size.tolist()))
        self._under = sheets_under(cuts, corner + first / px_per_mm, px_per_mm)
        self._outlines = outlines_px([cut.area for cut in cuts], corner, px_per_mm)
        self.from_top: list[int] = np.argsort(first[:, 1], kind="stable").tolist()

    def patch(self, number: int) -> Patch:
        """The levels of one cut."""
        cv2 = opencv()
        cut, under = self._cuts[number], self._under[number]
        (left, top), (wide, high) = self._first[number], self._size[number]
        sheet = sheet_of(cut.finish, seed=cut.seed, size_px=cut.sheet_px)
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        levels = cv2.warpAffine(sheet, under, (wide, high), flags=flags, borderMode=cv2.BORDER_WRAP)
        filled = np.zeros((high, wide), np.uint8)
        fill(filled, self._outlines[number], 255, (left, top))
        return Patch(left=left, top=top, levels=levels, filled=filled)


def sheets_under(
    cuts: Sequence[Cut], origins: Place | NDArray[np.float64], px_per_mm: float
) -> NDArray[np.float64]:
    """For each cut the map from pixels of a picture to those of the sheet under it, (n, 2, 3).

    origins : panel mm of the picture's top left, one for all or (n, 2)
    """
    turn = np.radians([cut.turn_deg for cut in cuts])
    step = PX_PER_MM / px_per_mm
    c, s = np.cos(turn) * step, np.sin(turn) * step
    boxes = np.array([cut.box for cut in cuts])
    at = np.array([cut.at_mm for cut in cuts]) * PX_PER_MM - 0.5
    middle = (boxes[:, :2] + boxes[:, 2:]) / 2.0
    u, v = ((np.asarray(origins) - middle) * px_per_mm + 0.5).T
    rows = [[c, s, c * u + s * v + at[:, 0]], [-s, c, -s * u + c * v + at[:, 1]]]
    return np.moveaxis(np.array(rows), 2, 0).copy()


def outlines_px(areas: Sequence[Regions], corner: Place, px_per_mm: float) -> Outlines:
    """The areas as OpenCV fills them in a picture. corner : panel mm of its top left"""
    rings = [ring for area in areas for region in area for ring in region.rings]
    places = (corners_of(rings) - corner) * (px_per_mm * _FINE) - _FINE / 2.0
    fine = np.rint(places).astype(np.int32)
    stops = np.cumsum([0, *map(len, rings)]).tolist()
    placed = iter([fine[begin:stop] for begin, stop in pairwise(stops)])
    return [[next(placed) for region in area for _ in region.rings] for area in areas]


def fill(
    pixels: NDArray[np.uint8] | NDArray[np.int32],
    outline: list[NDArray[np.int32]],
    value: int,
    first: tuple[int, int] = (0, 0),
) -> None:
    """Set the pixels inside an outline.

    first : column and row of the picture at which these pixels begin
    """
    cv2 = opencv()
    offset = (-_FINE * first[0], -_FINE * first[1])
    cv2.fillPoly(pixels, outline, value, lineType=cv2.LINE_8, shift=_SHIFT, offset=offset)
