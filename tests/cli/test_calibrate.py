"""Strip → simulated photo → profile → pack, all by the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.calibrate.conftest import photo_of
from tests.calibrate.simulate import DEVICES, SCENES
from tests.pack.conftest import glasswork


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One film of the strip, printed and photographed by the simulation."""
    folder = tmp_path_factory.mktemp("photo")
    path = folder / "photo.jpg"
    path.write_bytes(photo_of(DEVICES[0], SCENES[0], 1))
    return path


@pytest.fixture(scope="module")
def profile(photo: Path) -> Path:
    path = photo.parent / "mine.toml"
    words = [f"{photo}:1", "-o", str(path), "--light", SCENES[0].light]
    words += ["--report", str(photo.parent / "r.png"), "--marked", str(photo.parent / "m.png")]
    words += ["--cgats", str(photo.parent / "r.txt")]
    done = glasswork("calibrate", *words)
    assert done.returncode == 0, done.stderr
    assert "cross-validated, one film: mean ΔE00" in done.stdout
    for name in ("r.png", "m.png", "r.txt"):
        assert (photo.parent / name).stat().st_size > 1000
    return path


def test_a_photo_becomes_a_profile_that_composes(profile: Path, tmp_path: Path) -> None:
    text = profile.read_text("utf-8")
    assert "sha256" in text
    assert "invented = false" in text
    done = glasswork(
        *("compose", "sample_designs/pilot-station.svg", "--printer", str(profile)),
        *("-o", str(tmp_path / "pack"), "--json"),
    )
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    assert report["panes"]


def test_the_profile_holds_against_its_own_reading(profile: Path, photo: Path) -> None:
    done = glasswork("calibrate", str(photo), "--check", str(profile), "--light", SCENES[0].light)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "the profile holds" in done.stdout


def test_a_failed_fit_never_overwrites(profile: Path, tmp_path: Path) -> None:
    before = profile.read_bytes()
    wrong = tmp_path / "wrong.png"
    wrong.write_bytes(
        Path(__file__).parents[2].joinpath("sample_designs/heron-sketch.png").read_bytes()
    )
    done = glasswork("calibrate", str(wrong), "-o", str(profile))
    assert done.returncode == 1
    assert done.stderr.startswith("error: wrong.png")
    assert profile.read_bytes() == before


@pytest.mark.parametrize("words", [["a.jpg"], ["a.jpg", "-o", "x.toml", "--check", "y"], []])
def test_wrong_usage(words: list[str]) -> None:
    assert glasswork("calibrate", *words).returncode == 2


@pytest.mark.parametrize(
    ("words", "pages"), [([], 1), (["--films", "2"], 2), (["--quick"], 1), (["--by-eye"], 1)]
)
@pytest.mark.parametrize("page", ["a4", "letter"])
def test_strips_are_written(tmp_path: Path, words: list[str], pages: int, page: str) -> None:
    import pypdfium2

    path = tmp_path / "strip.pdf"
    done = glasswork("strip", "-o", str(path), "--page", page, *words)
    assert done.returncode == 0, done.stderr
    document = pypdfium2.PdfDocument(path)
    assert len(document) == pages
    width = {"a4": 210.0, "letter": 215.9}[page]
    assert document[0].get_size()[0] * 25.4 / 72 == pytest.approx(width, abs=0.01)


def test_reach_writes_picture_and_data(tmp_path: Path) -> None:
    done = glasswork("reach", "-o", str(tmp_path / "reach.png"))
    assert done.returncode == 0, done.stderr
    assert "ruby" in done.stdout
    assert (tmp_path / "reach.png").read_bytes().startswith(b"\x89PNG")
    assert glasswork("reach", "-o", str(tmp_path / "reach.json")).returncode == 0
    assert json.loads((tmp_path / "reach.json").read_text())["glasses"]


def test_lights_are_ranked_and_agree_with_the_reach_of_each(tmp_path: Path) -> None:
    done = glasswork("reach", "--lights", "-o", str(tmp_path / "unused.png"))
    assert done.returncode == 0, done.stderr
    rows = [line.split() for line in done.stdout.splitlines()[1:]]
    figures = {row[0]: [float(value) for value in row[1:4]] for row in rows}
    assert {"led-b1", "led-b3", "led-v2", "d65"} <= set(figures)
    best = [min(means) for means in figures.values()]
    assert best == sorted(best)
    path = tmp_path / "reach.json"
    assert glasswork("reach", "--light", "led-b1", "-o", str(path)).returncode == 0
    glasses = json.loads(path.read_text())["glasses"]
    for k, mean in enumerate(figures["led-b1"]):
        told = sum(glass["delta_e00"][k] for glass in glasses) / len(glasses)
        assert mean == pytest.approx(told, abs=0.01)
    assert not (tmp_path / "unused.png").exists()
