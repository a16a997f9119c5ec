"""A drawing of any kind that is read: SVG line art, or a PNG or JPEG scan."""

from __future__ import annotations

from glasswork.errors import ReadError
from glasswork.model.window import LineArt, Scan

_PICTURES = (b"\x89PNG", b"\xff\xd8\xff")


def read_design(data: bytes, *, name: str, embedded: bool = False) -> LineArt | Scan:
    """The drawing in the bytes, its kind told from its beginning, not from its name.

    embedded : of an SVG, the picture within it is read instead of its lines
    Raises: ReadError, if it is neither SVG, PNG nor JPEG, or is broken
    """
    if not data.strip(b"\0 \t\r\n"):
        raise ReadError(name, "the file is empty", "save the drawing again")
    if data.startswith(_PICTURES):
        from glasswork.readers.scan import read_scan

        return read_scan(data, name=name)
    head = data[:4096].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if not (head.startswith(b"<") or data.startswith(b"\x1f\x8b")):
        raise ReadError(name, "it is no drawing that is read", "give an SVG, PNG or JPEG")
    if embedded:
        from glasswork.readers.embedded import read_embedded

        return read_embedded(data, name=name)
    from glasswork.readers.svg import read_svg

    return read_svg(data, name=name)
