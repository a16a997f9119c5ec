"""Packs composed once a session, each by the command line in its own process.

Samples are composed by processes that begin with nothing; other commands by copies of one that has
the libraries loaded, see tests/commands.py.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.commands import run

ROOT = Path(__file__).parents[2]
SAMPLES = sorted(path.stem for path in (ROOT / "sample_designs").glob("*.toml"))
DPI = 300
PX_PER_MM = DPI / 25.4


def glasswork(
    *words: str, cwd: Path | None = None, fresh: bool = False
) -> subprocess.CompletedProcess[str]:
    """Run the command line as a user does, in a process of its own.

    fresh : one that begins with nothing loaded, as a user's does
    """
    if not fresh:
        return run(*words, cwd=cwd or ROOT)
    return subprocess.run(
        [sys.executable, "-m", "glasswork", *words],
        cwd=cwd or ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


@dataclass
class Made:
    """A pack on disk, opened with other programs only."""

    folder: Path

    @cached_property
    def report(self) -> dict[str, Any]:
        loaded: dict[str, Any] = json.loads((self.folder / "report.json").read_text("utf-8"))
        return loaded

    @cached_property
    def poppler(self) -> list[np.ndarray]:
        """The film pages as poppler renders them, (rows, columns, 3) uint8, 300 dpi."""
        return poppler_pages(self.folder / "films.pdf")

    @cached_property
    def pdfium(self) -> list[np.ndarray]:
        """The film pages as pdfium renders them."""
        import pypdfium2

        document = pypdfium2.PdfDocument(self.folder / "films.pdf")
        return [
            np.ascontiguousarray(
                page.render(scale=DPI / 72, rev_byteorder=True).to_numpy()[:, :, :3]
            )
            for page in document
        ]


def poppler_pages(path: Path) -> list[np.ndarray]:
    """A file's pages as PPM: packed as PNG they take poppler ten times as long."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["pdftoppm", "-r", str(DPI), str(path), f"{folder}/page"], check=True)
        return [
            np.asarray(Image.open(page).convert("RGB"))
            for page in sorted(Path(folder).glob("page-*.ppm"))
        ]


def compose(folder: Path, *words: str, fresh: bool = False) -> Made:
    done = glasswork("compose", *words, "-o", str(folder), fresh=fresh)
    assert done.returncode == 0, done.stderr
    assert done.stderr == "", "quiet when piped"
    return Made(folder)


@pytest.fixture(scope="session", params=SAMPLES)
def sample(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Each shipped sample, composed from its project file."""
    folder = tmp_path_factory.mktemp("packs") / request.param
    return compose(folder, "--project", f"sample_designs/{request.param}.toml", fresh=True)


@pytest.fixture(scope="session")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A sample SVG with no option at all, on Letter: two films on the shipped dye profile."""
    folder = tmp_path_factory.mktemp("packs") / "plain"
    return compose(folder, "sample_designs/pilot-station.svg", "--page", "letter", fresh=True)
