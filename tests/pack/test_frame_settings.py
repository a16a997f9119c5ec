"""Frame settings, by what they do to the written files."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.pack.conftest import Made, compose, glasswork
from tests.pack.test_frames_from_outside import finished

WINDOW = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="120mm" viewBox="0 0 90 120">'
    '<g fill="none" stroke="#000"><path class="border" stroke-width="6" d="M3 3H87V117H3Z"/>'
    '<path class="mullion" stroke-width="4" d="M45 3V117"/>'
    '<path class="bar" stroke-width="4" d="M3 60H87"/>'
    '<path class="lead" stroke-width="0.6" d="M3 30H87M3 90H87"/></g></svg>'
)


def _frame(made: Made, name: str) -> dict[str, Any]:
    return next(one for one in made.report["frames"] if one["file"] == f"frames/{name}.svg")


def _shape(made: Made, name: str) -> Any:
    return finished(made, _frame(made, name))


def _words(pdf: Path) -> str:
    return subprocess.run(
        ["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True
    ).stdout


@pytest.fixture(scope="module")
def drawing(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("drawing") / "net-loft.svg"
    path.write_text(WINDOW)
    return path


@pytest.fixture(scope="module")
def tuned(drawing: Path, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Card on the outside, a step, a rebate, a tray."""
    return compose(
        tmp_path_factory.mktemp("tuned") / "pack", str(drawing),
        "--outer-board", "chipboard-1", "--retainer-board", "card-0.3",
        "--step", "0.8", "--rebate", "2", "--jig",
    )  # fmt: skip


def test_each_level_has_its_board_and_the_thickness_is_their_sum(tuned: Made) -> None:
    boards = {one["file"]: (one["board"], one["thickness_mm"]) for one in tuned.report["frames"]}
    assert boards["frames/front-outer.svg"] == ("chipboard-1", 1.0)
    assert boards["frames/back-outer.svg"] == ("chipboard-1", 1.0)
    assert boards["frames/front-inner.svg"] == ("chipboard-2", 2.0)
    assert boards["frames/retainer.svg"] == ("card-0.3", 0.3)
    layers = dict(tuned.report["fit"]["layers_mm"])
    films = sum(thick for name, thick in layers.items() if name.startswith("film"))
    glue = sum(thick for name, thick in layers.items() if name.startswith("glue"))
    assert tuned.report["thickness_mm"] == pytest.approx(1 + 2 + 2 + 1 + films + glue, abs=1e-3)
    text = _words(tuned.folder / "guide.pdf")
    assert "1 mm" in text
    assert "front outer" in text


def test_the_outer_layer_stands_back_by_the_step_at_the_glass(tuned: Made) -> None:
    """On a level line between bars: the border's inner edge lies at 6 mm, the mullion is 4 wide."""
    line = shapely.LineString([(-20, 45), (110, 45)])
    inner, outer = (
        shapely.intersection(_shape(tuned, f"front-{level}"), line).bounds
        for level in ("inner", "outer")
    )
    assert inner[0] == pytest.approx(outer[0], abs=1e-3)  # flush at the panel's edge
    cuts = {
        level: sorted(
            x
            for part in shapely.get_parts(
                shapely.intersection(_shape(tuned, f"front-{level}"), line)
            )
            for x in (part.bounds[0], part.bounds[2])
        )
        for level in ("inner", "outer")
    }
    assert cuts["inner"] == pytest.approx([0, 6, 43, 47, 84, 90], abs=0.02)
    assert cuts["outer"] == pytest.approx([0, 5.2, 43.8, 46.2, 84.8, 90], abs=0.02)
    assert tuned.report["fit"]["step_mm"] == 0.8
    assert tuned.report["fit"]["rebate_mm"] == 2.0


