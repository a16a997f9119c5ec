"""One picture a film, every pane cut from its own sheet of glass; and the same as seen lit."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import islice
from math import ceil
from typing import Final, TypeVar

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.colour.finish.cut import opencv
from glasswork.colour.finish.glaze import Glazing
from glasswork.colour.finish.laid import LaidCuts, Patch
from glasswork.colour.finish.paint import paint_on
from glasswork.colour.finish.tone import MATT_DARKEST, Tone
from glasswork.model.geometry import Box
from glasswork.model.sheet import PackedPicture, Packer, Picture
from glasswork.units import mm_to_px

Pixels = NDArray[np.uint8]
_Item = TypeVar("_Item")
_Made = TypeVar("_Made")
Colour = Callable[[Tone], tuple[Pixels, Pixels]]
"""A pane's (256, 3) colours by level, and what matting of 0-255 multiplies them by, of 255."""

_WORKERS: Final = 2
_AT_ONCE: Final = 8
_AHEAD: Final = 8
"""Lots of panes that may be drawn before they are laid."""
_SMALL_PX: Final = 30_000
"""Pixels of a pane from which two threads draw faster than one."""
_BAND: Final = 256
"""Rows of a film's picture that are drawn at once."""


def film_pictures(glazing: Glazing, packer: Callable[[], Packer]) -> tuple[PackedPicture, ...]:
    """One picture a film in panel mm seen from the front, 8-bit device RGB; () if all is flat.

    Identical films share one picture. Outside the glass the pictures are white. They are drawn
    from the top down and packed meanwhile, so that no picture is ever held whole.
    """
    if glazing.flat:
        return ()
    px_per_mm = mm_to_px(1.0, dpi=glazing.settings.dpi)
    count = 1 if glazing.identical else glazing.films
    packers = [packer() for _ in range(count)]
    bands = _bands(glazing, px_per_mm, [_printed(film) for film in range(count)], rows=_BAND)
    with ThreadPoolExecutor(1) as aside:
        packing: list[Future[None]] = []
        for band in bands:
            _done(packing)  # the next band is drawn over the one that these took
            packing = [aside.submit(one.add, rows) for one, rows in zip(packers, band, strict=True)]
        _done(packing)
    columns, rows = _size_px(glazing, px_per_mm)
    pictures = tuple(
        PackedPicture(box=_taken(glazing, px_per_mm), columns=columns, rows=rows, data=one.packed())
        for one in packers
    )
    return pictures * glazing.films if glazing.identical else pictures


def lit_picture(glazing: Glazing, *, px_per_mm: float) -> Picture:
    """The glass as it will look lit, sRGB, white outside the glass; the frame is not in it."""
    _, rows = _size_px(glazing, px_per_mm)
    ((pixels,),) = _bands(glazing, px_per_mm, [_seen], rows=rows)
    return Picture(box=_taken(glazing, px_per_mm), pixels=pixels)


def small_panes(glazing: Glazing, px_per_mm: float) -> bool:
    """Two threads that draw panes so small wait for each other longer than they draw."""
    whole = glazing.box.width * glazing.box.height * px_per_mm**2
    return whole < _SMALL_PX * len(glazing.cuts)


def _size_px(glazing: Glazing, px_per_mm: float) -> tuple[int, int]:
    """Columns and rows of a picture of all the glass."""
    return ceil(glazing.box.width * px_per_mm), ceil(glazing.box.height * px_per_mm)


def _taken(glazing: Glazing, px_per_mm: float) -> Box:
    """What whole pixels cover."""
    left, top, _, _ = glazing.box
    columns, rows = _size_px(glazing, px_per_mm)
    return Box(left, top, left + columns / px_per_mm, top + rows / px_per_mm)


def _done(work: Sequence[Future[None]]) -> None:
    for one in work:
        one.result()


# -- drawing -------------------------------------------------------------------------------------


class _Painted(Struct, frozen=True, eq=False):
    """A pane where it lies, coloured in all the ways. number : among the cuts"""

    number: int
    patch: Patch
    pixels: list[Pixels]

    @property
    def bottom(self) -> int:
        return self.patch.top + len(self.patch.levels)


def _printed(film: int) -> Colour:
    dimmed = np.rint(255.0 * (1.0 - MATT_DARKEST * np.arange(256) / 255.0)).astype(np.uint8)
    return lambda tone: (tone.device[film], dimmed)


