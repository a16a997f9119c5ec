"""Pages as PDF bytes: device colours untouched, true to size, the same bytes every time.

Page millimetres (from the top left, y down) become points of 1/72 in (from the bottom left, y up)
here and nowhere else. Colour is DeviceRGB without profile or output intent; pictures are deflated
without loss; the typeface is embedded. No conformance to a PDF/X or PDF/A part is claimed.
Source: [iso32000]
"""

from __future__ import annotations

import re
from typing import Any, Final

from glasswork.errors import SheetError
from glasswork.model.geometry import Box
from glasswork.model.sheet import Document, Page
from glasswork.units import mm_to_pt
from glasswork.writers.flate import deflate
from glasswork.writers.pdf_content import Content, ready

_DATE: Final = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)(?:[T ](\d\d):(\d\d)(?::(\d\d))?(?:\.\d+)?)?\s*"
    r"(?:Z|([+-]\d\d):?(\d\d))?\Z"
)
_LARGEST_PT: Final = 14400.0
"""Longest side of a page, 200 in [iso32000]."""


def write_pdf(document: Document) -> bytes:
    """A document as a PDF file.

    Raises: SheetError, if there is no page, a page has no size, or the date cannot be read
    """
    from reportlab.pdfbase import pdfdoc

    _check(document)
    pdf = pdfdoc.PDFDocument(invariant=1, pdfVersion=(1, 4))
    _describe(pdf, document)
    content = Content(pdf)
    content.pack_all(document.pages)
    for page in document.pages:
        _add_page(pdf, page, content)
    return bytes(pdf.GetPDFData(None))


def _check(document: Document) -> None:
    if not document.pages:
        raise SheetError(document.title, "has no page", "give it at least one")
    for number, page in enumerate(document.pages, start=1):
        sides = (mm_to_pt(page.width_mm), mm_to_pt(page.height_mm))
        if not all(0.0 < side <= _LARGEST_PT for side in sides):
            raise SheetError(
                f"{document.title}, page {number}",
                f"{page.width_mm:g} x {page.height_mm:g} mm is no page, at most 5080 mm a side",
                "choose a smaller page",
            )


def _describe(pdf: Any, document: Document) -> None:
    """Metadata, and the wish to be printed at full size."""
    from hashlib import md5

    from reportlab.pdfbase import pdfdoc

    stamp = pdf._timeStamp
    stamp.YMDhms, stamp.dhh, stamp.dmm = _date(document)
    info = pdf.info
    info.title, info.subject = document.title, document.subject
    info.keywords, info.author = ", ".join(document.keywords), ""
    info.creator, info.producer = "Glasswork", "Glasswork with reportlab"
    pdf.signature = md5(repr((document.created, stamp.YMDhms)).encode(), usedforsecurity=False)
    wishes = pdfdoc.ViewerPreferencesPDFDictionary()
    wishes["PrintScaling"] = "None"
    wishes["DisplayDocTitle"] = "true"
    pdf.Catalog.ViewerPreferences = wishes
    pdf.Catalog.Lang = pdfdoc.PDFString("en")


def _date(document: Document) -> tuple[tuple[int, ...], int, int]:
    """Year to second, and the offset from UTC in hours and minutes."""
    match = _DATE.match(document.created.strip())
    if match is None:
        raise SheetError(
            document.title,
            f'"{document.created}" is not a date',
            "write it as 2024-05-17 or 2024-05-17T09:30:00Z",
        )
    parts = match.groups(default="0")
    return tuple(int(part) for part in parts[:6]), int(parts[6]), int(parts[7])


def _add_page(pdf: Any, page: Page, content: Content) -> None:
    from reportlab.pdfbase import pdfdoc

    data = content.of(page)
    pdf.updateSignature(data)
    made = pdfdoc.PDFPage()
    made.MediaBox = _box(Box(0.0, 0.0, page.width_mm, page.height_mm), page)
    if page.trim is not None:
        made.BleedBox = _box(page.bleed or page.trim, page)
        made.TrimBox = _box(page.trim, page)
    made.Contents = _stream(data)
    made.Resources = resources = pdfdoc.PDFResourceDictionary()
    resources.basicFonts()
    pictures = content.pictures_of_page()
    if pictures:
        resources.allProcs()
        resources.XObject = ready(pictures)
    made.Parent = pdf.Reference(pdf.Pages)
    pdf.addPage(made)


def _stream(data: bytes) -> Any:
    from reportlab.pdfbase import pdfdoc

    stream = pdfdoc.PDFStream()
    stream.content = deflate(data)
    stream.dictionary["Filter"] = pdfdoc.PDFName("FlateDecode")
    return stream


def _box(box: Box, page: Page) -> Any:
    """A box inside the page, in points, y up."""
    from reportlab.pdfbase import pdfdoc

    left, right = (min(max(x, 0.0), page.width_mm) for x in (box.left, box.right))
    top, bottom = (min(max(y, 0.0), page.height_mm) for y in (box.top, box.bottom))
    corners = (left, page.height_mm - bottom, right, page.height_mm - top)
    return pdfdoc.PDFArray([round(mm_to_pt(value), 4) for value in corners])
