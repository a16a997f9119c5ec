"""films.pdf, rendered by two other programs and measured."""

from __future__ import annotations

from itertools import product
from math import hypot

import numpy as np
import pytest

from tests.pack.conftest import PX_PER_MM, Made

RENDERERS = ("poppler", "pdfium")


def _apply(affine: list[float], point: list[float]) -> tuple[float, float]:
    a, b, c, d, e, f = affine
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def _centroid(rgb: np.ndarray, place: list[float], half_mm: float = 2.6) -> tuple[float, float]:
    """Centre of what is dark around a place, in page mm."""
    left, top = (max(0, round((value - half_mm) * PX_PER_MM)) for value in place)
    size = round(2 * half_mm * PX_PER_MM)
    dark = 1.0 - rgb[top : top + size, left : left + size].mean(axis=2) / 255.0
    dark[dark < 0.25] = 0.0
    assert dark.sum() > 0, f"nothing dark at {place}"
    rows, columns = np.indices(dark.shape)
    return (
        ((dark * (columns + 0.5)).sum() / dark.sum() + left) / PX_PER_MM,
        ((dark * (rows + 0.5)).sum() / dark.sum() + top) / PX_PER_MM,
    )


def _inverse(affine: list[float], point: tuple[float, float]) -> tuple[float, float]:
    a, b, c, d, e, f = affine
    x, y = np.linalg.solve([[a, c], [b, d]], [point[0] - e, point[1] - f])
    return (float(x), float(y))


@pytest.mark.parametrize("renderer", RENDERERS)
def test_marks_lie_where_the_report_says(sample: Made, renderer: str) -> None:
    pages = getattr(sample, renderer)
    seen: dict[int, list[tuple[float, float]]] = {}
    for facts in sample.report["films"]["pages"]:
        assert len(facts["marks_mm"]) >= 3
        for mark in facts["marks_mm"]:
            x, y = _centroid(pages[facts["page"] - 1], mark)
            assert hypot(x - mark[0], y - mark[1]) <= 0.05
            seen.setdefault(facts["film"], []).append(_inverse(facts["panel_to_page_mm"], (x, y)))
    first = next(iter(seen.values()))
    for places in seen.values():
        for place in places:
            assert min(hypot(place[0] - x, place[1] - y) for x, y in first) <= 0.02


@pytest.mark.parametrize("renderer", RENDERERS)
def test_rules_measure_100_mm(sample: Made, renderer: str) -> None:
    """The outermost ticks, 1 mm off the base line, found along the rule's own direction."""
    for facts in sample.report["films"]["pages"]:
        rgb = getattr(sample, renderer)[facts["page"] - 1]
        dark = 1.0 - rgb.mean(axis=2) / 255.0
        directions = set()
        for first, last in facts["rules_mm"]:
            across = abs(last[0] - first[0]) > abs(last[1] - first[1])
            directions.add(across)
            grid = dark if across else dark.T
            along = [p[0] if across else p[1] for p in (first, last)]
            beside = first[1] if across else first[0]
            lengths = [
                abs(_tick(grid, along[1], beside + off) - _tick(grid, along[0], beside + off))
                for off in (-1.0, 1.0)
                if _tick(grid, along[0], beside + off) > 0
            ]
            assert lengths
            assert min(abs(length - 100.0) for length in lengths) <= 0.05
        assert directions == {True, False}, "one rule on each axis"


def _tick(grid: np.ndarray, along_mm: float, beside_mm: float) -> float:
    row = round(beside_mm * PX_PER_MM)
    start = round((along_mm - 0.7) * PX_PER_MM)
    line = grid[row - 1 : row + 2, start : start + round(1.4 * PX_PER_MM)].mean(axis=0)
    if line.max() < 0.3:
        return -1.0
    line = np.where(line > 0.15, line, 0.0)
    return float((line * (np.arange(len(line)) + 0.5)).sum() / line.sum() + start) / PX_PER_MM


@pytest.mark.parametrize("renderer", RENDERERS)
def test_every_pane_shows_its_device_colour(sample: Made, renderer: str) -> None:
    for facts in sample.report["films"]["pages"]:
        rgb = getattr(sample, renderer)[facts["page"] - 1].astype(int)
        for pane in sample.report["panes"]:
            x, y = _apply(facts["panel_to_page_mm"], pane["seed_point_mm"])
            seen = rgb[int(y * PX_PER_MM), int(x * PX_PER_MM)]
            promised = pane["device"][facts["film"] - 1]
            assert np.abs(seen - promised).max() <= 1, pane["id"]


def test_two_programs_see_the_same_page(plain: Made) -> None:
    for a, b in zip(plain.poppler, plain.pdfium, strict=True):
        assert a.shape == b.shape
        assert np.abs(a.astype(int) - b.astype(int)).mean() < 1.0


def test_pages_are_a4_and_letter(sample: Made, plain: Made) -> None:
    """A4 is 210 x 297 mm [ISO 216]; Letter is 8.5 x 11 in [ANSI/ASME Y14.1, from memory]."""
    import pypdfium2

    sizes = ((sample, 210.0, 297.0), (plain, 215.9, 279.4))
    for (made, width, height), name in product(sizes, ("films", "template", "guide")):
        for page in pypdfium2.PdfDocument(made.folder / f"{name}.pdf"):
            left, bottom, right, top = page.get_mediabox()
            sides = sorted([(right - left) * 25.4 / 72, (top - bottom) * 25.4 / 72])
            assert sides == pytest.approx(sorted([width, height]), abs=0.01)
            if name == "films":
                trim = page.get_trimbox()
                assert left < trim[0] < trim[2] < right
                assert bottom < trim[1] < trim[3] < top


def test_no_colour_management_in_the_film_pages(sample: Made) -> None:
    data = (sample.folder / "films.pdf").read_bytes()
    for word in (b"ICCBased", b"OutputIntent", b"CalRGB", b"DeviceCMYK", b"DeviceN"):
        assert word not in data
