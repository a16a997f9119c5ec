"""SVG as drawn: units, boxes, transforms, styles, references, shapes.

Sizes follow [css-values] (1 in = 96 px = 72 pt = 25.4 mm); view boxes, arcs and the cascade follow
the SVG specification, from memory; whole pictures are compared with another renderer in
tests/drawing/test_other_renderer.py.
"""

from __future__ import annotations

import gzip
from itertools import pairwise
from math import cos, hypot, pi, sin

import pytest

from glasswork.errors import ReadError
from glasswork.model.geometry import Affine, Point
from glasswork.model.window import LineArt, Mark
from glasswork.readers.design import read_design
from glasswork.readers.svg import read_svg
from glasswork.readers.svg_path import flatten, parse_path, parse_transform

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def read(body: str, root: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> LineArt:
    return read_svg(f"<svg {NS} {root}>{body}</svg>".encode(), name="a.svg")


def only(art: LineArt) -> Mark:
    (mark,) = art.marks
    return mark


def corners(art: LineArt) -> list[Point]:
    return [(round(x, 6), round(y, 6)) for x, y in only(art).paths[0][0]]


LINE = '<path d="M0 0L96 48" stroke="#000" fill="none" stroke-width="2"/>'


@pytest.mark.parametrize(
    ("size", "mm"),
    [
        ("100mm", 100.0),
        ("10cm", 100.0),
        ("2in", 50.8),
        ("72pt", 25.4),
        ("6pc", 25.4),
        ("96px", 25.4),
        ("96", 25.4),
        ("40q", 10.0),
    ],
)
def test_units_of_the_size(size: str, mm: float) -> None:
    art = read(LINE, f'width="{size}" height="{size}" viewBox="0 0 96 96"')
    assert art.size_mm == pytest.approx((mm, mm))
    assert art.sized
    assert corners(art) == [(0.0, 0.0), pytest.approx((mm, mm / 2))]
    assert only(art).width_mm == pytest.approx(2.0 * mm / 96.0)


def test_a_size_without_a_view_box_counts_in_px() -> None:
    art = read(LINE, 'width="50mm" height="50mm"')
    assert corners(art)[1] == pytest.approx((25.4, 12.7))


def test_a_view_box_without_a_size_is_told() -> None:
    art = read(LINE, 'viewBox="0 0 96 96"')
    assert not art.sized
    assert art.size_mm == pytest.approx((25.4, 25.4))


def test_one_side_tells_the_other() -> None:
    assert read(LINE, 'width="30mm" viewBox="0 0 96 48"').size_mm == pytest.approx((30.0, 15.0))
    assert read(LINE, 'height="30mm" viewBox="0 0 96 48"').size_mm == pytest.approx((60.0, 30.0))


@pytest.mark.parametrize(
    ("aspect", "end"),
    [
        ("", (75.0, 50.0)),
        ("xMinYMid meet", (50.0, 50.0)),
        ("xMaxYMax", (100.0, 50.0)),
        ("xMidYMid slice", (100.0, 75.0)),
        ("xMidYMin slice", (100.0, 100.0)),
        ("none", (100.0, 50.0)),
    ],
)
def test_preserve_aspect_ratio(aspect: str, end: Point) -> None:
    """A view box of 10 × 10 in a frame of 100 × 50 mm; the line ends in its lower right corner."""
    attribute = f'preserveAspectRatio="{aspect}"' if aspect else ""
    art = read(
        '<path d="M0 0L10 10" stroke="#000"/>',
        f'width="100mm" height="50mm" viewBox="0 0 10 10" {attribute}',
    )
    assert only(art).paths[0][0][-1] == pytest.approx(end)


def test_percentages_are_of_the_view_box() -> None:
    art = read('<line x1="10%" y1="10%" x2="50%" y2="25%" stroke="#000"/>')
    assert corners(art) == [(10.0, 10.0), (50.0, 25.0)]


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("translate(3 4)", (4.0, 4.0)),
        ("translate(3)", (4.0, 0.0)),
        ("scale(2,3)", (2.0, 0.0)),
        ("rotate(90)", (0.0, 1.0)),
        ("rotate(90 1 1)", (2.0, 1.0)),
        ("skewY(45)", (1.0, 1.0)),
        ("matrix(1 2 3 4 5 6)", (6.0, 8.0)),
        ("translate(10,0) rotate(90)", (10.0, 1.0)),
        ("rotate(90)translate(10,0)", (0.0, 11.0)),
    ],
)
def test_transforms(text: str, point: Point) -> None:
    assert parse_transform(text).apply((1.0, 0.0)) == pytest.approx(point)


