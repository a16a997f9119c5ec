"""Film pages, measured on what other programs render."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw

from glasswork.errors import SheetError
from glasswork.model.geometry import Affine, Box
from glasswork.model.sheet import FilmPage, Page, Text
from glasswork.model.typeface import text_width_pt
from glasswork.model.window import Window
from glasswork.planar import Area
from glasswork.sheets.films import film_pages
from glasswork.sheets.scaled import printable_box
from tests.sheets import panels
from tests.sheets.rendered import READERS, Rendered, bytes_of

WINDOWS = {
    "two lights": lambda: panels.tide_gauge(),
    "small": lambda: panels.casement(50.0, 40.0, columns=2, rows=2),
    "wide": lambda: panels.casement(168.0, 60.0),
    "lying": lambda: panels.casement(225.0, 120.0),
}


MADE: dict[object, tuple[tuple[Page, ...], tuple[FilmPage, ...]]] = {}


def laid(window: Window, page: str = "A4", **asked: object) -> tuple[Page, ...]:
    return pages_of(window, page, **asked)[0]


def pages_of(
    window: Window, page: str = "A4", **asked: object
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    key = (window.size_mm, page, tuple(asked.items()))
    if key not in MADE:
        MADE[key] = _made(window, page, **asked)
    return MADE[key]


def _made(
    window: Window, page: str, **asked: object
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    films = asked.pop("films", 2)
    scale = asked.pop("scale", (1.0, 1.0))
    return film_pages(
        window,
        panels.separation(films=films),
        panels.framed(window, films=films),
        panels.PAGES[page],
        printer=panels.printer(scale=scale),
        design_label="Tide gauge",
        **asked,
    )


@pytest.fixture(params=list(WINDOWS))
def window(request: pytest.FixtureRequest) -> Window:
    return WINDOWS[request.param]()


@pytest.mark.parametrize("reader", list(READERS))
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_marks_lie_where_they_are_reported(window: Window, size: str, reader: str) -> None:
    """0.05 mm to the report, 0.02 mm page against page."""
    pages, facts = pages_of(window, size)
    seen = []
    for page, fact in zip(pages, facts, strict=True):
        shown = READERS[reader](page)
        places = [shown.centroid(mark) for mark in fact.marks]
        for (x, y), mark in zip(places, fact.marks, strict=True):
            assert hypot(x - mark[0], y - mark[1]) <= 0.05
        seen.append([fact.panel_to_page.inverse().apply(place) for place in places])
    for a, b in pairwise(seen):
        for (ax, ay), (bx, by) in zip(a, b, strict=True):
            assert hypot(ax - bx, ay - by) <= 0.02


def test_marks_differ_when_a_film_is_turned_over_or_round(window: Window) -> None:
    _, (fact, *_) = pages_of(window)
    marks = [fact.panel_to_page.inverse().apply(mark) for mark in fact.marks]
    box = Box.around(marks)
    turns = (
        Affine(a=-1.0, e=box.left + box.right),
        Affine(d=-1.0, f=box.top + box.bottom),
        Affine(a=-1.0, d=-1.0, e=box.left + box.right, f=box.top + box.bottom),
    )
    for turn in turns:
        moved = [turn.apply(mark) for mark in marks]
        assert max(min(hypot(x - a, y - b) for a, b in marks) for x, y in moved) > 2.0


def _tick_mm(shown: Rendered, end: tuple[float, float], *, level: bool) -> float:
    """Where the end tick lies along the rule: its middle beside the base line."""
    across = 0 if level else 1
    for side in (1.4, -1.4):
        place = (end[0], end[1] + side) if level else (end[0] + side, end[1])
        part, corner = shown.cut(place, 0.6)
        line = part.mean(axis=0 if level else 1)
        if line.max() > 0.3:
            line = np.where(line > 0.05, line, 0.0)
            middle = (line * (np.arange(len(line)) + 0.5)).sum() / line.sum()
            return float(corner[across] + middle / shown.px_per_mm[across])
    raise AssertionError(f"no tick at {end}")


@pytest.mark.parametrize("reader", list(READERS))
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_rules_measure_100_mm_on_both_axes(window: Window, size: str, reader: str) -> None:
    pages, facts = pages_of(window, size)
    shown = READERS[reader](pages[0])
    levels = []
    for first, last in facts[0].rules:
        level = abs(last[0] - first[0]) > abs(last[1] - first[1])
        levels.append(level)
        ends = [_tick_mm(shown, end, level=level) for end in (first, last)]
        assert abs(ends[1] - ends[0]) == pytest.approx(100.0, abs=0.05)
        assert ends[0] == pytest.approx(first[0 if level else 1], abs=0.05)
    assert sorted(levels) == [False, True]


@pytest.mark.parametrize("reader", list(READERS))
def test_every_pane_shows_its_device_colour_on_every_film(window: Window, reader: str) -> None:
    pages, facts = pages_of(window)
    glasses = panels.separation()
    for page, fact in zip(pages, facts, strict=True):
        shown = READERS[reader](page)
        for pane in window.panes:
            seen = shown.at(fact.panel_to_page.apply(pane.seed_point))
            asked = glasses.glass(pane.glass or "").device[fact.film - 1]
            assert np.abs(np.subtract(seen, asked)).max() <= 1, pane.id


@pytest.mark.parametrize("reader", list(READERS))
def test_printed_leads_are_black_with_no_white_beside_them(reader: str) -> None:
    """Across each printed lead of a panel: glass, black, glass, and nothing lighter between."""
    window = panels.tide_gauge()
    pages, facts = pages_of(window)
    plan = panels.framed(window)
    shown = READERS[reader](pages[0], dpi=600)
    to_page = facts[0].panel_to_page
    black = Area.of(plan.printed).mapped(to_page)
    panes = Area.union([Area.of([pane.region]) for pane in window.panes]).mapped(to_page)
    leads = Area.union([Area.of(m.area) for m in window.members if m.width_mm < 1.0])
    inside = (leads.mapped(to_page) | panes) & black.grown(0.35)
    mask = Image.new("L", shown.rgb.shape[1::-1])
    for region in inside.grown(-0.05).regions():
        ring = [tuple(np.multiply(point, shown.px_per_mm)) for point in region.outer]
        ImageDraw.Draw(mask).polygon(ring, fill=1)
    seen = shown.rgb[np.asarray(mask) > 0]
    assert len(seen) > 5000
    lightest = max(min(device) for device in panels.DEVICES)
    assert seen.min(axis=1).max() <= lightest, "a white hairline"
    ink = panels.separation().black.device[0]
    assert (seen == ink).all(axis=1).mean() > 0.3
    assert shown.at(black.inner_point()) == ink


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_boxes_and_page_sizes(window: Window, size: str) -> None:
    pages, facts = pages_of(window, size)
    paper = panels.PAGES[size]
    opened = pypdfium2.PdfDocument(bytes_of(*pages))
    film = panels.framed(window).film_trim
    for number, (page, fact) in enumerate(zip(pages, facts, strict=True)):
        assert fact.page == number + 1
        left, bottom, right, top = (v * 25.4 / 72 for v in opened[number].get_mediabox())
        assert (right - left, top - bottom) == pytest.approx(
            (paper.width_mm, paper.height_mm), abs=0.01
        )
        trim = [v * 25.4 / 72 for v in opened[number].get_trimbox()]
        lying = film.mapped(fact.panel_to_page).box
        asked = (
            lying.left,
            paper.height_mm - lying.bottom,
            lying.right,
            paper.height_mm - lying.top,
        )
        assert trim == pytest.approx(asked, abs=0.01)
        bleed = opened[number].get_bleedbox()
        inside = opened[number].get_trimbox()
        assert bleed[0] <= inside[0] < inside[2] <= bleed[2]
        assert bleed[1] <= inside[1] < inside[3] <= bleed[3]
        assert page.trim is not None


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_everything_is_printed_where_the_printer_reaches(window: Window, size: str) -> None:
    """Nothing dark in the unprintable margin, and no text runs out of it."""
    for page in laid(window, size):
        reach = printable_box(panels.PAGES[size], panels.printer()).grown(0.1)
        shown = READERS["pdfium"](page)
        (kx, ky), grey = shown.px_per_mm, shown.rgb[:, :, 1]
        outside = np.ones(grey.shape, dtype=bool)
        outside[
            int(reach.top * ky) : int(reach.bottom * ky) + 1,
            int(reach.left * kx) : int(reach.right * kx) + 1,
        ] = False
        assert grey[outside].min() == 255
        assert all(item.size_pt >= 7.0 for item in page.items if isinstance(item, Text))


def test_texts_do_not_run_into_each_other(window: Window) -> None:
    for page in laid(window):
        boxes = [_text_box(item) for item in page.items if isinstance(item, Text)]
        for i, a in enumerate(boxes):
            for b in boxes[i + 1 :]:
                apart = (
                    a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top
                )
                assert apart


def _text_box(text: Text) -> Box:
    width = text_width_pt(text.text, text.size_pt, bold=text.bold) * 25.4 / 72
    rise = 0.73 * text.size_pt * 25.4 / 72
    x, y = text.at
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    if text.turn_deg:
        return Box(x, y + start, x + rise, y + start + width)
    return Box(x + start, y - rise, x + start + width, y)


def test_the_same_facts_give_the_same_bytes(window: Window) -> None:
    assert bytes_of(*laid(window)) == bytes_of(*laid(window))


def test_a_film_says_how_to_print_it_and_which_way_up_it_lies() -> None:
    page = laid(panels.tide_gauge())[1]
    words = " ".join(item.text for item in page.items if isinstance(item, Text))
    for said in ("film 2 of 2", "Ink face to the front", "100 %", "colour management off", "FRONT"):
        assert said in words


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_long_name_is_shortened_not_run_over(size: str) -> None:
    window = panels.tide_gauge()
    pages, _ = film_pages(
        window,
        panels.separation(),
        panels.framed(window),
        panels.PAGES[size],
        printer=panels.printer(),
        design_label="The great window over the stairs of the salt works at Varnholt " * 4,
    )
    title = next(item for item in pages[0].items if isinstance(item, Text) and item.bold)
    assert title.text.endswith("… film 1 of 2") or "…" in title.text
    assert _text_box(title).right < panels.PAGES[size].width_mm - 20.0


def test_a_film_larger_than_the_page_is_refused_with_both_sizes() -> None:
    window = panels.casement(260.0, 200.0, columns=1, rows=1)
    with pytest.raises(SheetError) as caught:
        pages_of(window)
    assert "A4" in caught.value.where
    assert "larger than the" in caught.value.what
    assert caught.value.hint
