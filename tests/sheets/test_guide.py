"""The bench guide and the templates: nothing off the page, too small, or on top of another text."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from msgspec.structs import replace

from glasswork.colour.backlight import plan_backlight
from glasswork.model.finding import Finding, Severity
from glasswork.model.geometry import Box, path_length_mm
from glasswork.model.palette import Glass, Palette
from glasswork.model.sheet import Fill, Line, Lines, Page, Text
from glasswork.model.typeface import CAP_HEIGHT, DESCENT, text_width_pt, written
from glasswork.model.window import Window
from glasswork.readers.light import read_light
from glasswork.sheets.cropped import cropped
from glasswork.sheets.facts import GuideFacts
from glasswork.sheets.films import divide
from glasswork.sheets.flow import wrapped
from glasswork.sheets.guide import guide_pages
from glasswork.sheets.hatch import hatch_lines
from glasswork.sheets.section import cut_at, section, section_height_mm
from glasswork.sheets.step_pictures import step_picture
from glasswork.sheets.template import HEADING_MM, LABEL_MM, OVERLAP_MM, template_pages
from tests.framing import windows
from tests.sheets import panels
from tests.sheets.rendered import READERS, bytes_of

WINDOWS = {
    "two lights": lambda: panels.tide_gauge(),
    "small": lambda: panels.casement(50.0, 40.0, columns=2, rows=2),
    "wide": lambda: panels.casement(168.0, 60.0),
    "many": lambda: panels.casement(170.0, 220.0, columns=12, rows=16),
    "in parts": lambda: panels.casement(260.0, 200.0, columns=5, rows=4),
}
EDGE_MM = 6.0


def facts(window: Window, *, films: int = 2, findings: int = 3) -> GuideFacts:
    plan = panels.framed(window, films=films)
    folder = Path(__file__).parents[2] / "profiles"
    light = read_light(
        (folder / "lights/led-b3.toml").read_bytes(), where="light", sibling=lambda _: b""
    )
    separation = panels.separation(films=films)
    names = {"g0": "Pilot-flag ruby", "g1": "Deep channel blue, rippled and streaky, second rack"}
    glasses = tuple(
        Glass(id=g.glass, title=names.get(g.glass, g.glass), srgb="#" + bytes(g.device[0]).hex())
        for g in separation.glasses
    )
    return GuideFacts(
        window=replace(window, name="Tide gauge"),
        palette=Palette(name="p", title="p", glasses=glasses),
        separation=separation,
        plan=plan,
        light=light,
        board=windows.board(),
        cutter=windows.cutter(),
        printer=panels.printer(),
        findings=tuple(
            Finding(
                severity=Severity.WARNING,
                where=f"pane p{number}",
                what="the cover is 0.31 mm, the worst case 0.64 mm " * 2,
                hint="widen the lead",
            )
            for number in range(findings)
        ),
        backlight=plan_backlight(window.size_mm, separation, _areas(window)),
    )


def _areas(window: Window) -> dict[str, float]:
    areas: dict[str, float] = {}
    for pane in window.panes:
        areas[pane.glass or ""] = areas.get(pane.glass or "", 0.0) + pane.region.area_mm2
    return areas


@cache
def guide(name: str, size: str) -> tuple[Page, ...]:
    told = facts(WINDOWS[name]())
    division = divide(told.plan, panels.PAGES[size], printer=panels.printer())
    return guide_pages(replace(told, division=division), panels.PAGES[size])


@cache
def template(name: str, size: str) -> tuple[Page, ...]:
    plan = panels.framed(WINDOWS[name]())
    return template_pages(plan, panels.PAGES[size], design_label="Tide gauge")


def _box(text: Text) -> Box:
    """Upright texts only."""
    width = text_width_pt(text.text, text.size_pt, bold=text.bold) * 25.4 / 72
    em = text.size_pt * 25.4 / 72
    x, y = text.at
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    if text.turn_deg == -90.0:
        return Box(x - CAP_HEIGHT * em, y - start - width, x + DESCENT * em, y - start)
    if text.turn_deg == 90.0:
        return Box(x - DESCENT * em, y + start, x + CAP_HEIGHT * em, y + start + width)
    return Box(x + start, y - CAP_HEIGHT * em, x + start + width, y + 0.6 * DESCENT * em)


def _points(page: Page) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for item in page.items:
        for rings in (getattr(item, "paths", ()), (getattr(item, "points", ()),)):
            found += [point for ring in rings for point in ring]
        if isinstance(item, Fill):
            found += [item.to_page.apply(p) for region in item.area for p in region.outer]
    return found


@pytest.mark.parametrize("size", list(panels.PAGES))
@pytest.mark.parametrize("name", list(WINDOWS))
@pytest.mark.parametrize("kind", [guide, template])
def test_nothing_is_clipped_small_or_overlapping(kind: object, name: str, size: str) -> None:
    paper = panels.PAGES[size]
    inside = Box(0, 0, paper.width_mm, paper.height_mm).grown(-EDGE_MM + 1e-6)
    for page in kind(name, size):  # type: ignore[operator]
        texts = [item for item in page.items if isinstance(item, Text)]
        assert all(text.size_pt >= 7.0 for text in texts)
        boxes = [_box(text) for text in texts]
        for text, box in zip(texts, boxes, strict=True):
            assert inside.left <= box.left, text
            assert box.right <= inside.right, text
            assert inside.top <= box.top, text
            assert box.bottom <= inside.bottom, text
        for x, y in _points(page):
            assert inside.left - 0.2 <= x <= inside.right + 0.2
            assert inside.top - 0.2 <= y <= inside.bottom + 0.2
        for i, a in enumerate(boxes):
            for j, b in enumerate(boxes[i + 1 :], start=i + 1):
                assert _apart(a, b), (texts[i].text, texts[j].text)


def _apart(a: Box, b: Box) -> bool:
    return a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top


@pytest.mark.parametrize("size", list(panels.PAGES))
def test_films_in_parts_are_drawn_to_scale_with_their_joints(size: str) -> None:
    plan = panels.framed(WINDOWS["in parts"]())
    division = divide(plan, panels.PAGES[size], printer=panels.printer())
    assert division is not None
    (page,) = (
        page
        for page in guide("in parts", size)
        if any(isinstance(i, Text) and i.text == "Films in parts" for i in page.items)
    )
    joints = [i for i in page.items if isinstance(i, Lines) and i.width_mm == 0.55]
    assert len(joints) == len(division.joints)
    scale = path_length_mm(joints[0].paths[0]) / path_length_mm(division.joints[0].line)
    drawn = [i.area[0].area_mm2 for i in page.items if isinstance(i, Fill) and len(i.area) == 1]
    for tile in division.tiles:
        wanted = tile.trim.area_mm2 * scale**2
        assert any(area == pytest.approx(wanted, rel=1e-3) for area in drawn)
    assert not any(
        isinstance(i, Text) and i.text == "Films in parts"
        for page in guide("two lights", size)
        for i in page.items
    )


@pytest.mark.parametrize("size", list(panels.PAGES))
@pytest.mark.parametrize("name", list(WINDOWS))
def test_no_heading_ends_a_page_and_no_page_is_left_almost_empty(name: str, size: str) -> None:
    for page in guide(name, size):
        foot = page.height_mm - 12.0
        texts = [i for i in page.items if isinstance(i, Text) and i.at[1] < foot]
        lowest = max(texts, key=lambda text: text.at[1])
        assert lowest.size_pt != 12.0 or not lowest.bold, lowest.text
        assert len({round(text.at[1], 1) for text in texts}) >= 6


@pytest.mark.parametrize("size", list(panels.PAGES))
def test_every_step_has_a_picture_of_this_panel(size: str) -> None:
    told = facts(WINDOWS["two lights"]())
    for title in (
        "Print the films", "Cut the boards", "Colour the frame", "Try it dry", "Trim the films",
        "Pin and glue", "Break off the ears", "Light it",
    ):  # fmt: skip
        draw = step_picture(title, told)
        assert draw is not None
        box = Box(100.0, 50.0, 134.0, 75.0)
        items = draw(box)
        page = Page(width_mm=210.0, height_mm=297.0, items=tuple(items))
        points = np.array(_points(page))
        assert (points.min(axis=0) >= np.array(box[:2]) - 1.2).all(), title
        assert (points.max(axis=0) <= np.array(box[2:]) + 1.2).all(), title
        shown = [i for i in page.items if isinstance(i, Fill)]
        # the panel's own shape, at one scale: as wide for its height as it is
        wide, high = points.max(axis=0) - points.min(axis=0)
        assert min(wide / 34.0, high / 25.0) > 0.5 or max(wide / 34.0, high / 25.0) > 0.95
        assert shown
    words = [i.text for p in guide("two lights", size) for i in p.items if isinstance(i, Text)]
    assert "Break off the ears" in words


@pytest.mark.parametrize("name", list(WINDOWS))
def test_the_guide_tells_what_the_maker_needs(name: str) -> None:
    told = facts(WINDOWS[name]())
    data = bytes_of(*guide(name, "A4"))
    words = " ".join(
        page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)
    ).replace("∆", "Δ")
    words = " ".join(words.split())
    width, height = told.window.size_mm
    for said in (
        f"{width:.1f} × {height:.1f} mm",
        f"{told.plan.fit.thickness_mm:.2f} mm",
        "How many films",
        "Parts and cut list",
        "films.pdf",
        "frames/front-inner.svg",
        "How it goes together",
        "Glasses",
        "Out of reach",
        "Pilot-flag ruby",
        "100 %",
        "dark and dull",
        f"{told.plan.registration.worst_case_mm:.2f}",
        "clearance 0.5 mm",
        "Resistor".lower(),
    ):
        assert said in words, said
    for caution in told.cautions:
        assert written(caution.split(":")[0]).replace("∆", "Δ") in words
    steps = [
        "Print the films",
        "Cut the boards",
        "Colour the frame",
        "Try it dry",
        "Trim the films",
    ]
    steps += ["Pin and glue", "Break off the ears", "Light it"]
    places = [words.index(step) for step in steps]
    assert places == sorted(places)


def test_one_two_and_three_films_are_compared_and_the_chosen_one_marked() -> None:
    told = facts(WINDOWS["small"]())
    texts = [item for page in guide("small", "A4") for item in page.items if isinstance(item, Text)]
    words = [text.text for text in texts]
    for row in told.separation.table:
        assert f"{row.mean_delta_e00:.2f}" in words
    assert words.count("chosen") == 1


def test_the_template_is_true_to_size() -> None:
    """Each part's outline on the page has the area and the size of the finished layer."""
    plan = panels.framed(WINDOWS["two lights"]())
    shown = []
    for page in template("two lights", "A4"):
        for item in page.items:
            if getattr(item, "closed", False):
                outer = max(item.paths, key=lambda ring: Box.around(ring).height)
                shown.append((Box.around(outer), item.paths))
    assert len(shown) == len(plan.layers)
    for layer, (box, rings) in zip(plan.layers, shown, strict=True):
        asked = Box.around(
            p for piece in layer.pieces for p in layer.panel_to_file.ring(piece.outer)
        )
        sides = sorted((asked.width, asked.height))
        assert sorted((box.width, box.height)) == pytest.approx(sides, abs=1e-6)
        assert len(rings) == sum(len(piece.rings) for piece in layer.pieces)


