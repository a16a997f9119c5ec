"""The DXF of cut paths as ezdxf writes it: what our own writer must equal byte for byte.

`python -m tests.writers.dxf_by_ezdxf` writes the file's frame anew, `glasswork/writers/r2010.dxf`:
everything but the title, the paths and the handles that come after them.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from typing import Any

from glasswork.model.frame import CutPath
from glasswork.writers.svg import GROUPS, OPERATIONS

FRAME = Path(__file__).parents[2] / "glasswork" / "writers" / "r2010.dxf"
MILLIMETRES = 4
CLASSES = ("ACDBPLACEHOLDER", "LAYOUT")


def by_ezdxf(paths: Sequence[CutPath], height_mm: float, *, title: str) -> bytes:
    """Cut paths as an R2010 drawing in millimetres, dates and identifiers pinned."""
    from ezdxf._options import options  # the package shows it without exporting it
    from ezdxf.filemanagement import new

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = new("R2010", units=MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        document.header.custom_vars.append("Title", title)
        for operation in OPERATIONS:
            document.layers.add(GROUPS[operation])
        for operation in OPERATIONS:
            for path in paths:
                if path.operation == operation:
                    _add(document.modelspace(), path, height_mm)
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
            (round(x, 6), round(height_mm - y, 6), -bulge)
            for (x, y), bulge in zip(path.points, bulges, strict=True)
        ],
        format="xyb",
        close=path.closed,
        dxfattribs={"layer": GROUPS[path.operation]},
    )


def frame() -> str:
    """The file without paths, its changing parts named."""
    plain = by_ezdxf((), 1.0, title="{title}").decode()
    one = by_ezdxf((CutPath(operation="outline", points=((0.0, 0.0), (1.0, 1.0))),), 1.0, title="t")
    shown = plain.replace("SECTION\n  2\nENTITIES\n", "SECTION\n  2\nENTITIES\n{paths}")
    lines, other = plain.splitlines(), one.decode().splitlines()
    start = lines.index("ENTITIES") + 1
    extra = len(other) - len(lines)
    other = other[:start] + other[start + extra :]
    counted = [n for n, (a, b) in enumerate(zip(lines, other, strict=True)) if a != b]
    first = min(int(lines[n], 16) for n in counted if lines[n] != "{title}")
    out = shown.splitlines()
    moved = out.index("{paths}  0")
    for n in counted:
        if lines[n] != "{title}":
            out[n] = f"{{handle+{int(lines[n], 16) - first}}}"
    assert moved == start
    return "\n".join(out) + "\n"


if __name__ == "__main__":
    FRAME.write_text(frame(), encoding="utf-8")
