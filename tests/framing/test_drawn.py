"""Windows drawn by lot: whatever the leads, the frame stays sound."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from glasswork.framing.files import layer_drawings
from glasswork.model.frame import FramePlan, Level, Made
from glasswork.model.geometry import Region
from glasswork.model.window import Role, Window
from glasswork.planar import Area, sound_regions

from windows import arch, board, circle, cutter, rectangle, tiled  # isort: skip

OUTLINES = {
    "rectangle": rectangle(110.0, 150.0),
    "arch": arch(110.0, 70.0),
    "lancet": arch(80.0, 60.0, ratio=1.25),
    "circle": circle(60.0),
}


@st.composite
def windows(draw: st.DrawFn) -> Window:
    outline = OUTLINES[draw(st.sampled_from(sorted(OUTLINES)))]
    box = outline.box
    leads = []
    for _ in range(draw(st.integers(0, 7))):
        corners = st.tuples(
            st.integers(int(box.left) - 10, int(box.right) + 10),
            st.integers(int(box.top) - 10, int(box.bottom) + 10),
        )
        line = tuple(
            (float(x), float(y))
            for x, y in draw(st.lists(corners, min_size=2, max_size=4, unique=True))
        )
        width = draw(st.sampled_from([0.2, 0.5, 0.9, 1.0, 1.4, 2.0, 3.5, 6.0]))
        role = draw(st.sampled_from([Role.LEAD, Role.LEAD, Role.BAR, Role.MULLION]))
        leads.append((line, width, role))
    return tiled(outline, leads, border_mm=draw(st.sampled_from([3.0, 5.0, 8.0])))


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],  # shrinking takes minutes
    suppress_health_check=[HealthCheck.too_slow],
)
@given(
    window=windows(),
    board_name=st.sampled_from(["chipboard-1", "chipboard-2", "card-0.3"]),
    cutter_name=st.sampled_from(["laser", "drag-blade", "hand-knife"]),
)
def test_any_window_makes_a_sound_frame(plan, window, board_name, cutter_name) -> None:
    made, _ = plan(window, board_name=board_name, cutter_name=cutter_name)
    sound(made, window)
    held(made, window, board(board_name).web_refuse_mm)
    covered(made, window)
    weak_places_are_listed(made, window, board(board_name).web_warn_mm)


def sound(made: FramePlan, window: Window) -> None:
    """Each cut piece is one valid polygon, holes inside it; inner layers are a single piece."""
    for layer in made.layers:
        assert sound_regions(layer.pieces).all()
        assert len(layer.pieces) == 1 or layer.level is Level.OUTER
        for piece in layer.pieces:
            assert piece.area_mm2 > 0.5
    whole = Area.of((window.outline,))
    tabs = Area.union(Area.of((ear.tab,)) for ear in made.ears)
    for layer in made.layers:
        assert (Area.of(layer.pieces) - whole - tabs).area_mm2 < 1e-3
    inner = Area.of(made.layers[1].pieces)
    assert (Area.of(made.layers[0].pieces) - inner).area_mm2 < 0.05  # the outer lies on the inner
    assert made.layers[1].pieces == made.layers[2].pieces
    assert made.layers[0].pieces == made.layers[3].pieces


def held(made: FramePlan, window: Window, web_mm: float) -> None:
    """The inner layer hangs together by no less than the refused web, or its narrowest member."""
    narrowest = min(
        (m.width_mm for m, item in zip(window.members, made.made, strict=True)
         if item.made is Made.CUT), default=web_mm,
    )  # fmt: skip
    half_mm = 0.48 * min(web_mm, narrowest)
    core = Area.of(made.layers[1].pieces).grown(-half_mm, join="round")
    main = core.parts()[0]
    for member, item in zip(window.members, made.made, strict=True):
        area = Area.of(member.area)
        crumb = area.area_mm2 < web_mm * narrowest  # it may lie in a corner as a whole
        if item.made is Made.CUT and not crumb:
            assert area.touches(main), member.id


def covered(made: FramePlan, window: Window) -> None:
    """Ink reaches under every lead, overlaps no neighbour, and printed leads are black."""
    total = 0.0
    for (_, limit), pane in zip(made.glass_limit, window.panes, strict=True):
        area = Area.of(limit)
        assert (Area.of((pane.region,)) - area).area_mm2 < 1e-6
        total += area.area_mm2
    union = Area.of(region for _, limit in made.glass_limit for region in limit)
    assert total - union.area_mm2 < 1e-4 * union.area_mm2
    black = Area.of(made.printed)
    for member, item in zip(window.members, made.made, strict=True):
        if item.made is Made.PRINTED:
            assert (Area.of(member.area) - black).area_mm2 < 1e-6


def weak_places_are_listed(made: FramePlan, window: Window, limit_mm: float) -> None:
    """Where a disc of the limit does not pass through the inner layer, a weak place is listed."""
    inner = Area.of(made.layers[1].pieces)
    listed = [weak for weak in made.weak if weak.level is Level.INNER]
    names = {weak.member for weak in listed if weak.kind == "web"}
    narrow_members = [Area.of(m.area) for m in window.members if m.id in names]
    opened = inner.opened(limit_mm / 2.0 * 0.94)
    narrow = inner - opened.grown(0.02, join="round")
    for bit in narrow.parts():
        contacts = (bit.grown(0.05, join="round") & opened).parts()
        if len(contacts) == 1 or 2.0 * bit.inner_radius_mm() < 0.35 * limit_mm:
            continue  # a rounded corner, perhaps with another stretch of board close by
        near = bit.grown(limit_mm, join="round")
        told = any(near.holds(weak.place) for weak in listed)
        assert told or any(bit.touches(one) for one in narrow_members), bit.inner_point()


def test_layers_cut_back_to_the_drawn_shape(plan) -> None:
    """The finished part is the drawn one, laser kerf taken off the path."""
    from glasswork.framing.offset import offset_region

    window = tiled(OUTLINES["lancet"], [], border_mm=6.0)
    made, _ = plan(window)
    for drawing, layer in zip(layer_drawings(made, cutter()), made.layers, strict=True):
        outline = next(path for path in drawing.paths if path.operation == "outline")
        assert outline.closed
        shape = layer.pieces[0].mapped(layer.panel_to_file)
        grown = offset_region(Region(shape.outer), 0.075)[0]
        at = Area.of((grown,))
        assert max(at.edge_distance_mm(point) for point in outline.points) < 1e-6


@pytest.mark.parametrize("name", sorted(OUTLINES))
def test_the_film_stays_inside_the_frame_and_on_the_pins(plan, name: str) -> None:
    made, _ = plan(tiled(OUTLINES[name], [], border_mm=6.0))
    film = Area.of((made.film_trim,))
    assert film.is_one_valid()
    body = Area.of((made.outline,))
    tabs = Area.union(Area.of((ear.tab,)) for ear in made.ears)
    beyond = film - body
    assert (beyond - tabs.grown(1e-6)).area_mm2 < 1e-6
    assert (body.grown(-1.5) - film).is_empty
