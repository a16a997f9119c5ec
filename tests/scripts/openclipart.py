"""Every drawing of a folder tried: window or clear refusal, within time and memory limits.

    python -m tests.scripts.openclipart /usr/share/openclipart/svg --every 20 --iou

Debian's package openclipart-svg (public domain) is the usual folder. Each file has 10 s of the
processor and 1.5 GB at most, or its process is ended. Ends with a tally; `--json FILE` keeps every
row.
"""

from __future__ import annotations

import argparse
import collections
import json
import multiprocessing
import os
import re
import resource
import sys
import threading
import time
from pathlib import Path
from typing import Any

LIMIT_S = 10
LIMIT_BYTES = 1_500_000_000


class Worker:
    """A process that tries one file after the other; killed and begun anew if it takes too long."""

    def __init__(self, *, compares: bool) -> None:
        self.compares = compares
        self.pipe, self.process = self._begun()

    def _begun(self) -> tuple[Any, Any]:
        here, there = multiprocessing.Pipe()
        process = multiprocessing.Process(
            target=_serve, args=(there, not self.compares), daemon=True
        )
        process.start()
        return here, process

    def attempt(self, job: tuple[str, bool]) -> dict[str, Any]:
        self.pipe.send(job)
        limit = LIMIT_S + (60 if job[1] else 0)
        begun = _spent_s(self.process.pid)
        try:
            while _spent_s(self.process.pid) - begun < limit:
                if self.pipe.poll(0.5):
                    row: dict[str, Any] = self.pipe.recv()
                    if row["outcome"] != "crash" and row["seconds"] > LIMIT_S:
                        row |= {"outcome": "hang", "reason": f"over {LIMIT_S} s"}
                    return row
            fault = {"outcome": "hang", "reason": f"over {LIMIT_S} s"}
        except (EOFError, OSError):
            fault = {"outcome": "memory", "reason": "the process died"}
        self.process.kill()
        self.pipe, self.process = self._begun()
        return {"file": job[0], "seconds": float(limit), "peak_mb": 0, **fault}


def _spent_s(process: int) -> float:
    """The processor's time that a process has taken; others may hold the machine up."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _serve(pipe: Any, limited: bool) -> None:
    if limited:  # the other renderer's pictures do not count
        resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
    while True:
        pipe.send(attempt(pipe.recv()))


def attempt(job: tuple[str, bool]) -> dict[str, Any]:
    """One file: outcome, reason, seconds, panes, and agreement with resvg if wanted."""
    path, wanted = job
    row: dict[str, Any] = {"file": path}
    started = time.process_time()
    try:
        row |= _window(Path(path), wanted)
    except MemoryError:
        row |= {"outcome": "memory", "reason": "over 1.5 GB"}
    except Exception as exc:
        row |= {"outcome": "crash", "reason": f"{type(exc).__name__}: {exc}"[:200]}
    row.setdefault("seconds", round(time.process_time() - started, 3))
    row["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return row


def _window(path: Path, wanted: bool) -> dict[str, Any]:
    from glasswork.drawing.make import drawn_window
    from glasswork.errors import GlassworkError
    from glasswork.model.window import LineArt
    from glasswork.readers.design import read_design

    data = path.read_bytes()
    started = time.process_time()
    try:
        art = read_design(data, name=path.name)
        assert isinstance(art, LineArt)
        window, findings = drawn_window(art, roles={})
    except GlassworkError as fault:
        return {"outcome": "refused", "reason": fault.what, "where": fault.where}
    seconds = round(time.process_time() - started, 3)
    panes = sum(p.region.area_mm2 for p in window.panes)
    leads = sum(r.area_mm2 for m in window.members for r in m.area)
    error = abs(panes + leads - window.outline.area_mm2) / window.outline.area_mm2
    row: dict[str, Any] = {"outcome": "window", "panes": len(window.panes), "seconds": seconds}
    row |= {"tile_error": error, "notes": [f.what for f in findings]}
    if wanted:
        from tests.drawing.other_renderer import agreement, picture_px

        try:
            row["iou"] = round(agreement(data, art, window, px=picture_px(art.size_mm, window)), 4)
        except ValueError as exc:
            row["iou_failed"] = str(exc)[:100]
    return row


def _kind(reason: str) -> str:
    return re.sub(r'"[^"]*"|[-\d.]+(e[+-]?\d+)?', "#", reason)[:70]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=1, help="only each n-th file")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--iou", action="store_true", help="compare with resvg's picture")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    files = sorted(str(p) for p in options.folder.rglob("*.svg"))
    jobs = [(f, options.iou) for f in files[options.first :: options.every]]
    rows: list[dict[str, Any]] = []
    waiting = iter(jobs)
    lock = threading.Lock()
    kept = options.json.open("w") if options.json else None

    def run() -> None:
        worker = Worker(compares=options.iou)
        while True:
            with lock:
                job = next(waiting, None)
            if job is None:
                worker.process.kill()
                return
            row = worker.attempt(job)
            with lock:
                rows.append(row)
                if kept:
                    print(json.dumps(row), file=kept, flush=True)
                if row["outcome"] in ("crash", "hang", "memory"):
                    print(row, file=sys.stderr, flush=True)

    threads = [threading.Thread(target=run) for _ in range(options.processes)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    outcomes = collections.Counter(row["outcome"] for row in rows)
    print(f"{len(rows)} files: {dict(outcomes)}")
    reasons = collections.Counter(_kind(r["reason"]) for r in rows if r["outcome"] != "window")
    for reason, count in reasons.most_common():
        print(f"{count:6d}  {reason}")
    print(
        f"slowest {max(row['seconds'] for row in rows)} s; peak {max(r['peak_mb'] for r in rows)}"
    )
    tiles = [row["tile_error"] for row in rows if "tile_error" in row]
    print(f"worst tiling error {max(tiles, default=0):.2e}")
    agreed = sorted(row["iou"] for row in rows if "iou" in row)
    if agreed:
        good = sum(a >= 0.98 for a in agreed)
        print(f"IoU over {len(agreed)}: median {agreed[len(agreed) // 2]}, at least 0.98: {good}")
    return 0 if not outcomes.keys() & {"crash", "hang", "memory"} else 1


if __name__ == "__main__":
    sys.exit(main())
