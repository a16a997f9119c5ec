"""Every unit factor, written once. Inside Glasswork a length is in millimetres.

Sources: inch and point as in [iso32000]; CSS pixel as in [css-values].
"""

from __future__ import annotations

import re
from math import isfinite
from typing import Final

from glasswork.errors import ReadError

MM_PER_IN: Final = 25.4
PT_PER_IN: Final = 72.0
PX_PER_IN: Final = 96.0

_MM_PER_UNIT: Final = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "q": 0.25,
    "in": MM_PER_IN,
    "pt": MM_PER_IN / PT_PER_IN,
    "pc": MM_PER_IN / 6.0,
    "px": MM_PER_IN / PX_PER_IN,
}
_LENGTH: Final = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*\Z")


def mm_to_pt(mm: float) -> float:
    """Millimetres to PDF points of 1/72 in."""
    return mm * PT_PER_IN / MM_PER_IN


def pt_to_mm(pt: float) -> float:
    """PDF points of 1/72 in to millimetres."""
    return pt * MM_PER_IN / PT_PER_IN


def mm_to_px(mm: float, *, dpi: float) -> float:
    """Millimetres to pixels at a resolution in dots per inch."""
    return mm * dpi / MM_PER_IN


def px_to_mm(px: float, *, dpi: float) -> float:
    """Pixels at a resolution in dots per inch to millimetres."""
    return px * MM_PER_IN / dpi


def parse_length_mm(text: str, *, where: str, bare: str = "mm") -> float:
    """A length such as "120", "12cm" or "4.5 in", in millimetres.

    text : a number and, if wanted, a unit out of mm cm m q in pt pc px
    bare : the unit of a number that names none
    Raises: ReadError, if the text is not a finite length in a known unit
    """
    match = _LENGTH.match(text)
    unit = (match.group(2) or bare).lower() if match else ""
    if match is None or unit not in _MM_PER_UNIT or not isfinite(float(match.group(1))):
        known = ", ".join(_MM_PER_UNIT)
        raise ReadError(where, f'"{text}" is not a length', f"write a number and one of: {known}")
    return float(match.group(1)) * _MM_PER_UNIT[unit]
