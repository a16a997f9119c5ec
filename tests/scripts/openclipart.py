"""Every drawing of a folder tried: window or clear refusal, within time and memory limits.

    python -m tests.scripts.openclipart /usr/share/openclipart/svg --every 20 --iou

Debian's package openclipart-svg (public domain) is the usual folder. Each file runs in a process
of its own kind with 10 s and 1.5 GB at most. Ends with a tally; `--json FILE` keeps every row.
"""

from __future__ import annotations

import argparse
import collections
import json
import multiprocessing
import re
import resource
import signal
import sys
import time
from pathlib import Path
from typing import Any

LIMIT_S = 10
LIMIT_BYTES = 1_500_000_000


class TooLongError(Exception):
    """The time limit was met."""


def _alarm(*_: object) -> None:
    raise TooLongError


def _start() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
    signal.signal(signal.SIGALRM, _alarm)


def attempt(job: tuple[str, bool]) -> dict[str, Any]:
    """One file: outcome, reason, seconds, panes, and agreement with resvg if wanted."""
    path, wanted = job
    row: dict[str, Any] = {"file": path}
    started = time.perf_counter()
    signal.alarm(LIMIT_S)
    try:
        row |= _window(Path(path), wanted)
    except TooLongError:
        row |= {"outcome": "hang", "reason": f"over {LIMIT_S} s"}
    except MemoryError:
        row |= {"outcome": "memory", "reason": "over 1.5 GB"}
    except Exception as exc:
        row |= {"outcome": "crash", "reason": f"{type(exc).__name__}: {exc}"[:200]}
    finally:
        signal.alarm(0)
    row.setdefault("seconds", round(time.perf_counter() - started, 3))
    row["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return row


def _window(path: Path, wanted: bool) -> dict[str, Any]:
    from glasswork.drawing.make import drawn_window
    from glasswork.errors import GlassworkError
    from glasswork.model.window import LineArt
    from glasswork.readers.design import read_design

    data = path.read_bytes()
    started = time.perf_counter()
    try:
        art = read_design(data, name=path.name)
        assert isinstance(art, LineArt)
        window, findings = drawn_window(art, roles={})
    except GlassworkError as fault:
        return {"outcome": "refused", "reason": fault.what, "where": fault.where}
    seconds = round(time.perf_counter() - started, 3)
    signal.alarm(0)
    panes = sum(p.region.area_mm2 for p in window.panes)
    leads = sum(r.area_mm2 for m in window.members for r in m.area)
    error = abs(panes + leads - window.outline.area_mm2) / window.outline.area_mm2
    row: dict[str, Any] = {"outcome": "window", "panes": len(window.panes), "seconds": seconds}
    row |= {"tile_error": error, "notes": [f.what for f in findings]}
    if wanted:
        from tests.drawing.other_renderer import agreement

        try:
            row["iou"] = round(agreement(data, art, window), 4)
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
    rows = []
    with multiprocessing.Pool(options.processes, _start, maxtasksperchild=100) as pool:
        for row in pool.imap_unordered(attempt, jobs, chunksize=4):
            rows.append(row)
            if row["outcome"] in ("crash", "hang", "memory"):
                print(row, file=sys.stderr, flush=True)
    if options.json:
        options.json.write_text("\n".join(json.dumps(row) for row in rows))
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
