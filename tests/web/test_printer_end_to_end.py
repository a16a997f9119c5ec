"""Strip, simulated photo, profile, pack: the printer step in a real browser.

The photo is made by the independent chain of tests/calibrate/simulate.py: an invented printer,
film and camera, colour-science's observer and LED tables.
"""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Server, begin_small, needs_browser, shot

pytestmark = needs_browser


def test_strip_photo_profile_pack(page: Any, server: Server, tmp_path: Path) -> None:
    pytest.importorskip("colour")
    from tests.calibrate import simulate

    address = begin_small(page, server, step="printer")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the strip").click()
    strip = Path(waiting.value.path()).read_bytes()
    assert strip.startswith(b"%PDF")
    device, scene = simulate.DEVICES[0], simulate.SCENES[0]
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(
        simulate.photograph(
            strip, device, scene, films=1, block_mm=(10.0, 20.5, 200.0, 168.5), seed=1
        )
    )
    page.set_input_files("#up-strip", photo)
    page.wait_for_selector("text=Read of 1 film")
    page.wait_for_function("[...document.images].every(i => i.complete && i.naturalWidth > 100)")
    page.fill("#profile-name", "Salt store printer")
    page.get_by_role("button", name="Fit a profile").click()
    page.get_by_role("button", name="Use this profile").wait_for(timeout=180_000)
    assert "foretells" in page.inner_text("#main")
    page.wait_for_function("[...document.images].every(i => i.complete && i.naturalWidth > 100)")
    shot(page, "printer-fitted")
    page.get_by_role("button", name="Use this profile").click()
    page.wait_for_function("/profiles/.test(document.getElementById('set-printer')?.value || '')")
    page.goto(f"{address}/pack")
    page.get_by_role("button", name="Make").click()
    with page.expect_download(timeout=120_000) as waiting:
        page.click("#save-zip", timeout=120_000)
    archive = zipfile.ZipFile(io.BytesIO(Path(waiting.value.path()).read_bytes()))
    assert "profiles/salt-store-printer.toml" in archive.namelist()
    assert b"salt-store-printer" in archive.read("project.toml")
    report = json.loads(archive.read("pack/report.json"))
    assert all(check["ok"] for check in report["verified"])


def test_a_picture_that_is_no_strip_is_refused_in_words(
    page: Any, server: Server, root: Path
) -> None:
    begin_small(page, server, step="printer")
    page.set_input_files("#up-strip", root / "sample_designs" / "heron-sketch.png")
    page.wait_for_function("document.getElementById('said-strip').textContent.length > 30")
    assert "Read of" not in page.inner_text("#main")
