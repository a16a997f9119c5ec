"""How films lie: ink faces, print scale, several on a page, check strips, glass as pixels."""

from __future__ import annotations

from itertools import combinations
from math import hypot

import numpy as np
import pytest
import shapely

from glasswork.model.geometry import Affine, Box
from glasswork.model.sheet import Document, Fill, PackedPicture, Picture, Text
from glasswork.planar import Area
from glasswork.sheets.films import Panel, film_pages, gang_pages
from glasswork.sheets.patches import FIXED
from glasswork.writers.pdf import write_pdf
from glasswork.writers.png import RowPacker
from tests.sheets import panels
from tests.sheets.rendered import READERS, bytes_of
from tests.sheets.test_films import pages_of


@pytest.mark.parametrize(
    ("faces", "films", "mirrored"),
    [
        ("front", 2, (False, False)),
        ("back", 2, (True, True)),
        ("together", 2, (True, False)),
        ("together", 3, (True, False, False)),
        ("together", 1, (False,)),
    ],
)
def test_ink_faces_choose_which_films_are_mirrored(
    faces: str, films: int, mirrored: tuple[bool, ...]
) -> None:
    window = panels.tide_gauge()
    pages, facts = pages_of(window, films=films, ink_faces=faces)
    assert tuple(fact.mirrored for fact in facts) == mirrored
    for page, fact in zip(pages, facts, strict=True):
        assert fact.panel_to_page.mirrors == fact.mirrored
        words = " ".join(item.text for item in page.items if isinstance(item, Text))
        assert ("printed mirrored" in words) == fact.mirrored
        front = next(i for i in page.items if isinstance(i, Text) and i.text == "FRONT")
        assert front.mirrored == fact.mirrored


@pytest.mark.parametrize("reader", list(READERS))
@pytest.mark.parametrize("size", [(120.0, 160.0), (225.0, 120.0)], ids=["upright", "lying"])
def test_mirrored_films_fall_onto_the_others(size: tuple[float, float], reader: str) -> None:
    """Colours at seed points and marks through each page's map, mirrored or not."""
    window = panels.casement(*size)
    pages, facts = pages_of(window, ink_faces="together")
    glasses = panels.separation()
    seen = []
    for page, fact in zip(pages, facts, strict=True):
        shown = READERS[reader](page)
        back = fact.panel_to_page.inverse()
        seen.append([back.apply(shown.centroid(mark)) for mark in fact.marks])
        for pane in window.panes:
            device = glasses.glass(pane.glass or "").device[fact.film - 1]
            at = shown.at(fact.panel_to_page.apply(pane.seed_point))
            assert np.abs(np.subtract(at, device)).max() <= 1
    for (ax, ay), (bx, by) in zip(*seen, strict=True):
        assert hypot(ax - bx, ay - by) <= 0.02


def test_a_printer_that_prints_long_gets_its_pages_short() -> None:
    """Printed on a printer of this scale, everything has its true size, rules included."""
    across, along = 1.012, 0.991
    window = panels.tide_gauge()
    pages, facts = pages_of(window, scale=(across, along))
    plain, _ = pages_of(window)
    fact, shown = facts[0], READERS["pdfium"](pages[0])
    to_page = fact.panel_to_page
    assert (to_page.a, to_page.d) == pytest.approx((1 / across, 1 / along))
    for mark in fact.marks:
        x, y = shown.centroid(mark)
        assert hypot(x - mark[0], y - mark[1]) <= 0.05
    for first, last in fact.rules:
        dx, dy = (last[0] - first[0]) * across, (last[1] - first[1]) * along
        assert hypot(dx, dy) == pytest.approx(100.0, abs=1e-6)
    assert pages[0].trim is not None
    assert plain[0].trim is not None
    assert pages[0].trim.width * across == pytest.approx(plain[0].trim.width)