def test_the_tray_takes_the_layers_with_play_and_holds_the_pins(tuned: Made) -> None:
    wall, floor = _shape(tuned, "jig-wall"), _shape(tuned, "jig-floor")
    layer = _shape(tuned, "front-inner")
    whole = shapely.union_all([shapely.Polygon(p.exterior) for p in shapely.get_parts(layer)])
    well = shapely.Polygon(wall.interiors[0])
    assert well.contains(whole)
    assert well.exterior.distance(whole.exterior) == pytest.approx(0.2, abs=0.03)
    small = [shapely.Polygon(ring) for ring in layer.interiors]
    pins = sorted((h.centroid.x, h.centroid.y) for h in small if h.area < 12.0)
    holes = sorted(
        (shapely.Polygon(r).centroid.x, shapely.Polygon(r).centroid.y) for r in floor.interiors
    )
    assert len(holes) == 3
    for hole, pin in zip(holes, pins, strict=True):
        assert hole == pytest.approx(pin, abs=0.02)
    assert "jig wall" in _words(tuned.folder / "template.pdf")
    assert "jig-floor" in _words(tuned.folder / "guide.pdf")


def test_what_is_weak_and_bare_is_in_the_report_and_drawn_in_the_guide(tmp_path: Path) -> None:
    made = compose(tmp_path / "pack", "sample_designs/ferry-house.svg")
    weak = made.report["weak"]
    assert weak
    assert {one["kind"] for one in weak} <= {"web", "tip", "slender"}
    assert all(one["limit"] > 0 for one in weak)
    text = _words(made.folder / "guide.pdf")
    assert "Weak and exposed places" in text
    worst = min((one for one in weak if one["kind"] == "web"), key=lambda one: one["value"])
    assert f"{worst['value']:.2f} mm, {worst['limit']:g} mm" in text
    lot = made.report["registration"]["assembled"]
    assert lot["runs"] >= 1000
    assert f"Of {lot['runs']} panels assembled by lot" in " ".join(text.split())


def test_roles_may_be_raised_on_one_face_or_printed(drawing: Path, tmp_path: Path) -> None:
    project = tmp_path / "p.toml"
    project.write_text(
        f'design = "{drawing}"\n[layers]\nbar = "raised"\nmullion = "raised-front"\n'
        "[widths]\nlead = 2.4\n"
    )
    made = compose(tmp_path / "pack", "--project", str(project))
    front, back = _shape(made, "front-outer"), _shape(made, "back-outer")
    on_mullion, on_bar = shapely.Point(45, 45), shapely.Point(25, 60)
    assert front.contains(on_mullion)
    assert front.contains(on_bar)
    assert not back.contains(on_mullion)
    assert back.contains(on_bar)
    assert _frame(made, "front-outer")["twin"] == ""
    assert _frame(made, "front-inner")["twin"] == "frames/back-inner.svg"
    leads = [m for m in made.report["members"] if m["role"] == "lead"]
    assert {m["made"] for m in leads} == {"cut"}
    assert {round(m["width_mm"], 6) for m in leads} == {2.4}
    assert _shape(made, "front-inner").contains(shapely.Point(25, 31.1))
    again = glasswork("compose", "--project", str(tmp_path / "pack/project.toml"), "-o",
                      str(tmp_path / "again"))  # fmt: skip
    assert again.returncode == 0, again.stderr
    one, two = (tmp_path / name / "frames/back-outer.svg" for name in ("pack", "again"))
    assert one.read_bytes() == two.read_bytes()


def test_a_role_may_be_printed_as_a_whole(drawing: Path, tmp_path: Path) -> None:
    project = tmp_path / "p.toml"
    project.write_text(f'design = "{drawing}"\n[layers]\nbar = "printed"\n')
    made = compose(tmp_path / "pack", "--project", str(project))
    roles = {(m["role"], m["made"]) for m in made.report["members"]}
    assert ("bar", "printed") in roles
    assert ("bar", "cut") not in roles
    assert not _shape(made, "front-inner").contains(shapely.Point(25, 60))


