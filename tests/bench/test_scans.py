"""A scanned A4 sheet at 600 dpi to panes, beside decoding its PNG in the same run.

The peers only decode: Pillow, which the reader uses, and OpenCV. Ours is measured from the decoded
picture on: `trace_scan` gives the panes' outlines, `make_window` leads, middles and ids as well.
The PNG has the noise of paper; without it decoders are faster and so is nobody's scan. Memory and
threads are set as in a command (`cli/memory.py`), for the peers too. All take turns, but other load
of the machine slows work in memory more than decoding: for a figure run it before all else
(`chrt -f 1`).
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from subprocess import run
from sys import executable

import cv2
import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from glasswork.cli.memory import for_one_job
from glasswork.drawing.make import make_window
from glasswork.drawing.trace import trace_scan
from glasswork.model.window import Scan, Sizing
from tests.bench.scans import PAPER, Faults, scanned

GOAL = 0.25
A4_MM = (190.0, 277.0)
A4_PX = (7016, 4960)


def _on_a4(scan: Scan) -> Scan:
    """The sheet in the middle of a page, long side down or across as it fits."""
    rows, columns = A4_PX if scan.grey.shape[0] >= scan.grey.shape[1] else A4_PX[::-1]
    noise = np.random.default_rng(1).normal(PAPER, 3.0, (rows, columns))
    page = np.clip(noise, 0.0, 255.0).astype(np.uint8)
    top, left = (rows - scan.grey.shape[0]) // 2, (columns - scan.grey.shape[1]) // 2
    page[top : top + scan.grey.shape[0], left : left + scan.grey.shape[1]] = scan.grey
    return replace(scan, grey=page)


def _in_turn(works: Sequence[Callable[[], object]], times: int = 7) -> list[float]:
    """The least seconds of each, taken in turn, so that other load falls on all alike."""
    best = [float("inf")] * len(works)
    for _ in range(times):
        for index, work in enumerate(works):
            started = time.perf_counter()
            work()
            best[index] = min(best[index], time.perf_counter() - started)
    return best


@pytest.fixture(autouse=True)
def _as_in_a_command() -> None:
    for_one_job()


@pytest.mark.parametrize("panes", [60, 400, 3000])
def test_scan_to_panes(
    panes: int, benchmark: Callable[..., object], capsys: pytest.CaptureFixture[str]
) -> None:
    scan = _on_a4(scanned(panes, Faults(dpi=600.0, noise=3.0), fit_mm=A4_MM).scan)
    kept = io.BytesIO()
    Image.fromarray(scan.grey).save(kept, "PNG")
    data = np.frombuffer(kept.getvalue(), np.uint8)

    def pillow() -> object:
        return np.asarray(Image.open(io.BytesIO(kept.getvalue())))

    def opencv() -> object:
        return cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)

    def ours() -> object:
        return trace_scan(scan)

    found, by_pillow, by_opencv = _in_turn([ours, pillow, opencv])
    (whole,) = _in_turn([lambda: make_window(scan, roles={}, sizing=Sizing())], 2)
    benchmark.pedantic(ours, rounds=1)  # type: ignore[attr-defined]
    with capsys.disabled():
        print(
            f"\n{panes} panes: outlines {1e3 * found:.0f} ms, window {1e3 * whole:.0f} ms; "
            f"decoding by Pillow {1e3 * by_pillow:.0f} ms, OpenCV {1e3 * by_opencv:.0f} ms; "
            f"outlines {found / by_pillow:.2f} × and {found / by_opencv:.2f} ×, goal {GOAL} ×"
        )


def test_reading_a_colour_scan_of_1200_dpi(
    benchmark: Callable[..., object], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Seconds and peak memory of reading and tracing it, in a process of its own."""
    drawn = scanned(3000, Faults(dpi=600.0), fit_mm=A4_MM).scan
    rng = np.random.default_rng(1)
    page = np.resize(
        rng.normal(PAPER, 3.0, (512, 2 * A4_PX[1], 3)).astype(np.uint8),
        (2 * A4_PX[0], 2 * A4_PX[1], 3),
    )
    large = np.asarray(cv2.resize(drawn.grey, None, fx=2.0, fy=2.0))
    top, left = (np.array(page.shape[:2]) - large.shape) // 2
    part = page[top : top + large.shape[0], left : left + large.shape[1]]
    np.minimum(part, large[..., None], out=part)
    path = tmp_path / "large.png"
    Image.fromarray(page).save(path, dpi=(1200, 1200), compress_level=1)
    script = (
        "import re, sys, time\n"
        "from glasswork.drawing.trace import trace_scan\n"
        "from glasswork.readers.scan import read_scan\n"
        "def peak():\n"
        "    told = re.search(r'VmHWM:\\s+(\\d+)', open('/proc/self/status').read())\n"
        "    return int(told[1]) * 1024 / 1e9\n"
        "data = open(sys.argv[1], 'rb').read()\n"
        "begun = time.perf_counter()\n"
        "scan = read_scan(data, name='large.png')\n"
        "read = time.perf_counter()\n"
        "print(f'reading {read - begun:.1f} s, peak {peak():.2f} GB', end='; ')\n"
        "trace_scan(scan)\n"
        "print(f'outlines {time.perf_counter() - read:.1f} s, peak {peak():.2f} GB')\n"
    )

    def ours() -> str:
        return run(
            [executable, "-c", script, path], capture_output=True, check=True
        ).stdout.decode()

    told = benchmark.pedantic(ours, rounds=1)  # type: ignore[attr-defined]
    with capsys.disabled():
        print(f"\nA4 in colour at 1200 dpi, {path.stat().st_size / 1e6:.0f} MB: {told.strip()}")
