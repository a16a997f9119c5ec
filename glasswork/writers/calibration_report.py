"""The calibration report as a picture, for those who do not print it."""

from __future__ import annotations

import io


def page_png(pdf: bytes, *, width_px: int = 1400) -> bytes:
    """The first page of a PDF as PNG, so many pixels wide."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    try:
        page = document[0]
        picture = page.render(scale=width_px / page.get_width()).to_pil()
    finally:
        document.close()
    out = io.BytesIO()
    picture.convert("RGB").save(out, "PNG")
    return out.getvalue()