@pytest.mark.parametrize("clearance", [0.3, 1.0])
def test_a_drawn_opening_keeps_its_clearance_everywhere(tmp_path: Path, clearance: float) -> None:
    """A pointed arch drawn by its own measures; the panel is another program's shape of the kind.

    The opening: span 100, radius 100, springing 70 mm over the sill: two arcs by their centres.
    """
    opening = tmp_path / "opening.svg"
    opening.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="180mm" '
        'viewBox="0 0 120 180"><path fill="#ddd" d="M10 170V100A100 100 0 0 1 60 13.397460'
        'A100 100 0 0 1 110 100V170Z"/></svg>'
    )
    glasswork("draw", "equilateral", "--width", "60", "--height", "93", "-o", "w.svg", cwd=tmp_path)
    made = compose(
        tmp_path / "pack", str(tmp_path / "w.svg"), "--opening-drawing", str(opening),
        "--clearance", str(clearance),
    )  # fmt: skip
    fit = made.report["fit"]
    assert fit["drawn_opening"]
    assert fit["opening_mm"] == pytest.approx([100, 156.6025], abs=0.01)
    panel = _panel(made)
    wide, high = made.report["size_mm"]
    arch = shapely.Point(0, 70).buffer(100, 256) & shapely.Point(100, 70).buffer(100, 256)
    hole = (arch & shapely.box(0, 70, 100, 200)) | shapely.box(0, 0, 100, 70)
    hole = shapely.affinity.scale(hole, 1, -1, origin=(0, 0))  # y down
    (hx0, hy0, hx1, hy1), (px0, py0, px1, py1) = _room(hole, clearance).bounds, panel.bounds
    moved = shapely.affinity.translate(
        panel, (hx0 + hx1 - px0 - px1) / 2, (hy0 + hy1 - py0 - py1) / 2
    )
    assert hole.contains(moved)
    assert hole.exterior.distance(moved) == pytest.approx(clearance, abs=0.005)
    assert (wide, high) == pytest.approx((px1 - px0, py1 - py0), abs=0.02)
    assert wide > 100 - 2 * clearance - 1.5


def _room(hole: Any, clearance: float) -> Any:
    return hole.buffer(-clearance, join_style="mitre", mitre_limit=10)


def _panel(made: Made) -> Any:
    """The panel as the retaining ring, which has no ears, is cut."""
    (ring,) = shapely.get_parts(_shape(made, "retainer"))
    return shapely.Polygon(ring.exterior)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--step", "9"), "frame, step: 9 mm is not between 0 and"),
        (("--rebate", "7"), "frame, rebate: 7 mm is not between 0 and the border's"),
        (("--outer-board", "plywood-9"), "plywood-9"),
        (("--opening-drawing", "nowhere.svg"), "nowhere.svg"),
        (("--step", "-1"), "step"),
    ],
)
def test_settings_that_make_no_frame(
    drawing: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    done = glasswork("compose", str(drawing), *words, "-o", str(tmp_path / "pack"))
    assert done.returncode in (1, 2)
    assert said in done.stderr
    assert not (tmp_path / "pack").exists()


@pytest.mark.parametrize(
    ("art", "said"),
    [
        ('<path d="M0 0L50 60" stroke="#000"/>', "holds no closed outline"),
        ('<path d="M0 0L50 60L50 0L0 40Z" fill="none" stroke="#000"/>', "crosses itself"),
    ],
)
def test_drawings_that_are_no_opening(drawing: Path, tmp_path: Path, art: str, said: str) -> None:
    bad = tmp_path / "bad.svg"
    bad.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        f"{art}</svg>"
    )
    done = glasswork(
        "compose", str(drawing), "--opening-drawing", str(bad), "-o", str(tmp_path / "pack")
    )
    assert done.returncode == 1
    assert said in done.stderr
    tables = '[layers]\nborder = "inner"\n'
    project = tmp_path / "p.toml"
    project.write_text(f'design = "{drawing}"\n{tables}')
    refused = glasswork("compose", "--project", str(project), "-o", str(tmp_path / "pack"))
    assert 'the border is given as "inner"' in refused.stderr
