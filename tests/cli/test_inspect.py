"""inspect: findings with their places, a marked picture, a mended drawing."""

from __future__ import annotations

import base64
from pathlib import Path

from tests.pack.conftest import glasswork

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
FRAME = '<path d="M2 2H58V78H2Z" fill="none" stroke="#000" stroke-width="3"/>'
SHORT = '<path d="M30 3V39" stroke="#000" stroke-width="1"/>'
BAR = '<path d="M2 40H58" stroke="#000" stroke-width="0.6"/>'


def test_a_near_miss_is_found_marked_and_mended(tmp_path: Path) -> None:
    drawing, mended = tmp_path / "d.svg", tmp_path / "mended.svg"
    drawing.write_text(f"{HEAD}{FRAME}{SHORT}{BAR}</svg>")
    seen = glasswork("inspect", str(drawing), "--marked", str(tmp_path / "m.png"))
    assert seen.returncode == 0, seen.stderr
    assert "at (29.5, 38.5) mm" in seen.stdout
    assert "0.60 mm wide, 1 mm can be cut" in seen.stdout
    assert "2 panes" in seen.stdout
    assert (tmp_path / "m.png").read_bytes().startswith(b"\x89PNG")
    before = drawing.read_bytes()
    done = glasswork("inspect", str(drawing), "--repair", str(mended))
    assert "repaired: a line is drawn on" in done.stdout
    assert "3 panes" in done.stdout
    assert drawing.read_bytes() == before, "the drawing itself is left alone"
    assert "3 panes" in glasswork("inspect", str(mended)).stdout


def test_what_makes_no_window_is_said(tmp_path: Path) -> None:
    drawing = tmp_path / "d.svg"
    drawing.write_text(f"{HEAD}{SHORT}</svg>")
    done = glasswork("inspect", str(drawing))
    assert done.returncode == 1
    assert "no window can be made of it" in done.stdout


def test_an_embedded_picture_is_read_when_asked_for(tmp_path: Path) -> None:
    sample = Path(__file__).parents[2] / "sample_designs" / "heron-sketch.png"
    held = base64.b64encode(sample.read_bytes()).decode()
    image = f'<image width="60" height="76" href="data:image/png;base64,{held}"/>'
    drawing = tmp_path / "d.svg"
    drawing.write_text(f"{HEAD}{image}</svg>")
    assert glasswork("inspect", str(drawing)).returncode == 1
    done = glasswork("inspect", str(drawing), "--embedded")
    assert done.returncode == 0, done.stderr
    assert "26 panes" in done.stdout


def test_list_names_what_there_is() -> None:
    done = glasswork("list")
    for word in ("harbour", "dye-film", "led-b3", "chipboard-2", "laser", "a4", "pilot-station"):
        assert word in done.stdout
    assert "(invented)" in glasswork("list", "printers").stdout
