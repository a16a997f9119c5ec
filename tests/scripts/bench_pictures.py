"""Make the README's pictures of the bench page anew, in Debian's Chromium.

python -m tests.scripts.bench_pictures
"""

from __future__ import annotations

import io
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

from tests.web.browser import begin, browsing, serving

PICTURES = Path(__file__).parents[2] / "sample_designs" / "pictures"
VIEW = {"width": 1280, "height": 860}
SURFACES_THERE = (
    "Promise.all([...document.querySelectorAll('svg.window image')].map(i => i.decode()))"
)
RECESS_MM = "10"


def _save(page: Any, name: str) -> None:
    """What is seen of the page, in 256 colours: a third of the bytes."""
    page.evaluate("document.activeElement.blur()")
    page.evaluate("document.fonts.ready")
    page.wait_for_timeout(500)  # the glow on the wall is drawn in a frame of its own
    seen = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    few = seen.quantize(256, method=Image.Quantize.MAXCOVERAGE, kmeans=1)
    dithered = seen.quantize(palette=few, dither=Image.Dither.FLOYDSTEINBERG)
    dithered.save(PICTURES / f"{name}.png", optimize=True)


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as home,
        serving(Path(home)) as server,
        browsing(viewport=VIEW) as context,
    ):
        page = context.new_page()
        address = begin(page, server, "ferry-house")
        page.goto(f"{address}/glass")
        page.wait_for_selector("svg.window")
        page.select_option("#set-finish", "palette")
        page.wait_for_selector(".coats [data-coat]", state="attached")
        page.wait_for_selector("tr.now", state="attached")
        page.evaluate(SURFACES_THERE)
        page.evaluate("window.scrollTo(0, 0)")
        _save(page, "bench-glass")
        page.goto(f"{address}/frame")
        page.wait_for_selector("svg.exploded")
        page.fill("#set-recess", RECESS_MM)
        page.press("#set-recess", "Tab")
        page.wait_for_selector("text=recess 10 mm deep")
        page.evaluate("window.scrollTo(0, 0)")
        _save(page, "bench-frame")


if __name__ == "__main__":
    main()
