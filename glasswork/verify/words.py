"""Texts on pages: their fonts embedded, on the page, and large enough to read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot
from typing import Any

from glasswork.model.report import CheckReport
from glasswork.verify.checks import check


def words(name: str, pages: Sequence[Any]) -> Iterator[CheckReport]:
    loose, outside, small = _texts(pages)
    yield check(
        f"{name} fonts",
        "embedded",
        f"{loose} loose" if loose else "embedded",
        "all",
        ok=loose == 0,
    )
    yield check(
        f"{name} texts",
        "on the page, 7 pt or more",
        f"{outside} off the page, smallest {small:.1f} pt",
        "none, 7 pt",
        ok=outside == 0 and small >= 6.99,
    )


def _texts(pages: Sequence[Any]) -> tuple[int, int, float]:
    """Text objects: how many use a font that is not embedded, how many leave the page, and the
    smallest size in pt."""
    import pypdfium2.raw as raw

    loose, outside, small = 0, 0, 999.0
    for page in pages:
        width, height = page.get_size()
        for item in _text_objects(page):
            left, bottom, right, top = item.get_bounds()
            outside += left < -0.5 or bottom < -0.5 or right > width + 0.5 or top > height + 0.5
            font = raw.FPDFTextObj_GetFont(item.raw)
            loose += raw.FPDFFont_GetIsEmbedded(font) != 1
            small = min(small, _size_pt(raw, item))
    return loose, outside, small


def _text_objects(page: Any) -> Iterator[Any]:
    """The texts among a page's objects, without making objects of the thousands of others."""
    import pypdfium2
    import pypdfium2.raw as raw

    found = [
        raw.FPDFPage_GetObject(page.raw, n) for n in range(raw.FPDFPage_CountObjects(page.raw))
    ]
    kinds = [raw.FPDFPageObj_GetType(item) for item in found]
    if raw.FPDF_PAGEOBJ_FORM in kinds:
        yield from page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT])
        return
    for item, kind in zip(found, kinds, strict=True):
        if kind == raw.FPDF_PAGEOBJ_TEXT:
            yield pypdfium2.PdfObject(item, page=page, pdf=page.pdf)


def _size_pt(raw: Any, item: Any) -> float:
    from ctypes import byref, c_float

    size = c_float()
    raw.FPDFTextObj_GetFontSize(item.raw, byref(size))
    matrix = item.get_matrix()
    return float(size.value * hypot(matrix.b, matrix.d))
