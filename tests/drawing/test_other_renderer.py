"""The leads against another renderer's picture of the same drawing.

The drawings are public-domain clip art of many hands: Debian's package openclipart-svg, fetched in
CI by apt. The files were taken from every ninth of the package, across its folders; left out are
those where a window is by intent not what is drawn (parts outside the outline, no dark line) and
those whose lines are too thin for the picture's pixels. tests/scripts/openclipart.py runs them all.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.drawing.make import drawn_window
from glasswork.readers.svg import read_svg
from tests.drawing.other_renderer import agrees
from tests.drawing.tiling import tiling_error

pytest.importorskip("resvg_py")
CLIP_ART = Path("/usr/share/openclipart/svg")
FILES = (Path(__file__).parent / "openclipart_files.txt").read_text("utf-8").split()


def test_there_are_enough_of_them() -> None:
    assert len(set(FILES)) >= 150
    assert len({name.split("/")[0] for name in FILES}) >= 12


@pytest.mark.skipif(not CLIP_ART.is_dir(), reason="apt install openclipart-svg")
@pytest.mark.parametrize("name", FILES)
def test_leads_are_what_the_other_renderer_draws_dark(name: str) -> None:
    data = (CLIP_ART / name).read_bytes()
    art = read_svg(data, name=name)
    window, _ = drawn_window(art, roles={})
    assert agrees(data, art, window, 0.98)
    assert tiling_error(window) < 1e-6
