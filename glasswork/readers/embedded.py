"""The picture that an SVG holds within itself, as a scan of the size it has on the drawing."""

from __future__ import annotations

import base64
import binascii
from math import hypot
from urllib.parse import unquote_to_bytes

from msgspec.structs import replace

from glasswork.errors import ReadError
from glasswork.model.window import Scan
from glasswork.readers.scan import read_scan
from glasswork.readers.svg import Picture, pictures_of

_KINDS = ("image/png", "image/jpeg", "image/jpg")


def read_embedded(data: bytes, *, name: str) -> Scan:
    """The one PNG or JPEG that an SVG shows; its lines are left out.

    Raises: ReadError, if it shows none or several, or the picture is none that is read
    """
    pictures, sized = pictures_of(data, name=name)
    if len(pictures) != 1:
        raise ReadError(
            name,
            f"{len(pictures)} pictures are embedded in it, 1 is read",
            "leave one in the drawing, or give it as a PNG or JPEG of its own",
        )
    (picture,) = pictures
    scan = read_scan(_bytes_of(picture.link, name), name=name)
    if not sized:
        return replace(scan, mm_per_px=None)
    return replace(scan, mm_per_px=_pitch_mm(picture, scan.grey.shape[::-1]))


def _bytes_of(link: str, name: str) -> bytes:
    head, comma, body = link.partition(",")
    kind, *more = head.removeprefix("data:").lower().split(";")
    if not comma or kind.strip() not in _KINDS:
        raise ReadError(name, f'an embedded picture is "{kind[:30]}"', "embed it as PNG or JPEG")
    raw = unquote_to_bytes(body)
    if "base64" not in (word.strip() for word in more):
        return raw
    try:
        return base64.b64decode(b"".join(raw.split()), validate=True)
    except binascii.Error as exc:
        raise ReadError(name, "an embedded picture is cut short", "embed it again") from exc


def _pitch_mm(picture: Picture, size_px: tuple[int, ...]) -> float:
    """How wide a pixel is on the drawing; the picture fits into its box whole."""
    across, down = (
        side / px if side is not None else None
        for side, px in zip(picture.size, size_px, strict=True)
    )
    known = [share for share in (across, down) if share is not None]
    return (min(known) if known else 1.0) * hypot(picture.place.a, picture.place.b)
