"""Where panes get their glass: a photo below, a map that outlives an edit."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from PIL import Image

from tests.pack.conftest import glasswork

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
FRAME = '<path d="M2 2H58V78H2Z" fill="none" stroke="#000" stroke-width="3"/>'


def _composed(folder: Path, *words: str) -> dict[str, str]:
    """Pane id to glass, in reading order."""
    done = glasswork("compose", *words, "-o", str(folder / "pack"), "--json")
    assert done.returncode == 0, done.stderr
    return {pane["id"]: pane["glass"] for pane in json.loads(done.stdout)["panes"]}


def test_panes_take_the_glass_of_the_photo_below(tmp_path: Path) -> None:
    drawing, photo = tmp_path / "d.svg", tmp_path / "photo.png"
    drawing.write_text(f'{HEAD}{FRAME}<path d="M2 40H58" stroke="#000" stroke-width="1"/></svg>')
    pixels = np.zeros((160, 120, 3), np.uint8)
    pixels[:80], pixels[80:] = (0xA4, 0x16, 0x1F), (0x21, 0x3F, 0x93)
    Image.fromarray(pixels).save(photo)
    glass = _composed(tmp_path, str(drawing), "--photo", str(photo))
    assert list(glass.values()) == ["ruby", "cobalt"]
    again = _composed(tmp_path, "--project", str(tmp_path / "pack" / "project.toml"))
    assert again == glass


def test_a_grey_photo_is_refused(tmp_path: Path) -> None:
    drawing, photo = tmp_path / "d.svg", tmp_path / "photo.png"
    drawing.write_text(f"{HEAD}{FRAME}</svg>")
    Image.new("L", (80, 80), 128).save(photo)
    done = glasswork("compose", str(drawing), "--photo", str(photo), "-o", str(tmp_path / "p"))
    assert done.returncode == 1
    assert "no colours" in done.stderr


def test_a_pane_map_follows_a_small_edit(tmp_path: Path) -> None:
    first, edited = tmp_path / "a.svg", tmp_path / "b.svg"
    first.write_text(f'{HEAD}{FRAME}<path d="M2 40H58" stroke="#000" stroke-width="1"/></svg>')
    upper = next(iter(_composed(tmp_path, str(first))))
    edited.write_text(
        f'{HEAD}{FRAME}<g fill="none" stroke="#000"><path d="M2 43H58M30 43V78"/></g></svg>'
    )
    (tmp_path / "p.toml").write_text(f'design = "b.svg"\n[glass]\n{upper} = "ruby"\n')
    glass = _composed(tmp_path, "--project", str(tmp_path / "p.toml"))
    assert next(iter(glass.values())) == "ruby"
    assert len(glass) == 3
