"""Drawings nobody here made, composed to the end: a seeded sample, each with options of its own.

    nice -n 15 python -m tests.scripts.compose_sweep --count 400
    nice -n 15 python -m tests.scripts.compose_sweep --drawn --count 200

Debian's package openclipart-svg (public domain) is the usual folder. Each drawing is composed in a
fresh process with 60 s of the processor and 4 GB of addresses at most: one in eight of them as a
scan (resvg's picture of it), half of them with a wider border than drawn. Ends with a tally: packs
with every check passed, clear refusals by reason, faults of Glasswork, tracebacks, too slow.
`--drawn` composes windows that `glasswork draw` makes of odd measures instead: 30 to 600 mm, up to
four lights, to scale. `--json FILE` keeps every row, `--only TEXT` takes the drawings whose path
holds it, `--again FILE` those of an earlier run that were at fault.
"""

from __future__ import annotations

import argparse
import collections
import json
import os
import random
import re
import resource
import shlex
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

FOLDER = "/usr/share/openclipart/svg"
LIMIT_S = 60
LIMIT_BYTES = 4_000_000_000
SCAN_SHARE = 1 / 8
FAULTS = ("fault", "traceback", "slow", "unchecked")

CHOICES: dict[str, tuple[str, ...]] = {
    "--width": ("120", "120", "120", "40", "80", "180", "260", "400"),
    "--finish": ("clear", "clear", "palette", "hammered", "streaky", "seedy"),
    "--films": ("auto", "1", "2", "3"),
    "--page": ("a4", "letter"),
    "--printer": ("dye-film", "pigment-film"),
}
"""One of each is drawn for every drawing."""

BOARDS = (
    ("chipboard-2", "laser"),
    ("chipboard-1", "drag-blade"),
    ("chipboard-1.5", "laser"),
    ("chipboard-3", "hand-knife"),
    ("card-0.3", "drag-blade"),
    ("plywood-3", "laser"),
    ("veneer-0.5", "laser"),
    ("acrylic-3", "laser"),
)

SELDOM: tuple[tuple[str, ...], ...] = (
    ("--jig",),
    ("--rebate", "2"),
    ("--step", "0.5"),
    ("--step", "0"),
    ("--outer-board", "chipboard-1"),
    ("--retainer-board", "card-0.3"),
    ("--copies", "2"),
    ("--ink-faces", "together"),
    ("--ink-faces", "back"),
    ("--films-differ",),
    ("--matting", "0.5", "--stipple", "0.5"),
    ("--recess", "40"),
    ("--dpi", "300"),
)
"""Each stands in one command of six."""


def command(number: int, file: str, *, seed: int) -> dict[str, Any]:
    """The options for one drawing, always the same for the same seed and place in the sample."""
    rng = random.Random(f"{seed}/{number}/{Path(file).name}")
    words = [word for key, values in CHOICES.items() for word in (key, rng.choice(values))]
    board, cutter = rng.choice(BOARDS)
    words += ["--board", board, "--cutter", cutter]
    for extra in SELDOM:
        if rng.random() < 1 / 6 and extra[0] not in words:
            words += extra
    dpi = rng.choice((150, 200, 300)) if rng.random() < SCAN_SHARE else 0
    wide = rng.choice((0, 0, 4, 6)) if "40" not in words else 0
    return {"file": file, "options": words, "scan_dpi": dpi, "border": wide}


SIDES = (30.0, 45.0, 80.0, 119.0, 119.0, 180.0, 300.0, 600.0)
"""Sides of the drawn windows, mm, before the scale."""


