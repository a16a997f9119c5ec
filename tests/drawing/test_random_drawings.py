"""Random planar drawings: whatever is drawn, glass and leads tile the window exactly."""

from __future__ import annotations

from math import cos, pi, sin

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from glasswork.drawing.make import drawn_window
from glasswork.errors import DrawingError
from glasswork.model.window import Window
from glasswork.readers.svg import read_svg
from tests.drawing.tiling import tiling_error

SPOT = st.tuples(st.integers(2, 98), st.integers(2, 98))
WIDTH = st.sampled_from([0.4, 0.8, 1.5, 3.0, 6.0])
CAP = st.sampled_from(["butt", "round", "square"])
JOIN = st.sampled_from(["miter", "round", "bevel"])


@st.composite
def stroke(draw: st.DrawFn) -> str:
    kind = draw(st.sampled_from(["line", "poly", "curve", "circle", "polygon"]))
    look = (
        f'stroke-width="{draw(WIDTH)}" stroke-linecap="{draw(CAP)}" stroke-linejoin="{draw(JOIN)}"'
    )
    if kind == "circle":
        (x, y), r = draw(SPOT), draw(st.integers(2, 40))
        return f'<circle cx="{x}" cy="{y}" r="{r}" {look}/>'
    count = {"line": 2, "poly": 4, "curve": 4, "polygon": 5}[kind]
    points = draw(st.lists(SPOT, min_size=count, max_size=count))
    if kind == "curve":
        (a, b, c, d) = points
        return f'<path d="M{a[0]} {a[1]}C{b[0]} {b[1]} {c[0]} {c[1]} {d[0]} {d[1]}" {look}/>'
    text = " ".join(f"{x},{y}" for x, y in points)
    tag = "polygon" if kind == "polygon" else "polyline"
    return f'<{tag} points="{text}" {look}/>'


@st.composite
def blot(draw: st.DrawFn) -> str:
    """A filled shape, dark or light."""
    points = draw(st.lists(SPOT, min_size=3, max_size=6))
    text = " ".join(f"{x},{y}" for x, y in points)
    fill = draw(st.sampled_from(["#000", "#e8a317", "#7fb7d9", "#fff"]))
    rule = draw(st.sampled_from(["nonzero", "evenodd"]))
    return f'<polygon points="{text}" fill="{fill}" fill-rule="{rule}" stroke="none"/>'


def _window(body: str) -> Window | None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100"><g fill="none" stroke="#000">{body}</g></svg>'
    )
    try:
        return drawn_window(read_svg(svg.encode(), name="lot.svg"), roles={})[0]
    except DrawingError:
        return None


FRAME = '<rect x="0" y="0" width="100" height="100" stroke-width="3"/>'
SETTINGS = settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
FEW = settings(SETTINGS, max_examples=60)
"""For drawings of hundreds of panes."""


@SETTINGS
@given(st.lists(stroke(), max_size=8))
def test_framed_lines_tile(strokes: list[str]) -> None:
    window = _window(FRAME + "".join(strokes))
    assert window is not None
    assert tiling_error(window) < 1e-6


@SETTINGS
@given(st.lists(st.one_of(stroke(), blot()), min_size=1, max_size=8))
def test_lines_and_blots_tile_or_are_refused(parts: list[str]) -> None:
    window = _window("".join(parts))
    if window is not None:
        assert tiling_error(window) < 1e-6
        for pane in window.panes:
            assert pane.region.area_mm2 > 0.0


@FEW
@given(st.integers(3, 40), st.integers(1, 6), st.floats(0.3, 3.0))
def test_wheels_have_all_their_panes(spokes: int, rings: int, lead: float) -> None:
    radii = [45.0 * (k + 1) / rings for k in range(rings)]
    body = "".join(f'<circle cx="50" cy="50" r="{r}"/>' for r in radii)
    for k in range(spokes):
        turn = 2.0 * pi * k / spokes
        body += f'<path d="M50 50L{50 + 45 * cos(turn):.6f} {50 + 45 * sin(turn):.6f}"/>'
    window = _window(f'<g stroke-width="{lead:.3f}">{body}</g>')
    if window is None:
        assert 2.0 * pi * radii[0] / spokes < 4.0 * lead
        return
    assert tiling_error(window) < 1e-6
    narrowest = 2.0 * pi * (radii[0] - lead) / spokes
    if rings == 1 or radii[1] - radii[0] > 2.0 * lead:
        expected = spokes * rings
        if narrowest > 3.0 * lead:
            assert len(window.panes) == expected
        else:
            assert len(window.panes) <= expected


def test_nothing_is_lost_where_edges_run_within_a_hair_of_each_other() -> None:
    """GEOS joins two of these shapes to one that is as large as the first alone."""
    window = _window(
        FRAME + '<path d="M57 43C23 84 98 24 3 47" stroke-width="6" stroke-linecap="square" '
        'stroke-linejoin="round"/>'
        '<polyline points="61,79 26,2 2,2 2,2" stroke-width="1.5" stroke-linecap="round" '
        'stroke-linejoin="miter"/>'
    )
    assert window is not None
    assert tiling_error(window) < 1e-9
