"""Commands run in processes of their own, without each loading every library again.

A helper loads the libraries once and copies itself (fork) for each command; the copy runs the
command line's own `main` in the folder, with the environment and the output files of the test.
"""

from __future__ import annotations

import atexit
import json
import os
import signal
import subprocess
import sys
import tempfile
from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

ROOT = Path(__file__).parents[1]
LIMIT_S = 120
LIBRARIES = ("cv2", "ezdxf", "numpy", "PIL.Image", "pypdfium2", "shapely")


def run(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """What `glasswork` followed by the words leaves with and says."""
    helper = _helper()
    assert helper.stdin is not None
    assert helper.stdout is not None
    with tempfile.TemporaryDirectory() as folder:
        says = [str(Path(folder) / name) for name in ("out", "err")]
        job = {"words": words, "cwd": str(cwd), "environ": dict(os.environ), "says": says}
        helper.stdin.write(json.dumps(job) + "\n")
        helper.stdin.flush()
        code = int(helper.stdout.readline())
        out, err = (Path(path).read_text("utf-8") for path in says)
    return subprocess.CompletedProcess(["glasswork", *words], code, out, err)


@cache
def _helper() -> subprocess.Popen[str]:
    """The helper of this process, ended with it."""
    helper = subprocess.Popen(
        [sys.executable, "-m", "tests.commands"],
        cwd=ROOT,
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "OPENCV_FOR_THREADS_NUM": "1"},
    )
    atexit.register(_end, helper)
    return helper


def _end(helper: subprocess.Popen[str]) -> None:
    """Close its input, on which it leaves."""
    helper.communicate()


def _serve() -> None:
    """Run the commands told line by line; answer with how each ended."""
    import glasswork

    for library in LIBRARIES:
        import_module(library)
    for module in walk_packages(glasswork.__path__, "glasswork."):
        if not module.name.startswith("glasswork.web") and "__main__" not in module.name:
            import_module(module.name)
    for line in sys.stdin:
        child = os.fork()
        if not child:
            _become(json.loads(line))
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), flush=True)


def _become(job: dict[str, Any]) -> None:
    """Be the command: does not return."""
    signal.alarm(LIMIT_S)
    os.chdir(job["cwd"])
    os.environ.clear()
    os.environ.update(job["environ"])
    for number, path in ((0, os.devnull), (1, job["says"][0]), (2, job["says"][1])):
        handle = os.open(path, os.O_RDWR | os.O_CREAT)
        os.dup2(handle, number)
        os.close(handle)
    sys.stdin, sys.stdout, sys.stderr = (
        open(number, mode, encoding="utf-8")  # noqa: PTH123, SIM115
        for number, mode in ((0, "r"), (1, "w"), (2, "w"))
    )
    sys.argv = ["glasswork", *job["words"]]
    code = 1
    try:
        from glasswork.cli import main

        main()
        code = 0
    except SystemExit as end:
        if end.code is not None:
            print(end.code, file=sys.stderr)
    except BaseException:
        import traceback

        traceback.print_exc()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


if __name__ == "__main__":
    _serve()