def test_copies_share_pages_and_keep_apart() -> None:
    window = panels.casement(50.0, 40.0, columns=2, rows=2)
    pages, facts = pages_of(window, copies=5, together=True)
    assert len(facts) == 10
    assert len(pages) < len(facts) / 3
    assert {(fact.film, fact.copy) for fact in facts} == {
        (film, copy) for film in (1, 2) for copy in range(1, 6)
    }
    trim = panels.framed(window).film_trim
    for number in range(1, len(pages) + 1):
        mine = [fact for fact in facts if fact.page == number]
        films = [Area.of([trim.mapped(fact.panel_to_page)]) for fact in mine]
        for a, b in combinations(films, 2):
            assert a.distance_mm(b) > 5.0
        for film, fact in zip(films, mine, strict=True):
            for mark in fact.marks:
                near = Area(shapely.Point(mark).buffer(3.0))
                assert all((near & other).is_empty for other in films if other is not film)
    shown = READERS["pdfium"](pages[0])
    for fact in (fact for fact in facts if fact.page == 1):
        for mark in fact.marks:
            x, y = shown.centroid(mark)
            assert hypot(x - mark[0], y - mark[1]) <= 0.05


def test_unlike_windows_share_a_page() -> None:
    jobs = [
        Panel(
            window=window,
            separation=panels.separation(),
            plan=panels.framed(window),
            label=label,
        )
        for window, label in (
            (panels.casement(50.0, 40.0, columns=2, rows=2), "Salt store"),
            (panels.casement(60.0, 80.0), "Net loft"),
        )
    ]
    pages, facts = gang_pages(jobs, panels.A4, printer=panels.printer())
    assert len(pages) == 1
    assert len(facts) == 4
    words = [item.text for item in pages[0].items if isinstance(item, Text)]
    assert any("Salt store, Net loft" in word for word in words)


@pytest.mark.parametrize("reader", list(READERS))
def test_a_check_strip_stands_on_the_offcut(reader: str) -> None:
    pages, facts = pages_of(panels.tide_gauge())
    patches = [i for i in pages[0].items if isinstance(i, Fill) and i.name == "patch"]
    assert [patch.colour for patch in patches[: len(FIXED)]] == list(FIXED)
    separation = panels.separation()
    glasses = {glass.device[0] for glass in separation.glasses}
    leads, *others = [patch.colour for patch in patches[len(FIXED) :]]
    assert leads == separation.black.device[0]
    assert set(others) <= glasses
    film = Area.of([panels.framed(panels.tide_gauge()).film_trim.mapped(facts[0].panel_to_page)])
    shown = READERS[reader](pages[0])
    for patch in patches:
        area = Area.of(patch.area)
        assert area.distance_mm(film) > 3.0
        assert shown.at(patch.area[0].box.centre) == patch.colour


def _packed(box: Box, pixels: np.ndarray) -> PackedPicture:
    """The picture as a film takes it, its rows packed in two goes."""
    packer = RowPacker()
    packer.add(pixels[:17])
    packer.add(pixels[17:])
    rows, columns, _ = pixels.shape
    return PackedPicture(box=box, columns=columns, rows=rows, data=packer.packed())


def _chequered(box: Box, px_per_mm: float) -> np.ndarray:
    """Every pixel its own colour, so that none can be mistaken for another."""
    columns, rows = round(box.width * px_per_mm), round(box.height * px_per_mm)
    pixels = np.zeros((rows, columns, 3), np.uint8)
    pixels[:, :, 0] = np.arange(columns)[None, :] * 7 % 251
    pixels[:, :, 1] = np.arange(rows)[:, None] * 5 % 241
    pixels[:, :, 2] = 40
    return pixels


@pytest.mark.parametrize("reader", list(READERS))
@pytest.mark.parametrize("faces", ["front", "back"])
@pytest.mark.parametrize("size", [(120.0, 160.0), (225.0, 120.0)], ids=["upright", "lying"])
def test_glass_as_pixels_lies_as_the_panel_does(
    size: tuple[float, float], faces: str, reader: str
) -> None:
    """Pixels of 2 mm, looked up at the middles of those that lie wholly in a pane."""
    window = panels.casement(*size)
    box = Box(2.0, 3.0, size[0] - 2.0, size[1] - 3.0)
    pixels = _chequered(box, 0.5)
    pictures = (_packed(box, pixels),)
    pages, facts = pages_of(window, ink_faces=faces, films=1, pictures=pictures)
    shown, to_page = READERS[reader](pages[0]), facts[0].panel_to_page
    glass = Area.union([Area.of([pane.region]) for pane in window.panes]).grown(-1.5)
    looked = 0
    for row in range(2, pixels.shape[0], 5):
        for column in range(2, pixels.shape[1], 5):
            place = (2.0 + 2 * column + 1, 3.0 + 2 * row + 1)
            if glass.holds(place):
                asked = pixels[row, column]
                assert np.abs(np.subtract(shown.at(to_page.apply(place)), asked)).max() <= 1
                looked += 1
    assert looked > 50