def drawn_job(number: int, *, seed: int) -> dict[str, Any]:
    """A window drawn from odd measures, and the options it is composed with."""
    from glasswork.drawing.drawn import KINDS

    rng = random.Random(f"drawn/{seed}/{number}")
    kind = list(KINDS.values())[number % len(KINDS)]
    scale = rng.choice(("1:1", "1:1", "1:12", "1:24", "1:48"))
    times = float(scale.split(":")[1])
    given: dict[str, Any] = {"scale": scale}
    for setting in kind.settings:
        name = setting.name
        if name in ("width_mm", "height_mm", "diameter_mm"):
            given[name] = rng.choice(SIDES) * times
        elif setting.choices and name != "scale":
            given[name] = rng.choice(setting.choices)
        elif setting.kind is int and rng.random() < 0.5:
            least, most = int(setting.least or 0), int(min(setting.most or 12, 12))
            given[name] = rng.randint(least, most)
        elif name.endswith("_mm") and setting.default is not None and rng.random() < 0.3:
            given[name] = round(setting.default * rng.choice((0.5, 1.5, 3.0)) * times, 2)
    job = command(number, f"{kind.name}-{number}.svg", seed=seed)
    at = job["options"].index("--width")
    job["options"][at : at + 2] = []
    return {**job, "drawn": {"kind": kind.name, **given}, "scan_dpi": 0, "border": 0}


def attempt(job: dict[str, Any]) -> dict[str, Any]:
    """One drawing composed: outcome, reason, seconds of the processor, peak of memory."""
    with tempfile.TemporaryDirectory(prefix="compose-sweep-") as folder:
        drawing = Path(job["file"])
        if "drawn" in job:
            try:
                drawing = _draw(job["drawn"], Path(folder) / job["file"])
            except ValueError as exc:
                return {**job, "outcome": "not drawn", "reason": str(exc), "seconds": 0.0}
        if job["scan_dpi"]:
            try:
                drawing = scan_of(drawing, dpi=job["scan_dpi"], folder=Path(folder))
            except ValueError as exc:
                return {**job, "outcome": "no scan", "reason": str(exc)[:80], "seconds": 0.0}
        pack = Path(folder) / "pack"
        words = ["compose", str(drawing), "-o", str(pack), *job["options"]]
        if job.get("border"):
            project = Path(folder) / "wider.toml"
            project.write_text(f'design = "drawing"\n[widths]\nborder = {job["border"]}\n')
            words += ["--project", str(project)]
        code, said, usage = _run(words, Path(folder) / "said")
        row = {**job, "seconds": round(usage.ru_utime + usage.ru_stime, 2)}
        row["peak_mb"] = usage.ru_maxrss // 1024
        return row | _outcome(code, said, pack)


def _draw(settings: dict[str, Any], target: Path) -> Path:
    """Raises: ValueError, if there is no such window"""
    from glasswork.drawing.drawn import design
    from glasswork.errors import GlassworkError

    given = dict(settings)
    try:
        target.write_bytes(design(given.pop("kind"), **given).svg())
    except GlassworkError as exc:
        raise ValueError(exc.what) from exc
    return target


def scan_of(drawing: Path, *, dpi: int, folder: Path) -> Path:
    """resvg's picture of a drawing on white, 120 mm at that resolution on its longer side.

    Raises: ValueError, if resvg cannot draw it
    """
    import resvg_py
    from PIL import Image

    side = round(120 / 25.4 * dpi)
    try:
        data = resvg_py.svg_to_bytes(svg_path=str(drawing), width=side, background="white")
    except Exception as exc:  # whatever the other renderer raises
        raise ValueError(f"resvg: {exc}") from exc
    raw = folder / "raw.png"
    raw.write_bytes(bytes(data))
    target = folder / f"{drawing.stem}.png"
    with Image.open(raw) as picture:
        plain = picture.convert("RGB")
        plain.thumbnail((side, side))
        plain.save(target, dpi=(dpi, dpi))
    return target


def _run(words: list[str], said: Path) -> tuple[int, str, resource.struct_rusage]:
    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (LIMIT_S, LIMIT_S + 5))
        resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    with said.open("wb") as stream:
        process = subprocess.Popen(
            [sys.executable, "-c", "from glasswork.cli import main; main()", *words],
            stdout=subprocess.DEVNULL,
            stderr=stream,
            preexec_fn=limited,
        )
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    return process.returncode, said.read_text(errors="replace"), usage


