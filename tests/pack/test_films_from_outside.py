"""films.pdf, rendered by two other programs and measured."""

from __future__ import annotations

import subprocess
import tomllib
from itertools import product
from math import hypot

import numpy as np
import pytest
from PIL import Image

from tests.pack.conftest import PX_PER_MM, Made

RENDERERS = ("poppler", "pdfium")


def _apply(affine: list[float], point: list[float]) -> tuple[float, float]:
    a, b, c, d, e, f = affine
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


CLOSE_DPI = 1200
CLOSE = CLOSE_DPI / 25.4


def _close_up(
    made: Made, renderer: str, page: int, place: list[float], half_mm: float
) -> tuple[np.ndarray, tuple[float, float]]:
    """Darkness 0-1 of a square round a place at 1200 dpi, and its top left corner in page mm."""
    left, top = (round((value - half_mm) * CLOSE) for value in place)
    size = round(2 * half_mm * CLOSE)
    film = made.folder / "films.pdf"
    if renderer == "poppler":
        prefix = str(made.folder.parent / "close")
        words = ["-r", str(CLOSE_DPI), "-f", str(page), "-l", str(page), "-singlefile", "-png"]
        words += ["-x", str(left), "-y", str(top), "-W", str(size), "-H", str(size)]
        subprocess.run(["pdftoppm", *words, str(film), prefix], check=True)
        grey = np.asarray(Image.open(f"{prefix}.png").convert("L"))
    else:
        import pypdfium2

        sheet = pypdfium2.PdfDocument(film)[page - 1]
        width, height = (side * CLOSE_DPI / 72 for side in sheet.get_size())
        crop = (left, height - top - size, width - left - size, top)
        bitmap = sheet.render(
            scale=CLOSE_DPI / 72, crop=tuple(px * 72 / CLOSE_DPI for px in crop), grayscale=True
        )
        grey = bitmap.to_numpy().reshape(bitmap.height, -1)[:, : bitmap.width]
    return 1.0 - grey / 255.0, (left / CLOSE, top / CLOSE)


def _centroid(made: Made, renderer: str, page: int, place: list[float]) -> tuple[float, float]:
    """Centre of what is dark around a place, in page mm."""
    dark, (left, top) = _close_up(made, renderer, page, place, 2.6)
    dark = np.where(dark < 0.25, 0.0, dark)
    assert dark.sum() > 0, f"nothing dark at {place}"
    rows, columns = np.indices(dark.shape)
    return (
        (dark * (columns + 0.5)).sum() / dark.sum() / CLOSE + left,
        (dark * (rows + 0.5)).sum() / dark.sum() / CLOSE + top,
    )


def _inverse(affine: list[float], point: tuple[float, float]) -> tuple[float, float]:
    a, b, c, d, e, f = affine
    x, y = np.linalg.solve([[a, c], [b, d]], [point[0] - e, point[1] - f])
    return (float(x), float(y))


@pytest.mark.parametrize("renderer", RENDERERS)
def test_marks_lie_where_the_report_says(sample: Made, renderer: str) -> None:
    seen: dict[int, list[tuple[float, float]]] = {}
    for facts in sample.report["films"]["pages"]:
        assert len(facts["marks_mm"]) >= 3
        for mark in facts["marks_mm"]:
            x, y = _centroid(sample, renderer, facts["page"], mark)
            assert hypot(x - mark[0], y - mark[1]) <= 0.05
            seen.setdefault(facts["film"], []).append(_inverse(facts["panel_to_page_mm"], (x, y)))
    first = next(iter(seen.values()))
    for places in seen.values():
        for place in places:
            assert min(hypot(place[0] - x, place[1] - y) for x, y in first) <= 0.02


@pytest.mark.parametrize("renderer", RENDERERS)
def test_rules_measure_100_mm(sample: Made, renderer: str) -> None:
    """The end ticks, 1 mm off the base line, found along the rule."""
    for facts in sample.report["films"]["pages"]:
        directions = set()
        for first, last in facts["rules_mm"]:
            across = abs(last[0] - first[0]) > abs(last[1] - first[1])
            directions.add(across)
            ends = [
                _tick(*_close_up(sample, renderer, facts["page"], end, 1.4), across=across)
                for end in (first, last)
            ]
            assert abs(ends[1] - ends[0]) == pytest.approx(100.0, abs=0.05)
        assert directions == {True, False}, "one rule on each axis"


