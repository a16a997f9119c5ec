"""The typeface of every page: its name, the characters it has, and how wide they run.

The face comes with reportlab, so that no system font is ever read, and is embedded in each file.
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from typing import Any, Final

FACES: Final = {False: "Vera", True: "VeraBd"}
"""Plain and bold."""
CAP_HEIGHT: Final = 0.729
DESCENT: Final = 0.236
"""Height of a capital, and depth below the base line, over the type size."""

_LOOKS_LIKE: Final = str.maketrans(
    {"Δ": "∆", "Ω": "Ω", "µ": "µ", "‐": "-", "‑": "-", "′": "'", "″": '"', "\u202f": " "}
)
_UNKNOWN: Final = "?"


@cache
def font(bold: bool) -> Any:
    """The face as reportlab's font object."""
    from importlib.resources import files
    from io import BytesIO

    from reportlab.pdfbase.ttfonts import TTFont

    name = FACES[bold]
    data = files("reportlab").joinpath("fonts", f"{name}.ttf").read_bytes()
    return TTFont(name, BytesIO(data))


def written(text: str) -> str:
    """The text in characters the face has: look-alikes, base letters, else a question mark."""
    known = font(bold=False).face.charToGlyph
    if text.isascii() and text.isprintable():
        return text
    out = []
    for char in text.translate(_LOOKS_LIKE):
        if ord(char) in known:
            out.append(char)
            continue
        plain = [c for c in unicodedata.normalize("NFKD", char) if not unicodedata.combining(c)]
        out += [c if ord(c) in known else _UNKNOWN for c in plain]
    return "".join(out)


def text_width_pt(text: str, size_pt: float, *, bold: bool = False) -> float:
    """How wide a line of text runs, in points."""
    return 0.001 * size_pt * _width_units(text, bold=bold)


@lru_cache(maxsize=4096)
def _width_units(text: str, *, bold: bool) -> float:
    """The width in thousandths of the type size."""
    face = font(bold=bold).face
    return float(sum([face.charWidths.get(ord(c), face.defaultWidth) for c in written(text)]))
