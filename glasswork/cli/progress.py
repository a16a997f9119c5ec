"""Progress on a terminal, for work that lasts; silence everywhere else."""

from __future__ import annotations

import sys
import threading
from types import TracebackType
from typing import Any, Final

PATIENCE_S: Final = 0.5


class Progress:
    """Shows the running stage on stderr once the work has lasted half a second.

    Use as a context; call it with each stage's name. Shows nothing if stderr is no terminal.
    """

    def __init__(self) -> None:
        self._shown: Any = None
        self._stage = ""
        self._ended = False
        self._lock = threading.Lock()
        self._timer: threading.Timer | None = None

    def __enter__(self) -> Progress:
        if sys.stderr.isatty():
            self._timer = threading.Timer(PATIENCE_S, self._show)
            self._timer.daemon = True
            self._timer.start()
        return self

    def __call__(self, stage: str) -> None:
        with self._lock:
            self._stage = stage
            if self._shown is not None:
                self._shown.update(f"{stage} …")

    def _show(self) -> None:
        from rich.console import Console

        with self._lock:
            if self._ended:
                return
            self._shown = Console(stderr=True).status(f"{self._stage} …")
            self._shown.start()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._timer is not None:
            self._timer.cancel()
        with self._lock:
            self._ended = True
            if self._shown is not None:
                self._shown.stop()