def test_pixels_show_only_where_there_is_glass() -> None:
    window = panels.casement(120.0, 160.0)
    plan = panels.framed(window)
    box = plan.outline.box
    pages, facts = pages_of(window, films=1, pictures=(_packed(box, _chequered(box, 0.5)),))
    shown = READERS["pdfium"](pages[0])
    bare = Area.of([plan.outline]).grown(-1.6) - Area.union(
        [Area.of(area) for _, area in plan.glass_limit]
    ).grown(0.2)
    for part in (bare - Area.of(plan.printed)).parts():
        assert shown.at(facts[0].panel_to_page.apply(part.inner_point())) == (255, 255, 255)


def test_identical_films_store_their_pixels_once() -> None:
    window = panels.casement(120.0, 160.0)
    rng = np.random.default_rng(3)
    box = panels.framed(window).outline.box
    pixels = rng.integers(0, 256, (400, 300, 3), dtype=np.uint8)
    noise = _packed(box, pixels)
    sizes = []
    for films in (1, 2):
        pages, _ = pages_of(window, films=films, ink_faces="together", pictures=(noise,) * films)
        sizes.append(len(bytes_of(*pages)))
    assert pixels.nbytes < sizes[1] < sizes[0] + 0.1 * pixels.nbytes


def test_pixels_come_back_bit_for_bit() -> None:
    """The picture as another program takes it out of the file."""
    import pypdfium2

    rng = np.random.default_rng(4)
    pixels = rng.integers(0, 256, (60, 50, 3), dtype=np.uint8)
    window = panels.casement(120.0, 160.0)
    pages, _ = film_pages(
        window,
        panels.separation(films=1),
        panels.framed(window, films=1),
        panels.A4,
        printer=panels.printer(),
        design_label="x",
        pictures=(_packed(Box(0, 0, 120, 160), pixels),),
    )
    data = write_pdf(Document(title="x", pages=pages, created="2024-05-17"))
    found = [
        item for item in pypdfium2.PdfDocument(data)[0].get_objects() if hasattr(item, "get_bitmap")
    ]
    (image,) = found
    seen = image.get_bitmap(render=False).to_pil().convert("RGB")
    assert np.array_equal(np.asarray(seen), pixels)


def test_maps_are_told_for_every_film() -> None:
    _, facts = pages_of(panels.tide_gauge(), ink_faces="together")
    assert facts[0].panel_to_page != facts[1].panel_to_page
    assert all(fact.panel_to_page != Affine() for fact in facts)


@pytest.mark.parametrize("reader", list(READERS))
def test_panes_of_levels_show_their_own_tables(reader: str) -> None:
    """Each pane a picture of 2 mm levels with its own table of colours, on two unlike films."""
    window = panels.casement(120.0, 160.0)
    limits = dict(panels.framed(window).glass_limit)
    rng = np.random.default_rng(8)
    films: list[tuple[Picture, ...]] = [(), ()]
    for pane in window.panes:
        box = Box.around(p for region in limits[pane.id] for p in region.outer)
        levels = rng.integers(0, 256, (round(box.height / 2), round(box.width / 2)), dtype=np.uint8)
        for film in (0, 1):
            table = rng.integers(0, 256, (256, 3), dtype=np.uint8)
            picture = Picture(box=box, pixels=levels, palette=table, name=pane.id)
            films[film] = (*films[film], picture)
    pages, facts = pages_of(window, ink_faces="together", pictures=tuple(films))
    for page, fact, pictures in zip(pages, facts, films, strict=True):
        shown = READERS[reader](page)
        for picture in pictures:
            rows, columns = picture.pixels.shape
            for row, column in ((2, 2), (rows // 2, columns // 2), (rows - 3, columns - 3)):
                place = (
                    picture.box.left + (column + 0.5) * picture.box.width / columns,
                    picture.box.top + (row + 0.5) * picture.box.height / rows,
                )
                assert picture.palette is not None
                asked = picture.palette[picture.pixels[row, column]]
                at = shown.at(fact.panel_to_page.apply(place))
                assert np.abs(np.subtract(at, asked)).max() <= 1
