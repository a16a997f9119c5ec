"""Pictures of glass on their pages: moved, turned and mirrored with the film, pixel for pixel."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from glasswork.errors import SheetError
from glasswork.model.geometry import Affine, Box, Regions
from glasswork.model.sheet import Picture

_STRAIGHT = 1e-9


def pictures_on_page(
    pictures: Sequence[Picture], to_page: Affine, *, mask: Regions = ()
) -> tuple[Picture, ...]:
    """Pictures in panel mm as pictures in page mm; those that share pixels still share them.

    to_page : straight or by quarter turns, mirrored or not, scaled as it may be
    mask : in page mm, the picture shows only inside it
    Raises: SheetError, if the map turns by anything but quarter turns
    """
    made: dict[int, Picture] = {}
    for picture in pictures:
        if id(picture.pixels) not in made:
            made[id(picture.pixels)] = _on_page(picture, to_page, mask)
    return tuple(made[id(picture.pixels)] for picture in pictures)


def _on_page(picture: Picture, to_page: Affine, mask: Regions) -> Picture:
    straight = abs(to_page.b) < _STRAIGHT and abs(to_page.c) < _STRAIGHT
    quarter = abs(to_page.a) < _STRAIGHT and abs(to_page.d) < _STRAIGHT
    if not straight and not quarter:
        raise SheetError("film", "its picture cannot be turned by less than a quarter turn")
    pixels = picture.pixels if straight else np.swapaxes(picture.pixels, 0, 1)
    right, down = (to_page.a, to_page.d) if straight else (to_page.c, to_page.b)
    if right < 0.0:
        pixels = pixels[:, ::-1]
    if down < 0.0:
        pixels = pixels[::-1]
    left, top, end, bottom = picture.box
    corners = [to_page.apply(corner) for corner in ((left, top), (end, bottom))]
    return Picture(box=Box.around(corners), pixels=np.ascontiguousarray(pixels), mask=mask)
