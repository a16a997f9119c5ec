"""Films larger than the page: parts that fit, joints hidden under the leads, nothing lost."""

from __future__ import annotations

from math import hypot

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from glasswork.errors import SheetError
from glasswork.model.finding import Finding, Severity
from glasswork.model.frame import FramePlan
from glasswork.model.geometry import Box, Region
from glasswork.model.sheet import FilmPage, Page
from glasswork.model.window import Window
from glasswork.planar import Area
from glasswork.sheets.films import divide, film_pages, joint_findings
from glasswork.sheets.layout import RIM_MM, Room, lay_together
from glasswork.sheets.scaled import printable_box
from glasswork.sheets.tiles import OVERLAP_MM, Joint, Tile, divide_film
from tests.sheets import panels
from tests.sheets.rendered import READERS

WINDOWS = {
    "two parts": lambda: panels.casement(260.0, 200.0, columns=5, rows=4),
    "arched": lambda: panels.tide_gauge(width=230.0, height=270.0),
    "four parts": lambda: panels.casement(380.0, 280.0, columns=7, rows=5),
}


def room(size: str) -> Room:
    return Room.on(printable_box(panels.PAGES[size], panels.printer()), name=size)


def divided(window: Window, size: str) -> tuple[tuple[Tile, ...], tuple[Joint, ...]]:
    found = divide_film(panels.framed(window, cutter="hand-knife"), room(size).fits)
    assert found is not None
    return found.tiles, found.joints


def laid(
    window: Window, size: str, *, tiles: tuple[Tile, ...] = ()
) -> tuple[tuple[Page, ...], tuple[FilmPage, ...]]:
    """The films' pages, in parts as they are divided, or in the given ones."""
    plan = panels.framed(window, cutter="hand-knife")
    division = divide(plan, panels.PAGES[size], printer=panels.printer())
    if tiles:
        assert division is not None
        division = replace(division, tiles=tiles)
    return film_pages(
        window,
        panels.separation(),
        plan,
        panels.PAGES[size],
        printer=panels.printer(),
        design_label="Tide gauge",
        ink_faces="together",
        division=division,
    )


def findings(plan: FramePlan) -> tuple[Finding, ...]:
    division = divide(plan, panels.A4, printer=panels.printer())
    return joint_findings(division, panels.A4)


@pytest.fixture(params=list(WINDOWS))
def window(request: pytest.FixtureRequest) -> Window:
    return WINDOWS[request.param]()


@pytest.mark.parametrize("size", list(panels.PAGES))
def test_every_part_fits_and_together_they_are_the_film(window: Window, size: str) -> None:
    tiles, joints = divided(window, size)
    assert len(tiles) == len(joints) + 1 >= 2
    assert all(room(size).fits(tile.box) for tile in tiles)
    film = Area.of([panels.framed(window, cutter="hand-knife").film_trim])
    parts = [Area.of([tile.trim]) for tile in tiles]
    assert (film - Area.union(parts)).area_mm2 < 0.01
    length = sum(
        hypot(b[0] - a[0], b[1] - a[1])
        for joint in joints
        for a, b in zip(joint.line, joint.line[1:], strict=False)
    )
    doubled = sum(part.area_mm2 for part in parts) - film.area_mm2
    assert 0.0 < doubled < 1.3 * OVERLAP_MM * length


@pytest.mark.parametrize("size", list(panels.PAGES))
def test_joints_are_hidden_under_the_leads(window: Window, size: str) -> None:
    """Joint and overlap lie under the cut board; every pane lies whole on one part."""
    plan = panels.framed(window, cutter="hand-knife")
    tiles, joints = divided(window, size)
    inside = Area.of([plan.outline])
    for joint in joints:
        assert joint.bare_mm == 0.0
        overlap = Area.stroke(joint.line, OVERLAP_MM) & inside
        assert (overlap - Area.of(plan.cut)).area_mm2 < 0.01
    parts = [Area.of([tile.trim]) for tile in tiles]
    for pane in window.panes:
        glass = Area.of([pane.region])
        assert any((glass - part).area_mm2 < 1e-6 for part in parts), pane.id


@pytest.mark.parametrize("reader", list(READERS))
def test_every_pane_is_printed_on_its_part(reader: str) -> None:
    window = WINDOWS["four parts"]()
    pages, facts = laid(window, "A4")
    glasses = panels.separation()
    seen: dict[int, list[str]] = {1: [], 2: []}
    by_id = {pane.id: pane for pane in window.panes}
    for page, fact in zip(pages, facts, strict=True):
        shown = READERS[reader](page)
        seen[fact.film] += fact.panes
        for name in fact.panes:
            pane = by_id[name]
            device = glasses.glass(pane.glass or "").device[fact.film - 1]
            at = shown.at(fact.panel_to_page.apply(pane.seed_point))
            assert np.abs(np.subtract(at, device)).max() <= 1
        for mark in fact.marks:
            x, y = shown.centroid(mark)
            assert hypot(x - mark[0], y - mark[1]) <= 0.05
    assert sorted(seen[1]) == sorted(seen[2]) == sorted(by_id)