@pytest.mark.parametrize("reader", list(READERS))
def test_the_templates_rule_measures_100_mm(reader: str) -> None:
    shown = READERS[reader](template("two lights", "A4")[0], dpi=600)
    start = 210.0 - 6.0 - 2.0 - 100.0
    ends = []
    for x in (start, start + 100.0):
        part, (left, _) = shown.cut((x, 6.0 + 1.0 + 1.2), 0.5)
        line = part.mean(axis=0)
        line = np.where(line > 0.05, line, 0.0)
        ends.append(
            left + (line * (np.arange(len(line)) + 0.5)).sum() / line.sum() / shown.px_per_mm[0]
        )
    assert ends[1] - ends[0] == pytest.approx(100.0, abs=0.05)


def test_hatching_stays_inside_and_fills_evenly() -> None:
    ring = ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0))
    hole = ((10.0, 5.0), (10.0, 15.0), (20.0, 15.0), (20.0, 5.0))
    lines = hatch_lines((ring, hole), pitch_mm=1.0)
    length = sum(np.hypot(b[0] - a[0], b[1] - a[1]) for a, b in lines)
    assert length == pytest.approx(600.0 - 100.0, rel=0.02)
    for a, b in lines:
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert not (10.01 < middle[0] < 19.99 and 5.01 < middle[1] < 14.99)


