"""The Printer step beyond the fit: readings and ICC saved, tones by eye, drift, each in a browser.

Photos and what the eye finds come from the independent chain of tests/calibrate/simulate.py.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import ImageCms

from glasswork.readers.cgats import read_cgats
from glasswork.readers.printer import read_printer
from glasswork.writers.profile import write_profile
from tests.web.browser import ROOT, Server, begin_small, get, needs_browser, post, shot

pytest.importorskip("colour")
from tests.calibrate import simulate
from tests.calibrate.chain import fitted, spectral_readings
from tests.calibrate.conftest import SIZE
from tests.calibrate.test_byeye import matched as seen_by_eye
from tests.web.test_session import READINGS

DEVICE, SCENE = simulate.DEVICES[0], simulate.SCENES[0]
QUICK_BLOCK = (10.0, 12.0, 200.0, 79.0)
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
    b'<g fill="none" stroke="#000"><path d="M2 2H38V38H2Z" stroke-width="3"/></g></svg>'
)


def saved(page: Any, name: str) -> tuple[bytes, str]:
    """What a button saves, and the name the browser was told."""
    with page.expect_download(timeout=240_000) as waiting:
        page.get_by_role("button", name=name, exact=True).click()
    return Path(waiting.value.path()).read_bytes(), str(waiting.value.suggested_filename)


def narrow_shot(page: Any, name: str) -> None:
    """Pictures at two widths; nothing stands out at either side of the narrow one."""
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        shot(page, f"{name}-{width}")
    page.set_viewport_size({"width": 1440, "height": 1000})


@needs_browser
def test_readings_are_saved_as_cgats_text(page: Any, server: Server, tmp_path: Path) -> None:
    begin_small(page, server, step="printer")
    strip, _ = saved(page, "Save the strip")
    assert page.get_by_role("button", name="Save the readings").count() == 0
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(simulate.photograph(strip, DEVICE, SCENE, seed=1))
    page.select_option("#strip-films", "2")
    page.select_option("#strip-films", "1")
    page.set_input_files("#up-strip", photo)
    page.wait_for_selector("text=Read of 1 film")
    narrow_shot(page, "printer-read")
    data, name = saved(page, "Save the readings (CGATS text)")
    assert name == "readings.txt"
    lines = data.decode("ascii").split("\r\n")
    assert lines[0] == "CGATS.17"
    rows = lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]
    assert f"NUMBER_OF_SETS {len(rows)}" in lines
    assert f"Read of 1 film: {len(rows)} patches" in page.inner_text("#main")
    readings = read_cgats(data, where=name)
    assert readings.films == 1
    bare = readings.values[(readings.device == 1.0).all(axis=1)]
    assert np.abs(bare - 1.0).max() < 0.05  # bare film is what all else is relative to


@needs_browser
def test_a_file_dropped_goes_with_the_number_of_films_chosen(page: Any, server: Server) -> None:
    begin_small(page, server, step="printer")
    page.select_option("#strip-films", "2")
    page.evaluate(
        """text => {
          const held = new DataTransfer();
          held.items.add(new File([text], "two.csv"));
          const place = document.getElementById("up-strip").closest(".drop");
          place.dispatchEvent(new DragEvent("drop", { dataTransfer: held, bubbles: true }));
        }""",
        READINGS.decode(),
    )
    page.wait_for_selector("text=Read of 2 films: 3 patches")


@needs_browser
def test_icc_profiles_are_opened_by_another_program(page: Any, server: Server) -> None:
    """LittleCMS (through Pillow) opens each: white is the clear stack, more films are darker."""
    begin_small(page, server, step="printer")
    data, name = saved(page, "Save ICC profiles")
    assert name == "icc-profiles.zip"
    archive = zipfile.ZipFile(io.BytesIO(data))
    assert archive.namelist() == [f"dye-film-{films}.icc" for films in (1, 2, 3)]
    lab = ImageCms.createProfile("LAB")
    lightness = []
    for inside in archive.namelist():
        profile = ImageCms.ImageCmsProfile(io.BytesIO(archive.read(inside)))
        words = "1 film" if "-1" in inside else f"{inside[9]} films"
        assert words in ImageCms.getProfileDescription(profile)
        assert profile.profile.xcolor_space == "RGB "
        turned = ImageCms.buildTransform(
            profile, lab, "RGB", "LAB", ImageCms.Intent.RELATIVE_COLORIMETRIC
        )
        white, grey = (_through(turned, level) for level in (255, 128))
        assert white[0] == 255
        assert max(abs(white[1] - 128), abs(white[2] - 128)) <= 1
        lightness.append(grey[0])
    assert lightness == sorted(lightness, reverse=True)
    assert lightness[0] > lightness[2] + 20


def _through(turned: Any, level: int) -> tuple[int, int, int]:
    from PIL import Image

    turned_pixel = ImageCms.applyTransform(Image.new("RGB", (1, 1), (level,) * 3), turned)
    assert turned_pixel is not None
    found = np.frombuffer(turned_pixel.tobytes(), dtype=np.uint8).astype(np.int8)
    return int(found.view(np.uint8)[0]), int(found[1]) + 128, int(found[2]) + 128


@needs_browser
def test_tones_by_eye_become_the_profile_that_the_command_line_makes(
    page: Any, server: Server, tmp_path: Path
) -> None:
    address = begin_small(page, server, step="printer")
    sheet, name = saved(page, "Save the sheet")
    assert (sheet[:4], name) == (b"%PDF", "tones-by-eye.pdf")
    page.get_by_role("button", name="Make a profile of what the eye found").click()
    page.wait_for_selector("text=9 of 9 matches are missing")
    page.fill("#eye-cyan-25", "fourteen")
    page.press("#eye-cyan-25", "Tab")
    page.wait_for_function("/no number/.test(document.getElementById('status').textContent)")
    assert page.get_attribute("#eye-cyan-25", "aria-invalid") == "true"
    found = seen_by_eye(replace(DEVICE, gain=0.30))
    for row, step in found.items():
        page.fill(f"#eye-{row}", f"{step:g}".replace(".", ","))
        page.press(f"#eye-{row}", "Tab")
    page.wait_for_function("/all nine/.test(document.getElementById('status').textContent)")
    assert page.get_attribute("#eye-cyan-25", "aria-invalid") == "false"
    page.select_option("#eye-limit", "2.2")
    page.reload()
    page.wait_for_selector("#eye-cyan-50")
    assert page.input_value("#eye-cyan-50") == f"{found['cyan-50']:g}"
    assert page.input_value("#eye-limit") == "2.2"
    page.fill("#eye-name", "Loft printer")
    page.get_by_role("button", name="Make a profile of what the eye found").click()
    page.wait_for_selector("text=tones moved by up to")
    narrow_shot(page, "printer-eye")
    page.get_by_role("button", name="Use this profile by eye").click()
    page.wait_for_function("/loft/.test(document.getElementById('set-printer')?.value || '')")
    folder = server.home / "projects" / address.rsplit("/", 1)[1]
    made = (folder / "profiles" / "loft-printer.toml").read_bytes()
    profile = read_printer(made, where="loft-printer.toml")
    assert (profile.title, profile.ink_limit) == ("Loft printer", 2.2)
    subprocess.run(
        [
            *(sys.executable, "-m", "glasswork", "calibrate"),
            *(str(folder / "readings" / "eye.toml"), "--by-eye", "--former", "dye-film"),
            *("--title", "Loft printer", "-o", str(tmp_path / "loft-printer.toml")),
        ],
        check=True,
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": "1700000000"},
    )
    assert (tmp_path / "loft-printer.toml").read_bytes() == made
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("document.getElementById('set-printer').value == 'dye-film'")
    page.get_by_role("button", name="Redo").click()
    page.wait_for_function("/loft/.test(document.getElementById('set-printer').value)")


@needs_browser
def test_a_quick_strip_says_whether_the_profile_holds(
    page: Any, server: Server, tmp_path: Path
) -> None:
    """The same simulated printer holds; with a third less of every ink it does not."""
    address = begin_small(page, server, step="printer")
    folder = server.home / "projects" / address.rsplit("/", 1)[1]
    (folder / "profiles").mkdir()
    mine = fitted([spectral_readings(DEVICE)], SCENE.light).profile
    mine = replace(mine, title="Invented inks")
    (folder / "profiles" / "mine.toml").write_bytes(write_profile(mine))
    page.reload()
    page.select_option("#set-printer", "profiles/mine.toml")
    page.wait_for_selector("td:has-text('Invented inks')")
    strip, name = saved(page, "Save the quick strip")
    assert (strip[:4], name) == (b"%PDF", "quick-strip.pdf")
    weak = replace(
        DEVICE,
        inks=tuple(tuple((at, a, b, 0.67 * d) for at, a, b, d in ink) for ink in DEVICE.inks),
    )
    for device, says in ((DEVICE, "The profile holds."), (weak, "no longer holds")):
        photo = tmp_path / "quick.jpg"
        scene = SCENE.but(size=SIZE)
        photo.write_bytes(simulate.photograph(strip, device, scene, block_mm=QUICK_BLOCK))
        page.select_option("#strip-films", "3")  # of the other photo, and none of this one's
        page.set_input_files("#up-check", photo)
        page.wait_for_selector(f"#drift-said:has-text('{says}')")
        page.wait_for_function("[...document.images].every(i => i.complete && i.naturalWidth > 9)")
    assert "thinner than it did" in page.inner_text("#drift-said")
    narrow_shot(page, "printer-drift")
    page.set_input_files("#up-check", ROOT / "sample_designs" / "heron-sketch.png")
    page.wait_for_function("/sketch/.test(document.getElementById('said-check').textContent)")
    page.wait_for_function(
        "document.getElementById('said-check').textContent.startsWith('heron-sketch.png: ')"
    )
    page.select_option("#set-printer", "dye-film")
    page.wait_for_selector("#drift-said", state="detached")


@pytest.mark.parametrize(
    ("body", "headers", "status", "says"),
    [
        (b"no readings", {}, 400, "quick.csv"),
        (b"", {}, 400, "the file is empty"),
        (b"x" * (48 * 1024 * 1024 + 1), {}, 400, "over the limit of 48 MiB"),
        (b"x", {"Origin": "http://evil.example"}, 403, "another site"),
    ],
    ids=["no readings", "empty", "too large", "from elsewhere"],
)
def test_bad_strips_are_refused(
    server: Server, body: bytes, headers: dict[str, str], status: int, says: str
) -> None:
    project = post(server, "/up/drawing", SVG)[1]["go"].split("/")[2]
    answer, told = post(server, f"/up/{project}/check", body, name="quick.csv", **headers)
    assert answer == status
    assert says in told["fault"]
    assert get(server, f"/file/{project}/check.png")[0] == 404
    assert not (server.home / "projects" / project / "readings").exists()
