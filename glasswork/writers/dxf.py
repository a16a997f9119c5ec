"""Cut files as DXF R2010 in millimetres: one layer an operation, arcs as bulges.

DXF has y up, cut files y down: y is turned over by the height of the drawing, so that nothing is
mirrored. Dates and identifiers are pinned: the same paths give the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import StringIO
from typing import Any

from glasswork.model.frame import CutPath
from glasswork.writers.svg import GROUPS, OPERATIONS

MILLIMETRES = 4
"""$INSUNITS of millimetres [dxf-units]."""
DIGITS = 6
CLASSES = ("ACDBPLACEHOLDER", "LAYOUT")


def write_dxf(paths: Sequence[CutPath], size_mm: tuple[float, float], *, title: str) -> bytes:
    """Cut paths as a DXF drawing of this size."""
    from ezdxf._options import options  # the package shows it without exporting it
    from ezdxf.filemanagement import new

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = new("R2010", units=MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        document.header["$EXTMIN"] = (0.0, 0.0, 0.0)
        document.header["$EXTMAX"] = (*size_mm, 0.0)
        document.header.custom_vars.append("Title", title)
        for operation in OPERATIONS:
            document.layers.add(GROUPS[operation])
        for operation in OPERATIONS:
            for path in paths:
                if path.operation == operation:
                    _add(document.modelspace(), path, size_mm[1])
        for name in CLASSES:  # the package adds them out of a set, in an order that varies
            document.classes.add_class(name)
        stream = StringIO()
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = fixed
    return stream.getvalue().encode("utf-8")


def _add(space: Any, path: CutPath, height_mm: float) -> None:
    bulges = path.bulges or (0.0,) * len(path.points)
    space.add_lwpolyline(
        [
            (round(x, DIGITS), round(height_mm - y, DIGITS), -bulge)
            for (x, y), bulge in zip(path.points, bulges, strict=True)
        ],
        format="xyb",
        close=path.closed,
        dxfattribs={"layer": GROUPS[path.operation]},
    )
