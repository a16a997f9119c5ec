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
_Whole = NDArray[np.int32]
"""Pixels of three colours and a byte to spare: what is four bytes long is copied as one number."""

_WORKERS: Final = 2
_AT_ONCE: Final = 8
_AHEAD: Final = 8
"""Lots of panes that may be drawn before they are laid."""
_SMALL_PX: Final = 30_000
"""Pixels of a pane from which two threads draw faster than one."""
_BYTES: Final = np.dtype(np.int32).itemsize
_WHITE: Final = -1
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
    colours = [_printed(glazing.tones, film) for film in range(count)]
    bands = _bands(glazing, px_per_mm, colours, rows=_BAND)
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
    ((pixels,),) = _bands(glazing, px_per_mm, [_seen(glazing.tones)], rows=rows)
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


class _Colours(Struct, frozen=True, eq=False):
    """One way of colouring.

    table : (panes, 256), each pane's colours by level
    dimmed : (panes, 256), what matting of 0-255 multiplies them by, of 255
    """

    table: _Whole
    dimmed: Pixels


class _Painted(Struct, frozen=True, eq=False):
    """A pane where it lies, coloured in all the ways. number : among the cuts"""

    number: int
    patch: Patch
    pixels: list[_Whole]

    @property
    def bottom(self) -> int:
        return self.patch.top + len(self.patch.levels)


def _printed(tones: Sequence[Tone], film: int) -> _Colours:
    dimmed = np.rint(255.0 * (1.0 - MATT_DARKEST * np.arange(256) / 255.0)).astype(np.uint8)
    table = _whole([tone.device[film] for tone in tones])
    return _Colours(table, np.broadcast_to(dimmed, (len(tones), 256)))


def _seen(tones: Sequence[Tone]) -> _Colours:
    return _Colours(_whole([tone.lit for tone in tones]), np.stack([t.matt_lit for t in tones]))


def _whole(colours: Sequence[Pixels]) -> _Whole:
    """(n, 256, 3) colours as whole pixels, (n, 256)."""
    room = np.zeros((len(colours), 256, _BYTES), np.uint8)
    np.stack(colours, out=room[..., :3])
    return room.view(np.int32)[..., 0]


def _bands(
    glazing: Glazing, px_per_mm: float, colours: Sequence[_Colours], *, rows: int
) -> Iterator[list[Pixels]]:
    """A picture for each way of colouring, so many rows at a time from the top down.

    The pixels that are given are drawn over two bands later.
    """
    cv2 = opencv()
    columns, high = _size_px(glazing, px_per_mm)
    shape = (min(rows, high), columns)
    sheets = [np.empty(shape, np.int32) for _ in colours]
    given = [[np.empty((*shape, 3), np.uint8) for _ in colours] for _ in range(1 + (high > rows))]
    coming = _painted(glazing, px_per_mm, colours)
    following = next(coming, None)
    lying: list[_Painted] = []
    for turn, first in enumerate(range(0, high, rows)):
        last = min(first + rows, high)
        while following is not None and following.patch.top < last:
            lying.append(following)
            following = next(coming, None)
        for sheet in sheets:
            sheet.fill(_WHITE)
        for painted in sorted(lying, key=lambda one: one.number):
            _lay(sheets, painted, first, last)
        lying = [painted for painted in lying if painted.bottom > last]
        band = [pixels[: last - first] for pixels in given[turn % 2]]
        for sheet, pixels in zip(sheets, band, strict=True):
            laid = sheet[: last - first, :, None].view(np.uint8)
            cv2.cvtColor(laid, cv2.COLOR_BGRA2BGR, dst=pixels)
        yield band


def _painted(glazing: Glazing, px_per_mm: float, colours: Sequence[_Colours]) -> Iterator[_Painted]:
    """Panes from the top down, each coloured in all the ways; their levels serve them all."""
    cv2 = opencv()
    corner = (glazing.box.left, glazing.box.top)
    laid = LaidCuts(glazing.cuts, corner, px_per_mm)

    def paint(number: int) -> _Painted:
        patch = laid.patch(number)
        pixels = [cv2.LUT(patch.levels, way.table[number : number + 1]) for way in colours]
        work = paint_on(
            glazing.cuts[number], patch, glazing.shades, glazing.settings, corner, px_per_mm
        )
        if work is not None:
            ways = zip(pixels, colours, strict=True)
            pixels = [_dimmed(plain, work, way.dimmed[number]) for plain, way in ways]
        return _Painted(number, patch, pixels)

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


def _dimmed(pixels: _Whole, paint: Pixels, dimmed: Pixels) -> _Whole:
    cv2 = opencv()
    factor = cv2.merge([cv2.LUT(paint, dimmed)] * _BYTES)
    out: Pixels = cv2.multiply(pixels[..., None].view(np.uint8), factor, scale=1.0 / 255.0)
    return out.view(np.int32)[..., 0]


def _lay(sheets: Sequence[_Whole], painted: _Painted, first: int, last: int) -> None:
    """Copy a pane into these rows of the pictures, cut to what lies inside."""
    patch = painted.patch
    rows, columns = patch.levels.shape
    left, right = max(patch.left, 0), min(patch.left + columns, sheets[0].shape[1])
    top, bottom = max(patch.top, first), min(patch.top + rows, last)
    if top >= bottom or left >= right:
        return
    inner = slice(top - patch.top, bottom - patch.top), slice(left - patch.left, right - patch.left)
    there = slice(top - first, bottom - first), slice(left, right)
    for sheet, pixels in zip(sheets, painted.pixels, strict=True):
        opencv().copyTo(pixels[inner], patch.filled[inner], sheet[there])
