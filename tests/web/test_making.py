"""Colours from a picture, painted shading, printing and the light box, set in a real browser."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pypdfium2
from PIL import Image

from tests.web.browser import Server, begin, begin_small, needs_browser, save_zip, shot
from tests.web.test_frame_step import put

pytestmark = needs_browser


def written(page: Any, project: Path, *lines: str) -> None:
    """Wait until the project on disk holds the lines."""
    for _ in range(600):
        text = project.read_text("utf-8")
        if all(line in text for line in lines):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{lines} are not all in:\n{text}")


def test_panes_take_their_glass_from_a_picture(page: Any, server: Server, tmp_path: Path) -> None:
    """The left half of the picture is red, the right half blue."""
    address = begin(page, server, step="glass")
    page.click("summary:has-text('Colours from a picture')")
    grey = tmp_path / "grey.png"
    Image.new("L", (60, 90), 128).save(grey)
    page.set_input_files("#up-photo", grey)
    page.wait_for_function("/no colours/.test(document.getElementById('said-photo').textContent)")
    halves = Image.new("RGB", (200, 300), (178, 18, 45))
    halves.paste((29, 63, 148), (100, 0, 200, 300))
    painted = tmp_path / "two halves.png"
    halves.save(painted)
    page.set_input_files("#up-photo", painted)
    page.wait_for_selector("#photo-now")
    shot(page, "glass-from-picture")
    put(page, "#set-matting", "0.4")
    project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
    written(page, project, "matting = 0.4", "two-halves.png")
    report = json.loads(save_zip(page, address).read("pack/report.json"))
    middle = report["size_mm"][0] / 2
    sides = {
        side: {
            pane["glass"]
            for pane in report["panes"]
            if (pane["seed_point_mm"][0] < middle) == (side == "left")
            and abs(pane["seed_point_mm"][0] - middle) > 20.0
        }
        for side in ("left", "right")
    }
    assert len(sides["left"]) == len(sides["right"]) == 1
    assert sides["left"] != sides["right"]
    page.goto(f"{address}/glass")
    page.get_by_role("button", name="Without the picture").click()
    page.wait_for_selector("#photo-now", state="detached")
    page.wait_for_selector("svg.window")
    assert "photo" not in project.read_text()


def test_printing_and_light_box(page: Any, server: Server) -> None:
    address = begin_small(page, server, step="pack")
    page.select_option("#set-ink-faces", "together")
    put(page, "#set-copies", "2")
    put(page, "#set-light-depth", "45")
    put(page, "#set-supply", "dark")
    page.wait_for_function("/supply/.test(document.getElementById('status').textContent)")
    put(page, "#set-supply", "12")
    project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
    lines = ('ink_faces = "together"', "copies = 2", "light_depth = 45.0", "supply = 12.0")
    written(page, project, *lines)
    pack = save_zip(page, address)
    shot(page, "pack-making")
    report = json.loads(pack.read("pack/report.json"))
    assert report["light"]["depth_mm"] == 45.0
    pages = report["films"]["pages"]
    assert {page["copy"] for page in pages} == {1, 2}
    assert {page["mirrored"] for page in pages} == {True, False}


def test_films_of_two_projects_share_a_sheet(page: Any, server: Server) -> None:
    addresses = []
    for sample in ("pilot-station", "salt-works"):
        addresses.append(address := begin(page, server, sample))
        put(page, "#set-width", "60")
        project = server.home / "projects" / address.rsplit("/", 1)[1] / "project.toml"
        written(page, project, "width = 60.0")
    page.goto(server.address)
    page.click("#together summary")
    page.click("#gang")
    page.wait_for_selector("#ganged >> text=tick two or more")
    for address in addresses:
        page.check(f"[data-gang='{address.rsplit('/', 1)[1]}']")
    page.click("#gang")
    with page.expect_download() as waiting:
        page.click("#save-films")
    shot(page, "start-together")
    lines = page.locator("#ganged li").all_inner_texts()
    assert sorted(lines) == [
        "page 1: Pilot station, film 1",
        "page 1: Pilot station, film 2",
        "page 1: Salt works, film 1",
        "page 1: Salt works, film 2",
    ]
    sheet = pypdfium2.PdfDocument(io.BytesIO(Path(waiting.value.path()).read_bytes()))
    assert len(sheet) == 1
    words = sheet[0].get_textpage().get_text_bounded()
    assert "pilot-station" in words
    assert "salt-works" in words
