"""Make the README's pictures of the samples anew, through the command line.

python -m tests.scripts.pictures
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_designs"
PICTURES = SAMPLES / "pictures"
IN_A_ROW = ("ferry-house", "kelp-rose", "salt-works", "heron-sketch")
ROW_PX, ALONE_PX, FILMS_PX = 460, 560, 960
QUALITY = 88


def _glasswork(*words: str) -> None:
    subprocess.run([sys.executable, "-m", "glasswork", *words], cwd=ROOT, check=True)


def _save(picture: Image.Image, name: str) -> None:
    picture.save(PICTURES / f"{name}.jpg", quality=QUALITY, optimize=True)


def _scaled(path: Path, *, width: int = 0, height: int = 0) -> Image.Image:
    picture = Image.open(path).convert("RGB")
    width = width or round(picture.width * height / picture.height)
    height = height or round(picture.height * width / picture.width)
    return picture.resize((width, height), Image.Resampling.LANCZOS)


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
        whole = Image.new("RGB", (sum(one.width for one in row), ROW_PX))
        left = 0
        for one in row:
            whole.paste(one, (left, 0))
            left += one.width
        _save(whole, "samples-lit")
        films = packs / "films.png"
        words = ("--view", "films", "-o", str(films))
        _glasswork("preview", "sample_designs/pilot-station.svg", *words)
        _save(_scaled(films, width=FILMS_PX), "films")


if __name__ == "__main__":
    main()
