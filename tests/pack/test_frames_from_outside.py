"""The cut files, parsed with the XML reader and shapely, laid over the rendered films."""

from __future__ import annotations

import re
from functools import lru_cache
from math import ceil
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import cv2
import numpy as np
import pytest
import shapely
from shapely import affinity
from svgelements import Path as SvgPath

from tests.outlines import apart_mm
from tests.pack.conftest import PX_PER_MM, Made

SVG = "{http://www.w3.org/2000/svg}"
CHORD_MM = 0.2


def _rings(data: str) -> list[np.ndarray]:
    """Subpaths of path data, curves as chords of CHORD_MM: 0.25 µm off at a radius of 20 mm."""
    rings = []
    for sub in SvgPath(data).as_subpaths():
        points: list[Any] = []
        for segment in SvgPath(sub):
            if segment.end is None:
                continue
            if type(segment).__name__ in ("Line", "Close", "Move"):
                points.append((segment.end.x, segment.end.y))
            else:
                steps = max(8, ceil(segment.length() / CHORD_MM))
                points.extend(segment.npoint(np.arange(1, steps + 1) / steps))
        if len(points) > 2:
            rings.append(np.array(points))
    return rings


def finished(made: Made, frame: dict[str, Any]) -> Any:
    """The layer as it leaves the cutter, in panel mm."""
    return _cut(made.folder / frame["file"], frame["kerf_mm"], tuple(frame["panel_to_file_mm"]))


@lru_cache(maxsize=16)
def _cut(path: Path, kerf_mm: float, panel_to_file: tuple[float, ...]) -> Any:
    tree = ElementTree.parse(path).getroot()
    box = [float(value) for value in tree.attrib["viewBox"].split()]
    assert tree.attrib["width"] == f"{box[2]:g}mm" or tree.attrib["width"].endswith("mm")
    assert float(re.sub("mm$", "", tree.attrib["width"])) == pytest.approx(box[2], abs=1e-3)
    kept, gone = [], []
    for group in tree.iter(f"{SVG}g"):
        name = group.attrib.get("id", "")
        operation = next((op for op in ("outline", "inside", "holes") if op in name), None)
        if operation is None:
            continue
        for path in group.iter(f"{SVG}path"):
            for ring in _rings(path.attrib["d"]):
                half = kerf_mm / 2
                grow = -half if operation == "outline" else half
                shape = shapely.Polygon(ring).buffer(0).buffer(grow, join_style="mitre")
                (kept if operation == "outline" else gone).append(shape)
    assert kept, "an outline to cut"
    whole = shapely.union_all(kept).difference(shapely.union_all(gone))
    a, b, c, d, e, f = panel_to_file
    matrix = np.linalg.inv(np.array([[a, c, e], [b, d, f], [0, 0, 1]]))
    (pa, pc, pe), (pb, pd, pf), _ = matrix.tolist()
    return affinity.affine_transform(whole, (pa, pc, pb, pd, pe, pf))


def _frame(made: Made, name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(
        frame for frame in made.report["frames"] if frame["file"] == f"frames/{name}.svg"
    )
    return found


@pytest.mark.parametrize("level", ["inner", "outer"])
def test_front_and_back_coincide_once_mirrored(sample: Made, level: str) -> None:
    front_facts, back_facts = _frame(sample, f"front-{level}"), _frame(sample, f"back-{level}")
    a, b, c, d, *_ = back_facts["panel_to_file_mm"]
    assert a * d - b * c < 0, "the back is cut mirrored"
    front, back = finished(sample, front_facts), finished(sample, back_facts)
    assert apart_mm(front, back) <= 0.01


def test_parts_keep_their_finished_size(sample: Made) -> None:
    for frame in sample.report["frames"]:
        shape = finished(sample, frame)
        assert shape.area == pytest.approx(frame["area_mm2"], rel=5e-4, abs=0.05)
        assert len(shapely.get_parts(shape)) == frame["pieces"]


def test_the_panel_drops_into_its_opening(sample: Made) -> None:
    fit, size = sample.report["fit"], sample.report["size_mm"]
    if fit["opening_mm"]:
        for opening, panel in zip(fit["opening_mm"], size, strict=True):
            assert panel <= opening - 2 * fit["clearance_mm"] + 1e-6
    if fit["recess_mm"] is not None:
        assert fit["spare_mm"] == pytest.approx(
            fit["recess_mm"] - sample.report["thickness_mm"], abs=1e-3
        )


@pytest.mark.parametrize(("beyond_edge", "spot_mm2"), [(0.08, 0.02), (None, 0.1)])
def test_glass_reaches_under_every_lead(
    sample: Made, beyond_edge: float | None, spot_mm2: float
) -> None:
    """Film page and front inner layer in one picture: no bare film beside a member.

    Up to the edges no spot is bare; in the bleed under the edges none that is larger than a
    corner's remnant. Surfaces have bare spots of their own: there the bleed's share is measured.
    """
    report = sample.report
    textured = any(pane["finish"] != "clear" for pane in report["panes"])
    solid = finished(sample, _frame(sample, "front-inner"))
    seeds = shapely.points([pane["seed_point_mm"] for pane in report["panes"]])
    holes = [shapely.Polygon(h) for part in shapely.get_parts(solid) for h in part.interiors]
    openings = [hole for hole in holes if shapely.contains(hole, seeds).any()]
    assert openings
    bleed = report["registration"]["bleed_mm"]
    assert bleed > 0.2
    reach = bleed - 0.1 if beyond_edge is None else beyond_edge
    for facts in report["films"]["pages"]:
        rgb = sample.poppler[facts["page"] - 1]
        a, b, c, d, e, f = facts["panel_to_page_mm"]
        mask = np.zeros(rgb.shape[:2], np.uint8)
        for opening in openings:
            wide = opening.buffer(reach, join_style="mitre")
            page = affinity.affine_transform(wide, (a, c, b, d, e, f))
            corners = np.round(np.array(page.exterior.coords) * PX_PER_MM * 16).astype(np.int32)
            cv2.fillPoly(mask, [corners], 1, shift=4)
        mask = cv2.erode(mask, np.ones((3, 3), np.uint8))
        if textured:
            for opening in openings:
                page = affinity.affine_transform(opening, (a, c, b, d, e, f))
                corners = np.round(np.array(page.exterior.coords) * PX_PER_MM * 16)
                cv2.fillPoly(mask, [corners.astype(np.int32)], 0, shift=4)
        bare = ((rgb.min(axis=2) >= 240) & (mask > 0)).astype(np.uint8)
        _, labels = cv2.connectedComponents(bare, connectivity=8)
        solid_bare = cv2.morphologyEx(bare, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
        spots = np.bincount(labels[solid_bare > 0], minlength=labels.max() + 1) / PX_PER_MM**2
        spots[0] = 0.0
        for pane in report["panes"]:
            paler = 0 if pane["finish"] == "clear" else 50
            if min(pane["device"][facts["film"] - 1]) >= 240 - paler:
                x, y = pane["seed_point_mm"]
                row = int((b * x + d * y + f) * PX_PER_MM)
                spots[labels[row, int((a * x + c * y + e) * PX_PER_MM)]] = 0.0
        if textured:
            assert spots.sum() <= max(1.0, 0.35 * mask.sum() / PX_PER_MM**2)
        else:
            assert spots.max() <= spot_mm2