def test_groups_multiply_transforms_and_widths() -> None:
    art = read(
        '<g transform="translate(10 20)"><g transform="scale(2)">'
        '<path d="M0 0h10" stroke="#000" stroke-width="1.5"/></g></g>'
    )
    assert corners(art) == [(10.0, 20.0), (30.0, 20.0)]
    assert only(art).width_mm == pytest.approx(3.0)


@pytest.mark.parametrize(("d", "area"), [("M1 5h20", 80.0), ("M5 5v20", 80.0)])
def test_a_stroke_that_the_map_stretches_is_the_area_it_covers(d: str, area: float) -> None:
    """Scaled by 4 and 1, a line across is 1 mm wide and 80 long, one down 4 wide and 20 long."""
    art = read(f'<g transform="scale(4,1)" fill="none"><path d="{d}" stroke="#000"/></g>')
    assert only(art).fill == "#000000"
    assert sum(r.area_mm2 for r in only(art).area) == pytest.approx(area)


@pytest.mark.parametrize(
    ("d", "ends"),
    [
        ("M1 2L3 4H5V6h1v1l-1-1z", [(1, 2), (3, 4), (5, 4), (5, 6), (6, 6), (6, 7), (5, 6)]),
        ("m1,2,3,4", [(1, 2), (4, 6)]),
        ("M1-2.5.5.5", [(1, -2.5), (0.5, 0.5)]),
        ("M1e1 2E-1L1.5.5", [(10, 0.2), (1.5, 0.5)]),
        ("M0 0L1 1L2", [(0, 0), (1, 1)]),
        ("M0 0 L1 1 X 5 5 L2 2", [(0, 0), (1, 1)]),
    ],
)
def test_path_grammar(d: str, ends: list[Point]) -> None:
    (path,) = parse_path(d)[:1]
    points = [path.start, *(piece[-1] for piece in path.pieces)]
    assert points[: len(ends)] == [pytest.approx(end) for end in ends]


def test_after_a_closing_the_pen_is_back_at_the_start() -> None:
    first, second = parse_path("M1 1h2v2zl5 5")
    assert first.closed
    assert second.start == (1.0, 1.0)


def _furthest(points: list[Point], centre: Point, radius: float) -> float:
    return max(abs(hypot(x - centre[0], y - centre[1]) - radius) for x, y in points)


@pytest.mark.parametrize("radius", [0.5, 5.0, 45.0])
def test_circles_stay_within_five_micrometres(radius: float) -> None:
    art = read(f'<circle cx="50" cy="50" r="{radius}" stroke="#000" fill="none"/>')
    points = list(only(art).paths[0][0])
    middles = [
        ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        for a, b in zip(points, [*points[1:], points[0]], strict=True)
    ]
    assert _furthest(points, (50.0, 50.0), radius) < 5e-6 * radius
    assert _furthest(middles, (50.0, 50.0), radius) <= 0.005 + 1e-6


@pytest.mark.parametrize(("large", "sweep"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_arcs_take_the_right_one_of_four_ways(large: int, sweep: int) -> None:
    """From (10, 0) to (0, 10) with radius 10: the centre is (0, 0) or (10, 10)."""
    (path,) = parse_path(f"M10 0A10 10 0 {large}{sweep}0 10")
    points = list(flatten(path, Affine(), tolerance_mm=0.001))
    centre = (0.0, 0.0) if (large, sweep) in ((0, 1), (1, 0)) else (10.0, 10.0)
    assert _furthest(points, centre, 10.0) < 1e-3
    length = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points))
    assert length == pytest.approx(10.0 * pi * (1.5 if large else 0.5), rel=1e-3)
    assert points[-1] == (0.0, 10.0)


def test_arcs_too_small_for_their_ends_grow() -> None:
    (path,) = parse_path("M0 0A1 1 0 0 1 10 0")
    assert _furthest(list(flatten(path, Affine(), tolerance_mm=0.001)), (5.0, 0.0), 5.0) < 1e-3


def test_smooth_curves_mirror_their_neighbour() -> None:
    cubic = parse_path("M0 0C0 5 5 10 10 10S20 5 20 0")[0].pieces[1]
    assert cubic[0] == (15.0, 10.0)
    quadratic = parse_path("M0 0Q5 10 10 0T20 0")[0].pieces[1]
    assert quadratic[2] == (20.0, 0.0)
    assert quadratic[0] == pytest.approx((10 + 2 * (15 - 10) / 3, 2 * -10 / 3))