def _seen(tone: Tone) -> tuple[Pixels, Pixels]:
    return tone.lit, tone.matt_lit


def _bands(
    glazing: Glazing, px_per_mm: float, colours: Sequence[Colour], *, rows: int
) -> Iterator[list[Pixels]]:
    """A picture for each way of colouring, so many rows at a time from the top down.

    The pixels that are given are drawn over two bands later.
    """
    columns, high = _size_px(glazing, px_per_mm)
    shape = (min(rows, high), columns, 3)
    sheets = [[np.empty(shape, np.uint8) for _ in colours] for _ in range(1 + (high > rows))]
    coming = _painted(glazing, px_per_mm, colours)
    following = next(coming, None)
    lying: list[_Painted] = []
    for turn, first in enumerate(range(0, high, rows)):
        last = min(first + rows, high)
        while following is not None and following.patch.top < last:
            lying.append(following)
            following = next(coming, None)
        band = [sheet[: last - first] for sheet in sheets[turn % 2]]
        for sheet in band:
            sheet.fill(255)
        for painted in sorted(lying, key=lambda one: one.number):
            for sheet, pixels in zip(band, painted.pixels, strict=True):
                _lay(sheet, painted.patch, pixels, first)
        lying = [painted for painted in lying if painted.bottom > last]
        yield band


def _painted(glazing: Glazing, px_per_mm: float, colours: Sequence[Colour]) -> Iterator[_Painted]:
    """Panes from the top down, each coloured in all the ways; their levels serve them all."""
    corner = (glazing.box.left, glazing.box.top)
    laid = LaidCuts(glazing.cuts, corner, px_per_mm)

    def paint(number: int) -> _Painted:
        cut, tone = glazing.cuts[number], glazing.tones[number]
        patch = laid.patch(number)
        work = paint_on(cut, patch, glazing.shades, glazing.settings, corner, px_per_mm)
        painted = []
        for table, dimmed in (colour(tone) for colour in colours):
            pixels = _coloured(patch.levels, table)
            painted.append(pixels if work is None else _dimmed(pixels, work, dimmed))
        return _Painted(number, patch, painted)

    if small_panes(glazing, px_per_mm):
        yield from map(paint, laid.from_top)
        return
    yield from worked_ahead(paint, laid.from_top)


def worked_ahead(work: Callable[[_Item], _Made], items: Sequence[_Item]) -> Iterator[_Made]:
    """What becomes of the items, in their order, a few lots of them worked on beside the caller."""
    lots = iter([items[start : start + _AT_ONCE] for start in range(0, len(items), _AT_ONCE)])
    with ThreadPoolExecutor(_WORKERS) as pool:

        def begin(lot: Sequence[_Item]) -> Future[list[_Made]]:
            return pool.submit(lambda: [work(item) for item in lot])

        begun = deque(map(begin, islice(lots, _AHEAD)))
        while begun:
            yield from begun.popleft().result()
            begun.extend(map(begin, islice(lots, 1)))


def _coloured(levels: Pixels, colours: Pixels) -> Pixels:
    """Levels through a (256, 3) table."""
    out: Pixels = opencv().applyColorMap(levels, np.ascontiguousarray(colours[:, None, :]))
    return out


def _dimmed(pixels: Pixels, paint: Pixels, dimmed: Pixels) -> Pixels:
    cv2 = opencv()
    factor = cv2.LUT(paint, dimmed)
    out: Pixels = cv2.multiply(pixels, cv2.merge([factor] * 3), scale=1.0 / 255.0)
    return out


def _lay(pixels: Pixels, patch: Patch, painted: Pixels, first: int) -> None:
    """Copy a pane into rows of the picture, cut to what lies inside. first : of these rows"""
    patch_top = patch.top - first
    top, left = max(patch_top, 0), max(patch.left, 0)
    rows, columns = patch.levels.shape
    bottom = min(patch_top + rows, pixels.shape[0])
    right = min(patch.left + columns, pixels.shape[1])
    if top >= bottom or left >= right:
        return
    inner = (
        slice(top - patch_top, bottom - patch_top),
        slice(left - patch.left, right - patch.left),
    )
    opencv().copyTo(painted[inner], patch.filled[inner], pixels[top:bottom, left:right])
