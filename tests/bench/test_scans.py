"""A scanned A4 sheet at 600 dpi to panes, beside decoding its PNG in the same run.

The peers only decode: Pillow, which the reader uses, and OpenCV. Ours is measured from the decoded
picture on: `trace_scan` gives the panes' outlines, `make_window` leads, middles and ids as well.
The PNG has the noise of paper; without it decoders are faster and so is nobody's scan.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable

import cv2
import numpy as np
import pytest
from PIL import Image

from glasswork.drawing.make import make_window
from glasswork.drawing.trace import trace_scan
from glasswork.model.window import Sizing
from tests.bench.scans import Faults, scanned

GOAL = 0.25
A4_MM = (194.0, 281.0)


def _best(work: Callable[[], object], times: int = 5) -> float:
    best = float("inf")
    for _ in range(times):
        started = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - started)
    return best


@pytest.mark.parametrize("panes", [60, 400, 3000])
def test_scan_to_panes(
    panes: int, benchmark: Callable[..., object], capsys: pytest.CaptureFixture[str]
) -> None:
    faults = Faults(dpi=600.0, noise=3.0, shade=0.2, turn_deg=1.0)
    scan = scanned(panes, faults, fit_mm=A4_MM).scan
    kept = io.BytesIO()
    Image.fromarray(scan.grey).save(kept, "PNG")
    data = np.frombuffer(kept.getvalue(), np.uint8)

    def pillow() -> object:
        return np.asarray(Image.open(io.BytesIO(kept.getvalue())))

    def opencv() -> object:
        return cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)

    def ours() -> object:
        return trace_scan(scan)

    peer = min(_best(pillow), _best(opencv))
    slower = max(_best(pillow, 2), _best(opencv, 2))
    found = _best(ours)
    whole = _best(lambda: make_window(scan, roles={}, sizing=Sizing()), 2)
    benchmark.pedantic(ours, rounds=1)  # type: ignore[attr-defined]
    with capsys.disabled():
        print(
            f"\n{panes} panes, {scan.grey.size / 1e6:.1f} Mpx: panes {1e3 * found:.0f} ms, window "
            f"{1e3 * whole:.0f} ms; PNG decode {1e3 * peer:.0f} ms at best, {1e3 * slower:.0f} at "
            f"worst; panes {found / peer:.2f} ×, window {whole / peer:.2f} ×"
        )
    assert found <= GOAL * peer
