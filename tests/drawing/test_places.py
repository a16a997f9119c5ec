"""Pane ids by place, maps that survive an edit, colours of neighbours, colours from a picture."""

from __future__ import annotations

import numpy as np
import pytest

from glasswork.drawing.make import drawn_window, make_window
from glasswork.drawing.member_roles import follow_members, with_member_roles
from glasswork.drawing.neighbours import colour_groups, neighbours
from glasswork.drawing.pane_ids import follow_map
from glasswork.drawing.underlay import colour_from_picture
from glasswork.errors import DrawingError, Faults
from glasswork.model.window import Role, Sizing, Window
from glasswork.readers.svg import read_svg
from tests.bench.designs import synthetic_window_svg


def window_of(body: str, size: tuple[int, int] = (60, 80)) -> Window:
    w, h = size
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}"><g fill="none" stroke="#000" stroke-width="2">{body}</g></svg>'
    )
    return drawn_window(read_svg(svg.encode(), name="a.svg"), roles={})[0]


FRAME = '<rect x="1.5" y="1.5" width="57" height="77" stroke-width="3"/>'


def test_ids_tell_the_place_whatever_the_size() -> None:
    art = read_svg(synthetic_window_svg(60, "strokes", 1), name="a.svg")
    small, _ = make_window(art, roles={}, sizing=Sizing())
    large, _ = make_window(art, roles={}, sizing=Sizing(height_mm=500.0))
    assert [p.id for p in small.panes] == [p.id for p in large.panes]
    assert len({p.id for p in small.panes}) == 60


def test_an_edit_elsewhere_leaves_the_ids() -> None:
    before = window_of(FRAME + '<path d="M1 40H59M30 1V79"/>')
    after = window_of(FRAME + '<path d="M1 40H59M30 1V79M1 60H30"/>')
    kept = {p.id for p in before.panes} & {p.id for p in after.panes}
    assert len(kept) == 3, "only the divided pane is new"


def test_a_map_follows_panes_that_moved_a_little() -> None:
    art = synthetic_window_svg(400, "strokes", 1)
    window, _ = make_window(read_svg(art, name="a.svg"), roles={}, sizing=Sizing())
    chosen = {pane.id: f"glass-{k}" for k, pane in enumerate(window.panes)}
    places = [(x + 0.9, y - 0.7) for x, y in (p.seed_point for p in window.panes)]
    names = [f"X{k}" for k in range(len(places))]
    moved, lost = follow_map(names, places, window.box, chosen)
    assert lost == ()
    right = sum(moved[f"X{k}"] == f"glass-{k}" for k in range(len(places)))
    assert right >= 0.97 * len(places)


def test_a_key_without_a_pane_near_is_told() -> None:
    window = window_of(FRAME + '<path d="M1 40H59"/>')
    places = [p.seed_point for p in window.panes]
    names = [p.id for p in window.panes]
    _, lost = follow_map(names, places, window.box, {"P0101": "ruby", "heron": "opal"})
    assert lost == ("P0101", "heron")


@pytest.mark.parametrize("panes", [60, 400])
def test_neighbours_differ_and_groups_are_few(panes: int) -> None:
    art = read_svg(synthetic_window_svg(panes, "strokes", 3), name="a.svg")
    window, _ = drawn_window(art, roles={})
    groups = colour_groups(window)
    pairs = neighbours(window)
    assert len(pairs) >= 1.5 * panes
    for i, j in pairs:
        assert groups[window.panes[i].id] != groups[window.panes[j].id]
    assert max(groups.values()) <= 4, "a planar map needs no more than four, plus one"


def test_each_pane_takes_the_colour_under_it() -> None:
    window = window_of(FRAME + '<path d="M1 40H59M30 1V79"/>')
    picture = np.zeros((80, 60, 3), dtype=np.uint8)
    picture[:40, :30], picture[:40, 30:] = (200, 30, 40), (20, 60, 160)
    picture[40:, :30], picture[40:, 30:] = (230, 170, 20), (240, 240, 230)
    picture[::7, ::5] = 0
    coloured = colour_from_picture(window, picture)
    by_place = {(p.seed_point[0] > 30, p.seed_point[1] > 40): p.fill for p in coloured.panes}
    assert by_place == {
        (False, False): "#c81e28",
        (True, False): "#143ca0",
        (False, True): "#e6aa14",
        (True, True): "#f0f0e6",
    }


def test_a_grey_picture_is_refused() -> None:
    window = window_of(FRAME)
    with pytest.raises(DrawingError, match="colour picture"):
        colour_from_picture(window, np.zeros((8, 6), dtype=np.uint8))


