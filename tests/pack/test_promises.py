"""What a pack promises about colour and thickness."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pack.conftest import Made, compose, glasswork


def test_printed_by_hand_it_would_fail_and_composed_it_does_not(plain: Made) -> None:
    """The palette's sRGB printed as it is errs by over 8; in reach, composed, by under 1.5."""
    by_hand = plain.report["by_hand"]
    assert by_hand["1"] > 8
    assert by_hand["2"] > 8
    reached = [pane for pane in plain.report["panes"] if pane["in_reach"]]
    assert len(reached) > len(plain.report["panes"]) / 2
    assert sum(pane["delta_e00"] for pane in reached) / len(reached) < 1.5


def test_films_table_has_one_two_and_three(plain: Made) -> None:
    rows = {row["count"]: row for row in plain.report["films_table"]}
    assert set(rows) == {1, 2, 3}
    assert rows[1]["area_within_3"] < 0.95 <= rows[2]["area_within_3"]
    assert plain.report["films"]["count"] == 2, "common practice: two films on the dye profile"


def test_two_millimetre_board_makes_eight_millimetres(plain: Made) -> None:
    """Common practice: inner and outer layer on each face, 2 mm board, two films."""
    layers = dict(plain.report["fit"]["layers_mm"])
    boards = ("front outer", "front inner", "back inner", "back outer")
    board = sum(layers[name] for name in boards)
    assert board == pytest.approx(8.0)
    assert plain.report["thickness_mm"] == pytest.approx(sum(layers.values()))
    assert 8.0 < plain.report["thickness_mm"] < 9.0


def test_every_file_of_the_contract_is_there(sample: Made) -> None:
    names = {str(p.relative_to(sample.folder)) for p in sample.folder.rglob("*") if p.is_file()}
    assert names >= {
        "films.pdf",
        "films-trim.svg",
        "frames/front-outer.svg",
        "frames/front-inner.svg",
        "frames/back-inner.svg",
        "frames/back-outer.svg",
        "frames/retainer.svg",
        "frames/sheet-1.svg",
        "frames/sheet-1.dxf",
        "template.pdf",
        "preview-lit.png",
        "preview-unlit.png",
        "preview-back.png",
        "guide.pdf",
        "project.toml",
        "report.json",
    }


def test_the_packs_project_composes_it_again(
    plain: Made, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000000")
    first = compose(
        tmp_path / "first", "sample_designs/pilot-station.svg", "--films", "1", fresh=True
    )
    again = compose(tmp_path / "again", "--project", str(first.folder / "project.toml"), fresh=True)
    for path in first.folder.rglob("*"):
        if path.is_file() and path.name != "report.json":
            assert path.read_bytes() == (again.folder / path.relative_to(first.folder)).read_bytes()
    assert plain.report["films"]["count"] == 2


def test_verify_holds_from_the_command_line(plain: Made) -> None:
    done = glasswork("verify", str(plain.folder))
    assert done.returncode == 0, done.stdout + done.stderr
    assert "checks hold" in done.stdout
