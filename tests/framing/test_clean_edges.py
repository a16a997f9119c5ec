"""Layers of drawn windows, as written, beside the lines that the drawing itself holds.

The truth comes from elsewhere: svgelements reads the drawn SVG, shapely draws its pens. Where
printed leads meet a cut member nothing may stand on its edge, and nothing be cut into it.
"""

from __future__ import annotations

from functools import cache
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from svgelements import Path as SvgPath

from glasswork.drawing.drawn import draw
from glasswork.drawing.make import make_window
from glasswork.framing.files import layer_drawings
from glasswork.framing.plan import plan_frame
from glasswork.model.frame import FramePlan, Made
from glasswork.model.window import Sizing, Window
from glasswork.readers.svg import read_svg
from glasswork.writers.svg import write_cut_svg
from tests.outlines import apart_mm

from windows import board, cutter, printer  # isort: skip

SVG = "{http://www.w3.org/2000/svg}"
FINE_MM = 0.09
"""Half the width of what is called a nib or notch: a little over the laser's kerf, which cannot
enter corners that are narrower."""
LEAST_MM = 1.0
"""The least width cut from this board; points of the raised layer that are narrower may go."""
CORNER_DEG = 15.0

WINDOWS: dict[str, tuple[str, dict[str, Any]]] = {
    "lancet": ("lancet", {"width_mm": 80.0, "height_mm": 179.0}),
    "ogee": ("ogee", {"lights": 2, "width_mm": 119.0, "height_mm": 179.0}),
    "rose": ("rose", {"diameter_mm": 150.0}),
    "wheel": ("wheel", {"rounds": "trefoil", "diameter_mm": 150.0}),
    "casement": ("casement", {"lights": 2, "bars": 2, "roundel": "quatrefoil"}),
    "diamonds": ("casement", {"width_mm": 119.0, "height_mm": 150.0}),
    "quatrefoil": (
        "equilateral",
        {"lights": 2, "tracery": "quatrefoil", "width_mm": 119.0, "height_mm": 179.0},
    ),
    "dagger": ("drop", {"lights": 2, "tracery": "dagger", "glass_border_mm": 4.0}),
    "trefoils": (
        "round",
        {"lights": 3, "tracery": "trefoil", "bars": 3, "width_mm": 140.0, "height_mm": 200.0},
    ),
    "honeycomb": ("segmental", {"pattern": "honeycomb", "bars": 2}),
    "crossing": ("drop", {"lights": 3, "tracery": "intersecting", "width_mm": 160.0}),
    "cut leads": ("equilateral", {"lights": 2, "tracery": "trefoil", "lead_mm": 2.0}),
}


@cache
def planned(name: str) -> tuple[bytes, Window, FramePlan]:
    kind, measures = WINDOWS[name]
    drawing = draw(kind, **measures)
    window, _ = make_window(read_svg(drawing, name=name), roles={}, sizing=Sizing())
    plan, _ = plan_frame(window, board("chipboard-2"), cutter(), printer=printer(), films=2)
    return drawing, window, plan


def points_of(data: str) -> tuple[np.ndarray, bool]:
    """A path's points, curves as chords of at most 0.1 mm, and whether it is closed."""
    path = SvgPath(data)
    points: list[Any] = []
    for segment in path:
        kind = type(segment).__name__
        if segment.end is None or (kind == "Close" and segment.start == segment.end):
            continue
        if kind in ("Line", "Close", "Move"):
            points.append([(segment.end.x, segment.end.y)])
        else:
            steps = max(12, int(10 * segment.length()))
            points.append(segment.npoint(np.arange(1, steps + 1) / steps))
    return np.concatenate(points), "Z" in data.upper()


def pens(drawing: bytes) -> dict[str, Any]:
    """What each role's pen covers."""
    found: dict[str, list[Any]] = {}
    for group in ElementTree.fromstring(drawing).iter(f"{SVG}g"):
        if "stroke-width" not in group.attrib:
            continue
        half = float(group.attrib["stroke-width"]) / 2.0
        join = {"miter": "mitre", "round": "round"}[group.attrib["stroke-linejoin"]]
        look = {"cap_style": "flat", "join_style": join, "mitre_limit": 8.0, "quad_segs": 32}
        for item in group:
            if item.tag == f"{SVG}circle":
                x, y, r = (float(item.attrib[key]) for key in ("cx", "cy", "r"))
                ring = shapely.Point(x, y).buffer(r, quad_segs=256).exterior
                found.setdefault(group.attrib["class"], []).append(ring.buffer(half, **look))
                continue
            points, closed = points_of(item.attrib["d"])
            line = shapely.LinearRing(points) if closed else shapely.LineString(points)
            found.setdefault(group.attrib["class"], []).append(line.buffer(half, **look))
    return {role: shapely.union_all(areas) for role, areas in found.items()}


