"""Make the README's pictures anew, through the command line.

python -m tests.scripts.pictures; `bench_pictures` makes those of the bench page.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from io import BytesIO
from pathlib import Path

import cairosvg
from PIL import Image

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_designs"
PICTURES = SAMPLES / "pictures"
IN_A_ROW = ("ferry-house", "kelp-rose", "salt-works", "heron-sketch")
ROW_PX, ALONE_PX, FILMS_PX = 460, 560, 960
QUALITY = 88
DRAWN = (
    "equilateral --lights 2 --tracery quatrefoil --width 120 --height 175 --colours tide",
    "lancet --lights 3 --tracery intersecting --width 110 --height 175 --colours dusk",
    "rose --petals 12 --rings 3 --diameter 175 --colours tide",
    "ogee --pattern honeycomb --width 110 --height 175 --colours reeds",
    "casement --lights 2 --pattern brick --roundel quatrefoil --transoms 1 --width 110 "
    "--height 175 --colours salt",
    "four-centred --lights 3 --pattern rectangular --bars 2 --width 110 --height 175 --seed 4",
)
"""Windows from measures, left to right, all as high."""
DRAWN_PX, EDGE_PX, PAPER = 306, 17, "#faf7f0"


def _glasswork(*words: str) -> None:
    subprocess.run([sys.executable, "-m", "glasswork", *words], cwd=ROOT, check=True)


def _save(picture: Image.Image, name: str) -> None:
    picture.save(PICTURES / f"{name}.jpg", quality=QUALITY, optimize=True)


def _scaled(path: Path, *, width: int = 0, height: int = 0) -> Image.Image:
    picture = Image.open(path).convert("RGB")
    width = width or round(picture.width * height / picture.height)
    height = height or round(picture.height * width / picture.width)
    return picture.resize((width, height), Image.Resampling.LANCZOS)


def _in_a_row(pictures: list[Image.Image], *, edge_px: int = 0) -> Image.Image:
    """Pictures of one height side by side on paper, with paper about each."""
    wide = sum(one.width + edge_px for one in pictures) + edge_px
    whole = Image.new("RGB", (wide, pictures[0].height + 2 * edge_px), PAPER)
    left = edge_px
    for one in pictures:
        whole.paste(one, (left, edge_px), one if one.mode == "RGBA" else None)
        left += one.width + edge_px
    return whole


def _drawn(folder: Path) -> Image.Image:
    """The windows from measures in a row."""
    seen = []
    for number, words in enumerate(DRAWN):
        drawing = folder / f"drawn-{number}.svg"
        _glasswork("draw", *words.split(), "-o", str(drawing))
        data = cairosvg.svg2png(bytestring=drawing.read_bytes(), output_height=DRAWN_PX)
        seen.append(Image.open(BytesIO(data)).convert("RGBA"))
    return _in_a_row(seen, edge_px=EDGE_PX)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        packs = Path(folder)
        for name in (*IN_A_ROW, "pilot-station"):
            _glasswork(
                "compose", "--project", f"sample_designs/{name}.toml", "-o", f"{packs}/{name}"
            )
        for view in ("lit", "unlit", "back"):
            found = _scaled(packs / "pilot-station" / f"preview-{view}.png", width=ALONE_PX)
            _save(found, f"pilot-station-{view}")
        row = [_scaled(packs / name / "preview-lit.png", height=ROW_PX) for name in IN_A_ROW]
        _save(_in_a_row(row), "samples-lit")
        films = packs / "films.png"
        words = ("--view", "films", "-o", str(films))
        _glasswork("preview", "sample_designs/pilot-station.svg", *words)
        _save(_scaled(films, width=FILMS_PX), "films")
        _save(_drawn(packs), "drawn")
        finishes = packs / "finishes.png"
        _glasswork("finishes", "sea-glass", "-o", str(finishes))
        _save(Image.open(finishes), "finishes")


if __name__ == "__main__":
    main()
