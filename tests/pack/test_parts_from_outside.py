"""A window larger than its page: the films' parts as two other programs render them, cut out along
their trim and laid together, are the whole film of a page that is large enough."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.pack.conftest import PX_PER_MM, Made, compose, glasswork

LARGE = 'name = "plotter"\ntitle = "plotter"\nwidth_mm = 420\nheight_mm = 594\n'
SIZE = ("--width", "230")


@pytest.fixture(scope="module")
def parted(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("parts")
    return compose(folder / "p", "sample_designs/pilot-station.svg", *SIZE,
                   "--ink-faces", "together")  # fmt: skip


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("whole")
    (folder / "plotter.toml").write_text(LARGE)
    return compose(folder / "w", "sample_designs/pilot-station.svg", *SIZE,
                   "--page", str(folder / "plotter.toml"))  # fmt: skip


def _matrix(affine: list[float]) -> np.ndarray:
    """Panel mm to pixels of a page."""
    a, b, c, d, e, f = affine
    return np.array([(a, c, e), (b, d, f)]) * PX_PER_MM


def _on_panel(page: np.ndarray, affine: list[float], size: tuple[int, int]) -> np.ndarray:
    """A page seen from the panel, 5 pixels a mm, 20 mm of room round it."""
    to_page = np.vstack([_matrix(affine), (0, 0, 1)])
    to_panel = np.array([(0.2, 0, -20), (0, 0.2, -20), (0, 0, 1)])
    return cv2.warpAffine(
        page, (to_page @ to_panel)[:2], size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderValue=(255, 255, 255),
    )  # fmt: skip


def _canvas(made: Made) -> tuple[int, int]:
    width, height = made.report["size_mm"]
    return (round((width + 40) * 5), round((height + 40) * 5))


def _trim(page: dict) -> np.ndarray:
    return ((np.array(page["trim_mm"]) + 20.0) * 5.0).astype(np.float32)


@pytest.mark.parametrize("reader", ["poppler", "pdfium"])
def test_parts_laid_together_are_the_film(parted: Made, whole: Made, reader: str) -> None:
    size = _canvas(parted)
    for film in (1, 2):
        joined = np.full((size[1], size[0], 3), 255, np.uint8)
        pages = [p for p in parted.report["films"]["pages"] if p["film"] == film]
        assert len(pages) == pages[0]["parts"] > 1
        for page in pages:
            seen = _on_panel(getattr(parted, reader)[page["page"] - 1], page["panel_to_page_mm"],
                             size)  # fmt: skip
            mask = np.zeros(joined.shape[:2], np.uint8)
            cv2.fillPoly(mask, [np.round(_trim(page)).astype(np.int32)], 255)
            joined = np.where(mask[..., None] > 0, np.minimum(joined, seen), joined)
        one = next(p for p in whole.report["films"]["pages"] if p["film"] == film)
        wanted = _on_panel(getattr(whole, reader)[one["page"] - 1], one["panel_to_page_mm"], size)
        inside = np.zeros(joined.shape[:2], np.uint8)
        for pane in parted.report["panes"]:  # round each pane's middle, not under the leads
            x, y = ((np.array(pane["seed_point_mm"]) + 20.0) * 5.0).round().astype(int)
            cv2.circle(inside, (int(x), int(y)), 6, 255, -1)
        off = np.abs(joined.astype(int) - wanted)[inside > 0]
        assert off.max() <= 2
        everywhere = np.abs(joined.astype(int) - wanted).max(axis=2) > 40
        assert everywhere.mean() < 0.02


def test_joints_lie_under_cut_leads(parted: Made) -> None:
    """Where two parts lie over each other the front frame stands, as its file cuts it."""
    from glasswork.verify import finished

    (frame,) = (f for f in parted.report["frames"] if f["file"] == "frames/front-inner.svg")
    data = (parted.folder / frame["file"]).read_bytes()
    a, b, c, d, e, f = frame["panel_to_file_mm"]
    size = _canvas(parted)
    board = np.zeros((size[1], size[0]), np.uint8)
    for region in finished(data, kerf_mm=frame["kerf_mm"]).regions():
        rings = []
        for ring in region.rings:
            points = np.linalg.solve([[a, c], [b, d]], (np.array(ring) - (e, f)).T).T
            rings.append(np.round((points + 20.0) * 5.0).astype(np.int32))
        cv2.fillPoly(board, rings, 255)
    board = cv2.dilate(board, np.ones((3, 3), np.uint8))
    pages = [p for p in parted.report["films"]["pages"] if p["film"] == 1]
    overlaps = 0
    for one, other in combinations(pages, 2):
        masks = []
        for page in (one, other):
            mask = np.zeros(board.shape, np.uint8)
            cv2.fillPoly(mask, [np.round(_trim(page)).astype(np.int32)], 255)
            masks.append(mask)
        both = (masks[0] & masks[1]) > 0
        overlaps += int(both.any())
        bare = both & (board == 0)
        width, height = parted.report["size_mm"]
        panel = bare[100 : 100 + round(height * 5), 100 : 100 + round(width * 5)]
        assert panel.sum() / 25.0 < 0.5  # mm²
    assert overlaps >= len(pages) - 1


def test_verify_and_the_findings_know_parts(parted: Made) -> None:
    told = {check["check"]: check for check in parted.report["verified"]}
    assert told["parts of film 1 cover it"]["ok"]
    assert told["panes on parts of film 2"]["ok"]
    assert all(check["ok"] for check in told.values())
    (finding,) = (f for f in parted.report["findings"] if "printed in" in f["what"])
    assert finding["severity"] == "note"
    assert "joined under the leads" in finding["what"]
    count = parted.report["films"]["pages"][0]["parts"]
    for n in range(1, count + 1):
        assert (parted.folder / f"films-trim-{n}.svg").is_file()
    assert not (parted.folder / f"films-trim-{count + 1}.svg").exists()


def test_a_part_moved_on_its_page_is_found(parted: Made, tmp_path: Path) -> None:
    import json
    import shutil

    copy = tmp_path / "altered"
    shutil.copytree(parted.folder, copy)
    report = json.loads((copy / "report.json").read_text("utf-8"))
    report["films"]["pages"][1]["panel_to_page_mm"][4] += 0.5
    (copy / "report.json").write_text(json.dumps(report))
    done = glasswork("verify", str(copy))
    assert done.returncode == 1
    assert "film against film" in done.stderr


def test_a_page_too_small_for_any_division_is_an_error(tmp_path: Path) -> None:
    slip = tmp_path / "slip.toml"
    slip.write_text('name = "slip"\ntitle = "slip"\nwidth_mm = 80\nheight_mm = 90\n')
    done = glasswork("compose", "sample_designs/pilot-station.svg", "--page", str(slip),
                     "-o", str(tmp_path / "p"))  # fmt: skip
    assert done.returncode == 1
    assert "larger than the" in done.stderr
    assert "choose a smaller width or scale, or a larger page" in done.stderr
    assert not (tmp_path / "p").exists()