@cache
def written(window: str, name: str) -> Any:
    """A layer's openings as the written file has them, in panel mm, the kerf put back."""
    plan = planned(window)[2]
    drawing = next(d for d in layer_drawings(plan, cutter()) if d.file == f"frames/{name}")
    layer = next(layer for layer in plan.layers if layer.file == name)
    half = cutter().kerf_for(layer.thickness_mm) / 2.0
    tree = ElementTree.fromstring(
        write_cut_svg(drawing.paths, drawing.size_mm, title=drawing.title)
    )
    openings = []
    for group in tree.iter(f"{SVG}g"):
        if group.attrib.get("data-operation") == "inside":
            for path in group.iter(f"{SVG}path"):
                ring = points_of(path.attrib["d"])[0]
                openings.append(shapely.Polygon(ring).buffer(half, join_style="mitre"))
    a, b, c, d, e, f = layer.panel_to_file.inverse()
    return shapely.transform(
        shapely.multipolygons(openings),
        lambda xy: np.stack(
            [a * xy[:, 0] + c * xy[:, 1] + e, b * xy[:, 0] + d * xy[:, 1] + f], axis=1
        ),
    )


def drawn_openings(drawing: bytes, window: Window, plan: FramePlan, *, raised: bool) -> Any:
    """What the pens of the cut roles leave open inside the border, the step taken off."""
    made: dict[str, Made] = {
        m.role.value: item.made for m, item in zip(window.members, plan.made, strict=True)
    }
    widths = {m.role.value: m.width_mm for m in window.members}
    covered = pens(drawing)
    step = plan.step_mm if raised else 0.0
    roles = [role for role in covered if made[role] is Made.CUT]
    if raised:
        roles = [
            role
            for role in roles
            if role == "border"
            or (role == "mullion" and widths[role] - 2.0 * step >= LEAST_MM - 1e-9)
        ]
    solid = shapely.union_all([covered[role] for role in roles])
    holes = [shapely.Polygon(hole) for hole in solid.interiors]
    return shapely.multipolygons([p.buffer(step, join_style="mitre") for p in holes])


def corners(openings: Any) -> list[int]:
    """Of each opening, the corners that turn by more than a chord of a curve does."""
    counts = []
    for part in shapely.get_parts(openings):
        ring = shapely.get_coordinates(part.exterior.simplify(0.01))[:-1]
        way = np.roll(ring, -1, axis=0) - ring
        heading = np.arctan2(way[:, 1], way[:, 0])
        turn = np.abs((heading - np.roll(heading, 1) + np.pi) % (2.0 * np.pi) - np.pi)
        counts.append(int((np.degrees(turn) > CORNER_DEG).sum()))
    return counts


@pytest.mark.parametrize(
    ("name", "sharp"), [("lancet", [3]), ("rose", [0]), ("diamonds", [4]), ("ogee", [3, 3])]
)
def test_a_raised_layer_has_the_corners_of_its_kind_and_no_more(
    name: str, sharp: list[int]
) -> None:
    """The lancet's tip and two at its foot; the ogee's lights, each three; a rose has none."""
    assert corners(written(name, "front-outer")) == sharp


@pytest.mark.parametrize("name", list(WINDOWS))
def test_edges_run_where_the_pens_ran(name: str) -> None:
    drawing, window, plan = planned(name)
    # between cut leads the drawing fills scraps with lead that no pen draws
    for level in ("outer",) if name == "cut leads" else ("outer", "inner"):
        wanted = drawn_openings(drawing, window, plan, raised=level == "outer")
        front, back = (written(name, f"{face}-{level}") for face in ("front", "back"))
        nibs = wanted.difference(front).buffer(-FINE_MM)
        standing = shapely.Polygon(window.outline.outer).difference(wanted)
        firm = standing.buffer(-LEAST_MM / 2.0).buffer(LEAST_MM / 2.0 + FINE_MM)
        notches = front.difference(wanted).intersection(firm).buffer(-FINE_MM)
        assert [p.bounds for p in shapely.get_parts(nibs) if not p.is_empty] == [], level
        assert [p.bounds for p in shapely.get_parts(notches) if not p.is_empty] == [], level
        assert apart_mm(front, back) < 0.01, level