@pytest.mark.parametrize("reader", list(READERS))
def test_ink_at_a_sharp_tip_keeps_clear_of_the_mark_beside_it(reader: str) -> None:
    """Slanting joints make tips, and ink runs on beyond a part's trimmed edge."""
    window = WINDOWS["two parts"]()
    x, y = min((pane.seed_point for pane in window.panes), key=sum)
    sharp = Region(((x, y), (x + 120.0, y + 100.0), (x + 100.0, y + 120.0)))
    pages, facts = laid(window, "A4", tiles=(Tile(trim=sharp, number=1, of=1),))
    for page, fact in zip(pages, facts, strict=True):
        shown = READERS[reader](page)
        for mark in fact.marks:
            across, down = shown.centroid(mark)
            assert hypot(across - mark[0], down - mark[1]) <= 0.05


def test_a_pane_larger_than_the_page_is_joined_where_it_shows_and_told() -> None:
    window = panels.casement(260.0, 200.0, columns=1, rows=1)
    plan = panels.framed(window, cutter="hand-knife")
    _, joints = divided(window, "A4")
    assert sum(joint.bare_mm for joint in joints) == pytest.approx(186.0, abs=2.0)
    (finding,) = findings(plan)
    assert finding.severity is Severity.WARNING
    assert "mm of the joints run over glass" in finding.what


def test_a_hidden_joint_is_only_a_note_and_a_small_film_none() -> None:
    large = panels.framed(WINDOWS["two parts"](), cutter="hand-knife")
    (finding,) = findings(large)
    assert finding.severity is Severity.NOTE
    small = panels.framed(panels.tide_gauge())
    assert findings(small) == ()


def test_a_page_too_small_for_parts_is_refused() -> None:
    slip = replace(panels.A4, title="slip", width_mm=90.0, height_mm=120.0)
    plan = panels.framed(WINDOWS["two parts"](), cutter="hand-knife")
    with pytest.raises(SheetError, match="larger than the"):
        divide(plan, slip, printer=panels.printer())


def test_undivided_it_is_refused() -> None:
    window = WINDOWS["two parts"]()
    with pytest.raises(SheetError, match="larger than the"):
        film_pages(
            window,
            panels.separation(),
            panels.framed(window, cutter="hand-knife"),
            panels.A4,
            printer=panels.printer(),
            design_label="x",
        )


def test_a_pane_whose_middle_lies_under_a_joint_belongs_to_one_part() -> None:
    """Where a joint runs over glass, the overlap may hold the pane's seed point."""
    window = WINDOWS["two parts"]()
    plan = panels.framed(window, cutter="hand-knife")
    x, _ = window.panes[7].seed_point
    left, top, right, bottom = plan.film_trim.box
    halves = (
        Region(((left, top), (x + 0.4, top), (x + 0.4, bottom), (left, bottom))),
        Region(((x - 0.4, top), (right, top), (right, bottom), (x - 0.4, bottom))),
    )
    tiles = tuple(Tile(trim=half, number=n, of=2) for n, half in enumerate(halves, start=1))
    _, places = laid(window, "A4", tiles=tiles)
    first = [place for place in places if place.film == 1]
    told = [name for place in first for name in place.panes]
    assert sorted(told) == sorted(pane.id for pane in window.panes)
    assert sum(window.panes[7].id in place.panes for place in first) == 1


@settings(max_examples=60, deadline=None)
@given(
    sides=st.lists(
        st.tuples(st.floats(20.0, 150.0), st.floats(20.0, 210.0)), min_size=1, max_size=5
    )
)
def test_the_check_strip_leaves_the_films_and_their_marks_alone(
    sides: list[tuple[float, float]],
) -> None:
    """Films may fill a shared page down to its rule: the strip then has no room there."""
    boxes = [Box(0.0, 0.0, width, height) for width, height in sides]
    for page in lay_together(boxes, room("A4"), mirrored=[False] * len(boxes)):
        for placed in page.placed:
            rim = placed.film.grown(RIM_MM - 0.01)
            for free in page.free:
                across = free.left < rim.right and rim.left < free.right
                down = free.top < rim.bottom and rim.top < free.bottom
                assert not (across and down and free.height > 0.0), (free, rim)