def test_wrapped_lines_fit_and_lose_nothing() -> None:
    text = "The lamp room over the mole at Varnholt, x" + "y" * 90 + " and the reeds"
    lines = wrapped(text, 9.0, 40.0)
    assert all(text_width_pt(line, 9.0) * 25.4 / 72 <= 40.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@pytest.mark.parametrize("recess", [15.0, 25.0, 40.0, 60.0])
def test_the_sections_words_stand_apart_however_deep_the_recess(recess: float) -> None:
    """A deep opening makes the section small, and its figures crowd."""
    told = facts(panels.casement(50.0, 40.0, columns=6, rows=2))
    fit = replace(told.plan.fit, recess_mm=recess, spare_mm=recess - told.plan.fit.thickness_mm)
    told = replace(told, plan=replace(told.plan, fit=fit))
    at = cut_at(told)
    box = Box(16.0, 20.0, 194.0, 20.0 + section_height_mm(told, at, 178.0))
    boxes = [_box(item) for item in section(told, at, box) if isinstance(item, Text)]
    for i, a in enumerate(boxes):
        assert a.bottom <= box.bottom
        assert all(_apart(a, b) for b in boxes[i + 1 :])


def test_the_section_is_true_to_scale() -> None:
    """Boards against the dimension line beside them, in one scale; films between the boards."""
    told = facts(WINDOWS["two lights"]())
    items = section(told, cut_at(told), Box(16.0, 20.0, 194.0, 110.0))
    words = [item.text for item in items if isinstance(item, Text)]
    assert f"{told.plan.fit.thickness_mm:.2f} mm" in words
    for name, thick in told.plan.fit.layers_mm:
        if not name.startswith("glue"):
            assert f"{name}  {thick:g} mm" in words
    boards = [
        Box.around(ring)
        for item in items
        if isinstance(item, Lines) and item.closed
        for ring in item.paths
    ]
    (upright,) = [
        item.points
        for item in items
        if isinstance(item, Line)
        and len(item.points) == 2
        and item.points[0][0] == item.points[1][0] < boards[0].left - 5.0
        and item.width_mm < 0.2
    ]
    scale = abs(upright[1][1] - upright[0][1]) / told.plan.fit.thickness_mm
    assert {round(box.height / scale, 3) for box in boards} == {2.0}
    lowest, highest = max(box.bottom for box in boards), min(box.top for box in boards)
    assert (lowest - highest) / scale == pytest.approx(told.plan.fit.thickness_mm, abs=1e-6)


def test_a_layer_larger_than_the_page_is_printed_in_parts_that_join() -> None:
    """The cut lines of all parts, laid back together, are those of the layer, and the crosses of
    neighbouring parts fall on each other."""
    plan = panels.framed(panels.casement(380.0, 280.0, columns=3, rows=2), cutter="hand-knife")
    pages = template_pages(plan, panels.A4, design_label="Tide gauge")
    words = [item.text for page in pages for item in page.items if isinstance(item, Text)]
    assert sum("front inner, 2 mm board, part" in word for word in words) >= 4
    inside = Box(0, 0, 210, 297).grown(-EDGE_MM + 1e-6)
    for page in pages:
        for x, y in _points(page):
            assert inside.left - 0.2 <= x <= inside.right + 0.2
            assert inside.top - 0.2 <= y <= inside.bottom + 0.2
    layer = next(layer for layer in plan.layers if layer.file == "front-inner")
    box = Box.around(p for piece in layer.pieces for p in layer.panel_to_file.ring(piece.outer))
    room = (210.0 - 12.0, 297.0 - 12.0 - HEADING_MM - LABEL_MM)
    cut: list[float] = []
    crosses: dict[tuple[float, float], int] = {}
    for page in pages:
        label = next(
            (w.text for w in page.items if isinstance(w, Text) and "front inner" in w.text), ""
        )
        if not label:
            continue
        row, column = (int(n) - 1 for n in re.findall(r"(?:row|column) (\d)", label))
        for item in page.items:
            if isinstance(item, Lines) and item.width_mm == 0.15:
                for (ax, ay), (bx, by) in item.paths[::2]:
                    x = (ax + bx) / 2 - 6.0 + column * (room[0] - OVERLAP_MM)
                    y = (ay + by) / 2 - 6.0 - HEADING_MM - LABEL_MM + row * (room[1] - OVERLAP_MM)
                    key = (round(x, 6), round(y, 6))
                    crosses[key] = crosses.get(key, 0) + 1
            if isinstance(item, Lines) and item.width_mm == 0.2:
                cut += [path_length_mm(path) for path in item.paths]
    assert crosses
    assert set(crosses.values()) <= {2, 4}
    whole = sum(path_length_mm(ring, closed=True) for piece in layer.pieces for ring in piece.rings)
    assert whole < sum(cut) < 1.2 * whole
    assert box.width > room[0]


def test_cropped_lines_keep_what_lies_inside() -> None:
    box = Box(0.0, 0.0, 10.0, 10.0)
    line = ((-10.0, 5.0), (20.0, 5.0))
    assert cropped([line], box, closed=False) == (((0.0, 5.0), (10.0, 5.0)),)
    bent = ((2.0, 2.0), (20.0, 2.0), (20.0, 8.0), (3.0, 8.0))
    assert cropped([bent], box, closed=False) == (
        ((2.0, 2.0), (10.0, 2.0)),
        ((10.0, 8.0), (3.0, 8.0)),
    )
    square = ((2.0, 2.0), (8.0, 2.0), (8.0, 8.0), (2.0, 8.0))
    assert cropped([square], box, closed=True) == ((*square, square[0]),)
    assert cropped([((11.0, 0.0), (11.0, 5.0))], box, closed=False) == ()
