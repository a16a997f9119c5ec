"""ICC v4 output profiles of film stacks, so that other programs can show what will be seen.

The profile's white is the lit clear stack; its colours are CIELAB relative to that, which is what
the profile connection space holds for media-relative intents. Structure as in [icc1].
"""

from __future__ import annotations

import struct
from hashlib import md5
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

D50: Final = (0.9642, 1.0, 0.8249)
OUT_OF_REACH: Final = 3.0


def write_icc(
    forward: Floats,
    back: Floats,
    off: Floats,
    *,
    colorant: str,
    title: str,
    created: str,
    rights: str = "No rights are claimed in this profile; it describes one printer and film.",
) -> bytes:
    """An output profile of a film stack.

    forward : device to CIELAB, (steps, …, 3), axes in device order; rgb 1 is no ink
    back : CIELAB to device, (steps, steps, steps, axes), over L* 0-100, a*, b* -128 to 127
    off : (steps, steps, steps) ΔE00 missed; over 3 is out of gamut
    created : ISO 8601 date, given by the caller
    Raises: ValueError, if a table's shape does not fit the colorant
    """
    axes = {"rgb": 3, "cmyk": 4}[colorant]
    if forward.ndim != axes + 1 or forward.shape[-1] != 3 or back.shape[-1] != axes:
        raise ValueError(f"tables of {forward.ndim - 1} and {back.shape[-1]} axes for {colorant}")
    to_lab = _lut("mAB ", _lab_codes(forward), axes, 3)
    to_device = _lut("mBA ", _codes(back), 3, axes)
    gamut = _lut("mBA ", _codes((off > OUT_OF_REACH)[..., None].astype(float)), 3, 1)
    tags: list[tuple[bytes, bytes]] = [
        (b"desc", _text(title)),
        (b"cprt", _text(rights)),
        (b"wtpt", _xyz(D50)),
        (b"chad", b"sf32" + bytes(4) + b"".join(_s15(v) for v in np.eye(3).ravel())),
        (b"A2B0", to_lab),
        (b"A2B1", to_lab),
        (b"A2B2", to_lab),
        (b"B2A0", to_device),
        (b"B2A1", to_device),
        (b"B2A2", to_device),
        (b"gamt", gamut),
    ]
    return _assembled(tags, colorant, created)


def _assembled(tags: list[tuple[bytes, bytes]], colorant: str, created: str) -> bytes:
    """Header, tag table, and each distinct tag once."""
    at = 128 + 4 + 12 * len(tags)
    table, body = b"", b""
    places: dict[bytes, int] = {}
    for name, data in tags:
        if data not in places:
            places[data] = at + len(body)
            body += data + bytes(-len(data) % 4)
        table += name + struct.pack(">II", places[data], len(data))
    size = at + len(body)
    space = b"RGB " if colorant == "rgb" else b"CMYK"
    year, month, day = (int(part) for part in created[:10].split("-"))
    header = struct.pack(">I4sI", size, bytes(4), 0x04300000)
    header += b"prtr" + space + b"Lab "
    header += struct.pack(">6H", year, month, day, 0, 0, 0)
    # Attributes: bit 0 says transparency.
    header += b"acsp" + bytes(4) + struct.pack(">I", 0) + bytes(8) + struct.pack(">Q", 1)
    header += struct.pack(">I", 1) + b"".join(_s15(v) for v in D50) + bytes(4)
    header = header.ljust(128, b"\0")
    whole = header + struct.pack(">I", len(tags)) + table + body
    # The identity is the MD5 of the file with flags, intent and identity at zero.
    bare = bytearray(whole)
    bare[44:48], bare[64:68], bare[84:100] = bytes(4), bytes(4), bytes(16)
    identity = md5(bytes(bare), usedforsecurity=False).digest()
    return whole[:84] + identity + whole[100:]


def _lut(kind: str, codes: NDArray[np.uint16], inputs: int, outputs: int) -> bytes:
    """lutAToBType or lutBToAType with straight curves around one table."""
    straight = b"curv" + bytes(8)
    table = (
        bytes(codes.shape[:inputs]).ljust(16, b"\0") + b"\x02\0\0\0" + codes.astype(">u2").tobytes()
    )
    table += bytes(-len(table) % 4)
    to_b, to_a = (outputs, inputs) if kind == "mAB " else (inputs, outputs)
    start = 32
    b_at = start
    clut_at = b_at + 12 * to_b
    a_at = clut_at + len(table)
    head = kind.encode() + bytes(4) + bytes((inputs, outputs, 0, 0))
    head += struct.pack(">5I", b_at, 0, 0, clut_at, a_at)
    return head + straight * to_b + table + straight * to_a


def _codes(values: Floats) -> NDArray[np.uint16]:
    return np.asarray(np.round(np.clip(values, 0.0, 1.0) * 65535.0), dtype=np.uint16)


def _lab_codes(lab: Floats) -> NDArray[np.uint16]:
    share = (lab + np.array([0.0, 128.0, 128.0])) / np.array([100.0, 255.0, 255.0])
    return _codes(share)


def _text(text: str) -> bytes:
    """multiLocalizedUnicodeType with one record."""
    words = text.encode("utf-16-be")
    return (
        b"mluc"
        + bytes(4)
        + struct.pack(">II", 1, 12)
        + b"enUS"
        + struct.pack(">II", len(words), 28)
        + words
    )


def _xyz(values: tuple[float, float, float]) -> bytes:
    return b"XYZ " + bytes(4) + b"".join(_s15(v) for v in values)


def _s15(value: float) -> bytes:
    return struct.pack(">i", round(float(value) * 65536.0))
