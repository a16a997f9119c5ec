"""A command's last words arrive, and it ends with its exit code, whatever becomes of its output."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def _ended(redirected: str) -> subprocess.CompletedProcess[str]:
    """`glasswork list` run by a shell that redirects its output."""
    return subprocess.run(
        ["sh", "-c", f'"$0" -m glasswork list {redirected}', sys.executable],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env=dict(os.environ),
    )


@pytest.mark.parametrize("redirected", ["| cat", "2>&1 | cat", ">&-", "2>&-", ">&- 2>&-"])
def test_all_is_said_and_the_code_is_0(redirected: str) -> None:
    done = _ended(redirected)
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    whole = _ended("").stdout
    assert done.stdout == ("" if redirected.startswith(">&-") else whole)
    assert len(whole.splitlines()) > 20


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device of Linux")
def test_a_full_disk_is_told() -> None:
    done = _ended("> /dev/full")
    assert done.returncode == 1
    assert done.stderr == "error: file system: No space left on device\n"