def _roles(svg: str, roles: dict[str, str]) -> dict[Role, int]:
    window, _ = make_window(read_svg(svg.encode(), name="a.svg"), roles=roles, sizing=Sizing())
    found: dict[Role, int] = {}
    for member in window.members:
        found[member.role] = found.get(member.role, 0) + 1
    return found


NAMED = (
    '<svg xmlns="http://www.w3.org/2000/svg" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" width="60mm" height="80mm" '
    'viewBox="0 0 60 80"><g fill="none" stroke="#000" stroke-width="1">'
    '<g id="frame"><rect x="1.5" y="1.5" width="57" height="77" stroke-width="3"/></g>'
    '<path class="upright tall" d="M30 1V79" stroke-width="2.5"/>'
    '<g inkscape:label="Bars"><path d="M1 40H59"/></g><path id="reed" d="M10 10L20 30"/></g></svg>'
)


def test_roles_by_name_class_label_and_width() -> None:
    roles = {"upright": "mullion", "reed": "paint"}
    assert _roles(NAMED, roles) == {Role.BORDER: 4, Role.MULLION: 2, Role.BAR: 2}
    roles = {"stroke>=2.5": "mullion", "#frame": "border", "#reed": "paint"}
    assert _roles(NAMED, roles) == {Role.BORDER: 4, Role.MULLION: 2, Role.BAR: 2}


def test_paint_is_on_the_glass_and_in_no_border() -> None:
    window, findings = make_window(
        read_svg(NAMED.encode(), name="a.svg"),
        roles={"reed": "paint", "kelp": "bar"},
        sizing=Sizing(),
    )
    (paint,) = window.paint
    assert paint.width_mm == 1.0
    assert sum(r.area_mm2 for r in paint.area) == pytest.approx(22.36, abs=0.01)
    assert len(window.panes) == 4
    assert any('"kelp"' in f.what for f in findings)


def test_sizes() -> None:
    art = read_svg(NAMED.encode(), name="a.svg")

    def size(**settings: object) -> tuple[float, float]:
        return make_window(art, roles={}, sizing=Sizing(**settings))[0].size_mm  # type: ignore[arg-type]

    assert size() == pytest.approx((60.0, 80.0))
    assert size(width_mm=30.0) == pytest.approx((30.0, 40.0))
    assert size(height_mm=160.0) == pytest.approx((120.0, 160.0))
    assert size(scale=1 / 24) == pytest.approx((2.5, 80 / 24))
    assert size(opening_mm=(61.0, 81.0), clearance_mm=0.5) == pytest.approx((60.0, 80.0))
    tall = make_window(art, roles={}, sizing=Sizing(opening_mm=(61.0, 101.0)))
    assert tall[0].size_mm == pytest.approx((60.0, 80.0))
    assert any("20.0 mm larger down" in f.what for f in tall[1])


CROSSED = FRAME + '<path d="M1 40H59M30 1V79"/>'


def _roles_of(window: Window) -> dict[str, Role]:
    return {member.id: member.role for member in window.members}


def test_one_member_gets_its_role_and_the_others_keep_theirs() -> None:
    window = window_of(CROSSED)
    first = next(m for m in window.members if m.role is Role.LEAD)
    changed = with_member_roles(window, {first.id: "bar"})
    assert _roles_of(changed) == _roles_of(window) | {first.id: Role.BAR}
    assert [m.area for m in changed.members] == [m.area for m in window.members]
    assert with_member_roles(window, {}) is window


def test_a_members_name_is_the_same_at_any_size_and_role() -> None:
    art = read_svg(synthetic_window_svg(60, "strokes", 1), name="a.svg")
    small, _ = make_window(art, roles={}, sizing=Sizing())
    large, _ = make_window(art, roles={"stroke>=0.1": "mullion"}, sizing=Sizing(height_mm=500.0))
    assert [m.id for m in small.members] == [m.id for m in large.members]


def test_a_role_follows_its_member_through_an_edit() -> None:
    before = window_of(CROSSED)
    level = next(
        m.id
        for m in before.members
        if m.role is Role.LEAD and len({round(y, 3) for _, y in m.centreline}) == 1
    )
    after = window_of(CROSSED.replace("M1 40H59", "M1 41.5H59"))
    assert level not in {m.id for m in after.members}
    changed = [m for m in with_member_roles(after, {level: "bar"}).members if m.role is Role.BAR]
    assert {round(y, 3) for _, y in changed[0].centreline} == {41.5}
    assert len(changed) == 1
    assert list(follow_members(after, {level: "cut"})) == [changed[0].id]


def test_a_member_or_role_that_is_none_is_refused_with_near_names() -> None:
    window = window_of(CROSSED)
    real = window.members[3].id
    with pytest.raises(Faults) as found:
        with_member_roles(window, {f"{real}zz": "bar", real: "window"})
    assert real in str(found.value)
    assert "known: border, mullion, bar, lead, paint" in str(found.value)