def _tick(dark: np.ndarray, corner: tuple[float, float], *, across: bool) -> float:
    """Middle of the tick at a rule's end, along the rule, in page mm."""
    grid = dark if across else dark.T
    middle, near, far = len(grid) // 2, round(0.4 * CLOSE), round(CLOSE)
    sides = (grid[middle - far : middle - near], grid[middle + near : middle + far])
    line = max((side.mean(axis=0) for side in sides), key=lambda row: float(row.max()))
    assert line.max() > 0.5, "a tick on one side of the base line"
    line = np.where(line > 0.3, line, 0.0)
    centre = float((line * (np.arange(len(line)) + 0.5)).sum() / line.sum())
    return centre / CLOSE + (corner[0] if across else corner[1])


@pytest.mark.parametrize("renderer", RENDERERS)
def test_every_pane_shows_its_device_colour(sample: Made, renderer: str) -> None:
    """Flat panes to one step; surfaces vary about the flat colour, on average by under 30."""
    half = round(0.5 * PX_PER_MM)
    apart = [0.0]
    for facts in sample.report["films"]["pages"]:
        rgb = getattr(sample, renderer)[facts["page"] - 1].astype(int)
        for pane in sample.report["panes"]:
            x, y = _apply(facts["panel_to_page_mm"], pane["seed_point_mm"])
            row, column = int(y * PX_PER_MM), int(x * PX_PER_MM)
            promised = np.array(pane["device"][facts["film"] - 1])
            if pane["finish"] == "clear":
                assert np.abs(rgb[row, column] - promised).max() <= 1, pane["id"]
            else:
                near = rgb[row - half : row + half + 1, column - half : column + half + 1]
                apart.append(float(np.abs(near.reshape(-1, 3).mean(axis=0) - promised).max()))
    assert np.mean(apart) < 30.0


def test_two_programs_see_the_same_page(plain: Made) -> None:
    for a, b in zip(plain.poppler, plain.pdfium, strict=True):
        rows = min(len(a), len(b))
        assert abs(len(a) - len(b)) <= 1, "a page of 3300.0 rows may be rounded up"
        a, b = a[:rows], b[:rows]
        assert np.abs(a.astype(int) - b.astype(int)).mean() < 1.0


def test_pages_are_a4_and_letter(sample: Made, plain: Made) -> None:
    """A4 is 210 x 297 mm [ISO 216]; Letter is 8.5 x 11 in [ANSI/ASME Y14.1, from memory]."""
    import pypdfium2

    sizes = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
    for made, name in product((sample, plain), ("films", "template", "guide")):
        project = tomllib.loads((made.folder / "project.toml").read_text("utf-8"))
        width, height = sizes[project["page"]]
        for page in pypdfium2.PdfDocument(made.folder / f"{name}.pdf"):
            left, bottom, right, top = page.get_mediabox()
            sides = sorted([(right - left) * 25.4 / 72, (top - bottom) * 25.4 / 72])
            assert sides == pytest.approx(sorted([width, height]), abs=0.01)
            if name == "films":
                trim = page.get_trimbox()
                assert left < trim[0] < trim[2] < right
                assert bottom < trim[1] < trim[3] < top


def test_boxes_and_metadata_as_poppler_reads_them(sample: Made) -> None:
    """The TrimBox holds every pane of the page's film and none of its marks, which stand off the
    trimmed corners; the file says what it is, by whom it was made and when."""
    told = subprocess.run(
        ["pdfinfo", "-box", "-f", "1", "-l", "99", str(sample.folder / "films.pdf")],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    fields = dict(line.split(":", 1) for line in told.splitlines() if ":" in line)
    assert fields["Title"].strip().endswith(": films")
    assert "100 %" in fields["Subject"]
    assert fields["Creator"].strip() == "Glasswork"
    assert fields["CreationDate"].strip()
    height = sample.report["films"]["page_mm"][1]
    for facts in sample.report["films"]["pages"]:
        (line,) = (
            text for text in told.splitlines() if text.split()[:3:2] == ["Page", "TrimBox:"]
            and int(text.split()[1]) == facts["page"]
        )  # fmt: skip
        left, low, right, high = (float(v) * 25.4 / 72 for v in line.split()[3:])
        for pane in sample.report["panes"]:
            x, y = _apply(facts["panel_to_page_mm"], pane["seed_point_mm"])
            assert left < x < right
            assert low < height - y < high
        for x, y in facts["marks_mm"]:
            assert not (left < x < right and low < height - y < high)


def test_no_colour_management_in_the_film_pages(sample: Made) -> None:
    data = (sample.folder / "films.pdf").read_bytes()
    for word in (b"ICCBased", b"OutputIntent", b"CalRGB", b"DeviceCMYK", b"DeviceN"):
        assert word not in data