def test_rounded_rectangles() -> None:
    art = read('<rect x="10" y="20" width="40" height="30" rx="5" fill="#7fb7d9"/>')
    area = sum(region.area_mm2 for region in only(art).area)
    assert area == pytest.approx(40 * 30 - (4 - pi) * 25, abs=0.1)


SQUARES = "M10 10H50V50H10Z"
INNER_SAME, INNER_BACK = "M20 20H40V40H20Z", "M20 20V40H40V20Z"


@pytest.mark.parametrize(
    ("d", "rule", "area"),
    [
        (SQUARES + INNER_SAME, "nonzero", 1600.0),
        (SQUARES + INNER_BACK, "nonzero", 1200.0),
        (SQUARES + INNER_SAME, "evenodd", 1200.0),
        (SQUARES + "M40 40H80V80H40Z", "nonzero", 3100.0),
        (SQUARES + "M40 40H80V80H40Z", "evenodd", 3000.0),
    ],
)
def test_fill_rules(d: str, rule: str, area: float) -> None:
    art = read(f'<path d="{d}" fill-rule="{rule}"/>')
    assert sum(r.area_mm2 for r in only(art).area) == pytest.approx(area)


def test_a_star_fills_by_its_winding() -> None:
    """A pentagram of radius R: non-zero fills the middle pentagon, even-odd does not."""
    points = [(50 + 40 * sin(4 * pi * k / 5), 50 - 40 * cos(4 * pi * k / 5)) for k in range(5)]
    text = " ".join(f"{x},{y}" for x, y in points)

    def area(rule: str) -> float:
        art = read(f'<polygon points="{text}" fill-rule="{rule}"/>')
        return sum(r.area_mm2 for r in only(art).area)

    inner = 40.0 * cos(2 * pi / 5) / cos(pi / 5)
    pentagon = 2.5 * inner**2 * sin(2 * pi / 5)
    assert area("nonzero") - area("evenodd") == pytest.approx(pentagon, rel=1e-4)


STYLED = """<style>
  path { stroke: #111; stroke-width: 1 }
  .wide { stroke-width: 3 }
  #bar { stroke-width: 5 }
  g > path.deep { stroke-width: 7 !important }
</style>"""


@pytest.mark.parametrize(
    ("element", "width"),
    [
        ('<path d="M0 0h9"/>', 1.0),
        ('<path d="M0 0h9" stroke-width="2"/>', 1.0),
        ('<path class="wide" d="M0 0h9"/>', 3.0),
        ('<path class="wide" id="bar" d="M0 0h9"/>', 5.0),
        ('<path class="wide" id="bar" style="stroke-width:6" d="M0 0h9"/>', 6.0),
        ('<g><path class="deep" style="stroke-width:6" d="M0 0h9"/></g>', 7.0),
    ],
)
def test_the_cascade(element: str, width: float) -> None:
    assert only(read(STYLED + element)).width_mm == pytest.approx(width)


def test_styles_are_inherited_and_named_colours_known() -> None:
    art = read('<g stroke="navy" fill="none" stroke-linecap="round"><path d="M0 0h9"/></g>')
    assert (only(art).stroke, only(art).fill, only(art).cap) == ("#000080", None, "round")


def test_current_colour_opacity_and_gradients() -> None:
    art = read(
        '<linearGradient id="g"><stop stop-color="#ff0000"/><stop offset="1" stop-color="#0000ff"/>'
        '</linearGradient><g color="#123456">'
        '<rect width="9" height="9" fill="currentColor"/>'
        '<rect width="9" height="9" fill="#000" fill-opacity="0.5"/>'
        '<rect width="9" height="9" fill="url(#g)"/></g>'
    )
    assert [mark.fill for mark in art.marks] == ["#123456", "#808080", "#800080"]


@pytest.mark.parametrize(
    "hidden",
    [
        '<g display="none"><path d="M0 0h9v9z"/></g>',
        '<path d="M0 0h9v9z" visibility="hidden"/>',
        '<path d="M0 0h9v9z" style="display:none"/>',
        '<path d="M0 0h9v9z" opacity="0"/>',
        '<path d="M0 0h9v9z" fill="none"/>',
        '<defs><path d="M0 0h9v9z"/></defs>',
        '<symbol><path d="M0 0h9v9z"/></symbol>',
        '<clipPath id="c"><path d="M0 0h9v9z"/></clipPath>',
        '<path d="M0 0h9v9z" fill="url(#none)"/>',
        '<path d=""/>',
        '<rect width="0" height="5"/>',
    ],
)
def test_hidden_things_are_not_there(hidden: str) -> None:
    assert read(hidden).marks == ()


