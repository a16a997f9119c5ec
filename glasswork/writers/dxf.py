"""Cut files as DXF R2010 in millimetres: one layer an operation, arcs as bulges.

DXF has y up, cut files y down: y is turned over by the height of the drawing, so that nothing is
mirrored. Dates and identifiers are pinned: the same paths give the same bytes.

The file's frame (header, tables, classes, objects) stands ready in `r2010.dxf`, as ezdxf makes it:
loading that library takes longer than all else here. A test holds our bytes equal to its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from glasswork.model.frame import CutPath
from glasswork.writers.svg import GROUPS, OPERATIONS

DIGITS = 6
_FIRST = 0x34
"""The handle of the first path; those in the frame are lower, but for three that come after."""
_OWNER = "17"
"""The handle of the model space."""


def write_dxf(paths: Sequence[CutPath], size_mm: tuple[float, float], *, title: str) -> bytes:
    """Cut paths as a DXF drawing of this size."""
    ordered = [path for name in OPERATIONS for path in paths if path.operation == name]
    drawn = "".join(
        _polyline(path, _FIRST + number, size_mm[1]) for number, path in enumerate(ordered)
    )
    text = _frame().replace("{title}", title, 1)
    for after in range(4):
        text = text.replace(f"{{handle+{after}}}", f"{_FIRST + len(ordered) + after:X}")
    head, tail = text.split("{paths}", 1)
    return f"{head}{drawn}{tail}".encode()


@cache
def _frame() -> str:
    from importlib.resources import files

    return files("glasswork.writers").joinpath("r2010.dxf").read_text("utf-8")


def _polyline(path: CutPath, handle: int, height_mm: float) -> str:
    """A LWPOLYLINE: group codes 10 and 20 a corner, 42 where an arc leaves it."""
    bulges = path.bulges or (0.0,) * len(path.points)
    corners = "".join(
        f" 10\n{round(float(x), DIGITS)}\n 20\n{round(float(height_mm - y), DIGITS)}\n"
        + (f" 42\n{-float(bulge)}\n" if bulge else "")
        for (x, y), bulge in zip(path.points, bulges, strict=True)
    )
    return (
        f"  0\nLWPOLYLINE\n  5\n{handle:X}\n330\n{_OWNER}\n100\nAcDbEntity\n"
        f"  8\n{GROUPS[path.operation]}\n100\nAcDbPolyline\n"
        f" 90\n{len(path.points)}\n 70\n{int(path.closed)}\n{corners}"
    )
