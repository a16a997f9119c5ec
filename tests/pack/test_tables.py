"""The tables of a project file: what is said of one pane or one member, and of no other."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pack.conftest import DPI, Made, glasswork

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
    '<g fill="none" stroke="#000"><path d="M2 2H58V78H2Z" stroke-width="4"/>'
)
CROSS = '<path d="M2 40H58M30 2V78" stroke-width="1.2"/></g></svg>'
"""Four panes of 25 × 35 mm and more."""


def composed(folder: Path, tables: str, *, drawing: str = HEAD + CROSS, name: str = "pack") -> Made:
    (folder / "quay.svg").write_text(drawing)
    (folder / "quay.toml").write_text(f'design = "quay.svg"\n{tables}')
    done = glasswork("compose", "--project", str(folder / "quay.toml"), "-o", str(folder / name))
    assert done.returncode == 0, done.stderr
    return Made(folder / name)


def spread(made: Made, pane: dict) -> float:  # type: ignore[type-arg]
    """Standard deviation of a square of 8 mm about the pane's seed point, on the first film."""
    page = made.report["films"]["pages"][0]
    a, b, c, d, e, f = page["panel_to_page_mm"]
    x, y = pane["seed_point_mm"]
    px, py = (a * x + c * y + e) * DPI / 25.4, (b * x + d * y + f) * DPI / 25.4
    half = round(4.0 * DPI / 25.4)
    shown = made.pdfium[page["page"] - 1]
    square = shown[round(py) - half : round(py) + half, round(px) - half : round(px) + half]
    return float(square.astype(float).std(axis=(0, 1)).max())


def test_one_pane_has_its_own_surface_and_the_rest_stay_flat(tmp_path: Path) -> None:
    first, *_ = composed(tmp_path, "", name="flat").report["panes"]
    made = composed(tmp_path, f'[surfaces]\n{first["id"]} = "hammered"\n')
    panes = made.report["panes"]
    assert [pane["finish"] for pane in panes] == ["hammered", "clear", "clear", "clear"]
    assert spread(made, panes[0]) > 2.0
    assert all(spread(made, pane) == 0.0 for pane in panes[1:])
    assert all(check["ok"] for check in made.report["verified"])


def test_one_pane_stays_flat_where_all_others_have_a_surface(tmp_path: Path) -> None:
    first, *_ = composed(tmp_path, "", name="flat").report["panes"]
    made = composed(tmp_path, f'finish = "seedy"\n[surfaces]\n{first["id"]} = "clear"\n')
    assert [pane["finish"] for pane in made.report["panes"]] == ["clear", *["seedy"] * 3]
    assert spread(made, made.report["panes"][0]) == 0.0


def test_a_surface_follows_its_pane_through_an_edit_and_stays_in_the_packs_project(
    tmp_path: Path,
) -> None:
    first, *_ = composed(tmp_path, "", name="flat").report["panes"]
    moved = HEAD + CROSS.replace("M2 40H58", "M2 43H58")
    made = composed(tmp_path, f'[surfaces]\n{first["id"]} = "opal"\n', drawing=moved)
    assert made.report["panes"][0]["id"] != first["id"]
    assert made.report["panes"][0]["finish"] == "opal"
    assert "[surfaces]" in (made.folder / "project.toml").read_text()


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ('P9999x = "seedy"', "the window has no such pane"),
        ('P0404 = "sedy"', "no finish of glass"),
        ("P0404 = 3", "expected"),
    ],
)
def test_a_wrong_surface_is_refused_in_one_line(tmp_path: Path, entry: str, told: str) -> None:
    (tmp_path / "quay.svg").write_text(HEAD + CROSS)
    (tmp_path / "quay.toml").write_text(f'design = "quay.svg"\n[surfaces]\n{entry}\n')
    done = glasswork("compose", "--project", str(tmp_path / "quay.toml"), "-o", str(tmp_path / "p"))
    assert done.returncode == 1
    assert told in done.stderr.lower() or told in done.stderr
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "p").exists()


def test_the_role_of_one_member_changes_the_frame_there_and_stays_in_the_packs_project(
    tmp_path: Path,
) -> None:
    """A mullion lies on the raised outer layer, a bar does not: one of four arms of a cross."""
    cross = CROSS.replace('stroke-width="1.2"', 'stroke-width="5"')
    plain = composed(tmp_path, "", drawing=HEAD + cross, name="plain")
    arms = [m["id"] for m in plain.report["members"] if m["role"] == "lead"]
    assert len(arms) == 4
    made = composed(tmp_path, f'[member_roles]\n{arms[0]} = "mullion"\n', drawing=HEAD + cross)
    roles = {m["id"]: m["role"] for m in made.report["members"]}
    assert [roles[arm] for arm in arms] == ["mullion", "lead", "lead", "lead"]

    def area(pack: Made, level: str) -> float:
        return sum(
            float(one["area_mm2"])
            for one in pack.report["frames"]
            if one["face"] == "front" and one["level"] == level
        )

    assert area(made, "outer") > area(plain, "outer") + 20.0
    assert abs(area(made, "inner") - area(plain, "inner")) < 1.0
    assert f'{arms[0]} = "mullion"' in (made.folder / "project.toml").read_text()
    assert all(check["ok"] for check in made.report["verified"])


def test_cut_or_printed_follows_its_member_through_an_edit(tmp_path: Path) -> None:
    cross = CROSS.replace('stroke-width="1.2"', 'stroke-width="5"')
    plain = composed(tmp_path, "", drawing=HEAD + cross, name="plain")
    arm = next(m["id"] for m in plain.report["members"] if m["role"] == "lead")
    moved = HEAD + cross.replace("M2 40H58", "M2 43H58").replace("M30 2", "M31.5 2")
    made = composed(tmp_path, f'[members]\n{arm} = "printed"\n', drawing=moved)
    now = {m["id"]: m["made"] for m in made.report["members"] if m["role"] == "lead"}
    assert arm not in now
    assert sorted(now.values()) == ["cut", "cut", "cut", "printed"]


@pytest.mark.parametrize(
    ("entry", "told"),
    [('L9999x = "bar"', "the window has no such member"), ('L0404 = "beam"', "invalid enum value")],
)
def test_a_wrong_member_role_is_refused_in_one_line(tmp_path: Path, entry: str, told: str) -> None:
    (tmp_path / "quay.svg").write_text(HEAD + CROSS)
    (tmp_path / "quay.toml").write_text(f'design = "quay.svg"\n[member_roles]\n{entry}\n')
    done = glasswork("compose", "--project", str(tmp_path / "quay.toml"), "-o", str(tmp_path / "p"))
    assert done.returncode == 1
    assert told in done.stderr
    assert done.stderr.count("\n") == 1
