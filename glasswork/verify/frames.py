"""What the cut files leave standing, and the sheets beside their DXF."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

from glasswork.model.geometry import Affine, Region
from glasswork.model.report import CheckReport, Report
from glasswork.planar import Area, AreaSet, Join
from glasswork.readers.svg import read_svg
from glasswork.verify.checks import check, within

FACES_LIMIT_MM: Final = 0.01
CORNER_SEGMENTS: Final = 4
LONGEST_MITRE: Final = 20.0
"""Points of parts and of openings are as sharp as their paths up to this many half kerfs."""


def finished(data: bytes, *, kerf_mm: float, join: Join = "mitre") -> Area:
    """What a cut file leaves standing once the kerf is gone, in file mm.

    join : a cut is as round as it is wide, so what it leaves in a corner lies between "mitre", as
        sharp as its path, and "round"

    Raises: ReadError, if the file is not what a cutter reads
    """
    art = read_svg(data, name="cut file")
    kept: list[Area] = []
    gone: list[Area] = []
    for mark in art.marks:
        solid = "outline" in mark.names
        if not solid and not {"inside", "holes"} & set(mark.names):
            continue
        for points, closed in mark.paths:
            if not closed or len(points) < 3:
                raise ValueError("an open cut path")
            grown = Area.of([Region(points)]).grown(
                -kerf_mm / 2.0 if solid else kerf_mm / 2.0,
                join=join,
                mitre_limit=LONGEST_MITRE,
                segments=CORNER_SEGMENTS,
            )
            (kept if solid else gone).append(grown)
    if not kept:
        raise ValueError("no outline to cut")
    return _standing(kept, gone) if gone else Area.union(kept)


def _standing(kept: list[Area], gone: list[Area]) -> Area:
    """Parts without their holes; a part that lies in a hole of another stands in it."""
    within = AreaSet.of_areas(kept).held_by(AreaSet.of_areas(gone)) if len(kept) > 1 else set()
    main = [part for i, part in enumerate(kept) if i not in within]
    shape = Area.union(main) - Area.union(gone)
    if not within:
        return shape
    loose = [part for i, part in enumerate(kept) if i in within]
    inside = AreaSet.of_areas(gone).held_by(AreaSet.of_areas(loose))
    own = [hole for i, hole in enumerate(gone) if i in inside]
    return shape | (_standing(loose, own) if own else Area.union(loose))


def frames(files: Mapping[str, bytes], report: Report) -> Iterator[CheckReport]:
    shapes: dict[str, Area] = {}
    for frame in report.frames:
        data, limit = files[frame.file], max(0.5, 0.002 * frame.area_mm2)
        shape = finished(data, kerf_mm=frame.kerf_mm)
        area, parts = shape.area_mm2, len(shape.regions())
        if parts != frame.pieces or abs(area - frame.area_mm2) > limit:
            blunt = finished(data, kerf_mm=frame.kerf_mm, join="round")
            low, high = sorted((area, blunt.area_mm2))
            area, parts = min(max(frame.area_mm2, low), high), len(blunt.regions())
        shapes[frame.file] = shape.mapped(Affine(*frame.panel_to_file_mm).inverse())
        yield within(f"{frame.file} finished area", frame.area_mm2, area, limit, "mm²")
        yield check(
            f"{frame.file} pieces", f"{frame.pieces}", f"{parts}", "equal", ok=parts == frame.pieces
        )
    for frame in report.frames:
        twin = "frames/back-inner.svg" if frame.level == "inner" else frame.twin
        if frame.face == "front" and twin in shapes:
            apart = shapes[frame.file].apart_mm(shapes[twin])
            yield check(
                f"{frame.level} front on back",
                "coincide",
                f"apart by {apart:.4f} mm",
                f"{FACES_LIMIT_MM} mm",
                ok=apart <= FACES_LIMIT_MM,
            )
    total = sum(thickness for _, thickness in report.fit.layers_mm)
    yield within("thickness is the sum of layers", report.thickness_mm, total, 0.001, "mm")


def sheets(files: Mapping[str, bytes], _: Report) -> Iterator[CheckReport]:
    from io import StringIO

    import ezdxf
    from ezdxf.bbox import extents

    for name in sorted(files):
        if not re.fullmatch(r"frames/sheet-\d+\.dxf", name):
            continue
        try:
            drawing = ezdxf.read(  # type: ignore[attr-defined]
                StringIO(files[name].decode("utf-8"))
            )
        except ezdxf.DXFError as exc:  # type: ignore[attr-defined]
            raise ValueError(f"{name}: {exc}") from exc
        yield check(f"{name} unit", "mm", f"code {drawing.units}", "code 4", ok=drawing.units == 4)
        art = read_svg(files[name.replace(".dxf", ".svg")], name=name)
        cut = {"outline", "inside", "holes"}
        points = [
            point
            for mark in art.marks
            if cut & set(mark.names)
            for path, _ in mark.paths
            for point in path
        ]
        box = extents(e for e in drawing.modelspace() if e.dxf.layer.lower() in cut)
        if not box.has_data:
            raise ValueError(f"{name}: nothing to cut")
        drawn = (box.size.x, box.size.y)
        asked = tuple(
            max(p[axis] for p in points) - min(p[axis] for p in points) for axis in (0, 1)
        )
        off = max(abs(a - b) for a, b in zip(drawn, asked, strict=True))
        yield check(
            f"{name} as its SVG",
            f"{asked[0]:.2f} x {asked[1]:.2f} mm",
            f"{drawn[0]:.2f} x {drawn[1]:.2f} mm",
            "± 0.05 mm",
            ok=off <= 0.05,
        )
