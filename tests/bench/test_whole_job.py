"""The whole job with two textured films in a fresh process, beside a plain assembly of libraries.

Films that differ are glazed with those glasses of the shipped palette that the printer reaches
better so: each pane has another colour on each film, and the report must say so.

Both read the same drawing of a panel that fills an A4 page as far as marks and pin ears let it,
170 mm wide, and write the same kinds of files: see `plain_assembly` for what the peer does and
leaves out. They run in turn, five times each after one run to warm caches; medians are told, as
seconds on the wall and as processor seconds, for other work may run beside.

Goals: 400 panes at most a quarter of the peer's time and 0.6 of its memory; 3000 panes a third of
its time.

pytest tests/bench/test_whole_job.py --benchmark-only -s -o addopts=--import-mode=importlib
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from tests.bench.designs import synthetic_window_svg

ROOT = Path(__file__).parents[2]
WIDTH_MM = 170
ROUNDS = 5
CASES = ((408, 24, 0.25), (2990, 65, 1 / 3))
"""Panes, their rows, and the goal."""
BRIGHT = ("oilskin", "reed", "emerald", "sea-glass", "port-green")
_WATCHED = (
    "import json, resource, subprocess, sys\n"
    "done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)\n"
    "used = resource.getrusage(resource.RUSAGE_CHILDREN)\n"
    "print(done.returncode, used.ru_maxrss, used.ru_utime + used.ru_stime)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Seconds on the wall, processor seconds, and the largest memory in MB."""

    wall: float
    cpu: float
    memory: float


def _run(words: list[str]) -> Run:
    env = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", _WATCHED, *words],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    seconds = time.perf_counter() - started
    status, kilobytes, cpu = done.stdout.split()
    assert status == "0", f"{words}: {done.stderr}"
    return Run(wall=seconds, cpu=float(cpu), memory=int(kilobytes) / 1024)


@pytest.mark.parametrize("films", ["differ", "alike"])
@pytest.mark.parametrize(("panes", "rows", "goal"), CASES)
def test_whole_job(
    benchmark: Any, tmp_path: Path, panes: int, rows: int, goal: float, films: str
) -> None:
    drawing = tmp_path / "window.svg"
    drawing.write_bytes(synthetic_window_svg(panes, "strokes", 1, rows=rows))
    mine = [
        sys.executable,
        "-m",
        "glasswork",
        "compose",
        str(drawing),
        "-o",
        str(tmp_path / "ours"),
    ]
    mine += ["--films", "2", f"--films-{films}", "--width", f"{WIDTH_MM}mm"]
    mine += ["--finish", "cathedral"]
    if films == "differ":
        rack = tmp_path / "bright.toml"
        rack.write_text(_bright(), encoding="utf-8")
        mine += ["--printer", "pigment-film", "--palette", str(rack)]
    plain = [sys.executable, "-m", "tests.bench.plain_assembly", str(drawing)]
    plain += [str(tmp_path / "theirs"), str(WIDTH_MM), films]
    _run(mine)
    _run(plain)
    assert _share_that_differs(tmp_path / "ours" / "report.json") == (films == "differ")
    ours: list[Run] = []
    theirs: list[Run] = []

    def both() -> None:
        ours.append(_run(mine))
        theirs.append(_run(plain))

    benchmark.pedantic(both, rounds=ROUNDS)
    a, b = _middle(ours), _middle(theirs)
    print(
        f"\n{panes} panes, two films that {'differ' if films == 'differ' else 'are alike'}: "
        f"{a.wall:.2f} s, {a.cpu:.2f} s of processor, {a.memory:.0f} MB; "
        f"plain assembly {b.wall:.2f} s, {b.cpu:.2f} s, {b.memory:.0f} MB; "
        f"{b.wall / a.wall:.1f} × as fast ({b.cpu / a.cpu:.1f} × by processor, "
        f"goal {1 / goal:.0f} ×), memory {a.memory / b.memory:.2f} (goal 0.60)"
    )


def _bright() -> str:
    """The glasses of the shipped palette that unlike films bring nearer on the pigment printer."""
    text = (ROOT / "profiles" / "palettes" / "harbour.toml").read_text(encoding="utf-8")
    head, *glasses = text.split("[[glass]]")
    kept = [one for one in glasses if any(f'id = "{name}"' in one for name in BRIGHT)]
    assert len(kept) == len(BRIGHT)
    return head + "".join(f"[[glass]]{one}" for one in kept)


def _share_that_differs(report: Path) -> float:
    """The share of panes whose device values are not the same on both films."""
    panes = json.loads(report.read_bytes())["panes"]
    return sum(len({tuple(one) for one in pane["device"]}) > 1 for pane in panes) / len(panes)


def _middle(runs: list[Run]) -> Run:
    return Run(
        wall=median(run.wall for run in runs),
        cpu=median(run.cpu for run in runs),
        memory=median(run.memory for run in runs),
    )