def _outcome(code: int, said: str, pack: Path) -> dict[str, Any]:
    if code < 0:
        slow = code in (-24, -9)
        return {"outcome": "slow" if slow else "traceback", "reason": f"ended by signal {-code}"}
    if "Traceback" in said:
        return {"outcome": "traceback", "reason": said.strip()[-900:]}
    if "fault of Glasswork" in said:
        return {"outcome": "fault", "reason": said.strip()[:900]}
    if code == 1:
        lines = [line for line in said.splitlines() if line.startswith("error: ")]
        return {"outcome": "refused", "reason": "\n".join(lines)[:900]}
    if code:
        return {"outcome": "traceback", "reason": f"exit code {code}: {said[-400:]}"}
    report = json.loads((pack / "report.json").read_bytes())
    wrong = [check["check"] for check in report["verified"] if not check["ok"]]
    row: dict[str, Any] = {"panes": len(report["panes"]), "films": report["films"]["count"]}
    row["notes"] = [f["what"] for f in report["findings"]]
    if wrong or not report["verified"]:
        return {**row, "outcome": "unchecked", "reason": ", ".join(wrong) or "no check was made"}
    return {**row, "outcome": "pack", "reason": ""}


def _kind(row: dict[str, Any]) -> str:
    """A refusal or fault without its place and figures, to count by."""
    text = row["reason"].splitlines()[-1 if row["outcome"] == "traceback" else 0]
    what = text.split(": ", 2)[-1] if row["outcome"] in ("refused", "fault") else text
    return re.sub(r'"[^"]*"|[-\d.]+(e[+-]?\d+)?', "#", what)[:76]


def _tally(rows: list[dict[str, Any]]) -> Iterator[str]:
    yield f"{len(rows)} drawings: {dict(collections.Counter(r['outcome'] for r in rows))}"
    rest = collections.Counter(
        f"{r['outcome']:10s} {_kind(r)}" for r in rows if r["outcome"] != "pack"
    )
    for reason, count in rest.most_common():
        yield f"{count:6d}  {reason}"
    packs = sorted(r["seconds"] for r in rows if r["outcome"] == "pack")
    if packs:
        yield f"packs: median {packs[len(packs) // 2]} s of the processor, slowest {packs[-1]} s"
    peak = max(row.get("peak_mb", 0) for row in rows)
    yield f"slowest {max(row['seconds'] for row in rows)} s; peak {peak} MB"


def _jobs(options: argparse.Namespace) -> list[dict[str, Any]]:
    if options.again:
        rows = [json.loads(line) for line in options.again.read_text().splitlines()]
        kept = ("file", "options", "scan_dpi", "border", "drawn")
        again = [row for row in rows if row["outcome"] in FAULTS]
        return [{k: row[k] for k in kept if k in row} for row in again]
    if options.drawn:
        return [drawn_job(n, seed=options.seed) for n in range(options.skip, options.count)]
    files = sorted(str(p) for p in options.folder.rglob("*.svg"))
    if options.only:
        files = [f for f in files if options.only in f]
    else:
        files = random.Random(options.seed).sample(files, min(options.count, len(files)))
    jobs = [command(n, file, seed=options.seed) for n, file in enumerate(files)]
    return jobs[options.skip :]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=Path(FOLDER))
    parser.add_argument("--count", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--skip", type=int, default=0, help="leave out the first of the sample")
    parser.add_argument("--drawn", action="store_true", help="windows of `glasswork draw` instead")
    parser.add_argument("--only", help="the drawings whose path holds this, instead of a sample")
    parser.add_argument("--again", type=Path, help="the faults among the rows of an earlier run")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    waiting = iter(_jobs(options))
    lock = threading.Lock()
    rows: list[dict[str, Any]] = []
    kept = options.json.open("w") if options.json else None

    def run() -> None:
        while True:
            with lock:
                job = next(waiting, None)
            if job is None:
                return
            row = attempt(job)
            with lock:
                rows.append(row)
                if kept:
                    print(json.dumps(row), file=kept, flush=True)
                if row["outcome"] in FAULTS:
                    words = shlex.join(row["options"])
                    print(f"{row['file']} {words} {row.get('drawn', '')}", file=sys.stderr)
                    print(f"    {row['outcome']}: {row['reason']}", file=sys.stderr, flush=True)

    threads = [threading.Thread(target=run) for _ in range(options.processes)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    print("\n".join(_tally(rows)))
    return 1 if any(row["outcome"] in FAULTS for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