def test_uses_and_symbols() -> None:
    art = read(
        '<defs><path id="reed" d="M0 0h10" stroke="#000"/>'
        '<symbol id="pane" viewBox="0 0 1 1"><path d="M0 0h1v1z" fill="#7fb7d9"/></symbol></defs>'
        '<use href="#reed" x="5" y="6"/><use xlink:href="#reed" transform="scale(2)"/>'
        '<use href="#pane" x="20" y="20" width="30" height="30"/>'
    )
    one, two, three = art.marks
    assert one.paths[0][0] == ((5.0, 6.0), (15.0, 6.0))
    assert two.paths[0][0] == ((0.0, 0.0), (20.0, 0.0))
    assert three.area[0].area_mm2 == pytest.approx(450.0)


def test_clip_paths_cut_fills_and_strokes() -> None:
    art = read(
        '<clipPath id="c"><rect width="50" height="100"/></clipPath>'
        '<rect clip-path="url(#c)" x="20" y="20" width="60" height="10" fill="#7fb7d9"/>'
        '<path clip-path="url(#c)" d="M20 50H80" stroke="#000" fill="none" stroke-width="4"/>'
        '<path clip-path="url(#c)" d="M10 80H40" stroke="#000" fill="none" stroke-width="4"/>'
    )
    fill, cut, whole = art.marks
    assert sum(r.area_mm2 for r in fill.area) == pytest.approx(300.0)
    assert sum(r.area_mm2 for r in cut.area) == pytest.approx(120.0)
    assert (cut.fill, cut.stroke) == ("#000000", None)
    assert whole.stroke == "#000000"


def test_names_go_from_the_innermost_outwards() -> None:
    art = read(
        '<g id="outer"><g xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:label="Bars">'
        '<path id="a" class="b c" d="M0 0h9" stroke="#000"/></g></g>'
    )
    assert only(art).names == ("a", "b", "c", "Bars", "outer")


def test_text_and_pictures_are_left_out_and_told() -> None:
    art = read(
        '<text>Pilot station</text><image href="data:image/png;base64,AAAA"/>'
        '<path d="M0 0h9" stroke="#000"/>'
    )
    assert len(art.marks) == 1
    assert [note.split(":")[0] for note in art.notes] == [
        "text is left out",
        "an embedded picture is left out",
    ]


@pytest.mark.parametrize("d", ["M0 0h9V", "M0 0h9VNaN", "M0 0h9L5", "M0 0h9L1 2 3"])
def test_a_broken_path_is_read_up_to_its_fault_and_told(d: str) -> None:
    art = read(f'<path d="{d}" stroke="#000"/>')
    assert art.marks[0].paths[0][0][:2] == ((0.0, 0.0), (9.0, 0.0))
    assert art.notes == ("a path's data is broken: it is read up to the fault",)


def test_gzipped_drawings_and_other_encodings_are_read() -> None:
    data = f'<svg {NS} width="9mm">{LINE}</svg>'.encode()
    assert read_design(gzip.compress(data), name="a.svgz").name == "a.svgz"
    latin = f'<?xml version="1.0" encoding="utf-16"?><svg {NS} width="9mm">{LINE}</svg>'
    assert read_svg(latin.encode("utf-16"), name="a.svg").marks


def test_short_namespace_entities_are_put_in_their_place() -> None:
    data = (
        '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd" [\n'
        '<!ENTITY ns "http://www.w3.org/2000/svg">]>\n'
        f'<svg xmlns="&ns;" width="9mm">{LINE}</svg>'
    )
    assert len(read_svg(data.encode(), name="a.svg").marks) == 1


@pytest.mark.parametrize("data", [b"", b"  \n", b"GIF89a", b"\x00\x01\x02 nothing"])
def test_what_is_no_drawing_is_refused(data: bytes) -> None:
    with pytest.raises(ReadError, match=r"a\.xyz"):
        read_design(data, name="a.xyz")


def test_encodings_cannot_hide_a_document_type() -> None:
    """cp037 spells <!DOCTYPE in other bytes; the careful parser still sees it."""
    text = (
        '<?xml version="1.0" encoding="cp037"?><!DOCTYPE s [<!ENTITY a SYSTEM "file:///x">]>'
        f"<svg {NS}><text>&a;</text></svg>"
    )
    with pytest.raises(ReadError):
        read_svg(text.encode("cp037"), name="a.svg")
