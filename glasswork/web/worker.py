"""A worker process: takes a job, tells of its stages, gives the result or the fault.

Messages are pickles with their length before them, on stdin and stdout. The page starts this as
`python -m glasswork.web.worker` and ends it when a job runs too long or is called off.
"""

from __future__ import annotations

import os
import pickle
import struct
import sys
from typing import IO, Any, Final

from glasswork.errors import GlassworkError

MEMORY: Final = 4 * 1024**3
"""Bytes of address space a job may take up, where the system can hold it to that."""


def hold_to_limits() -> None:
    """Less memory and a lower turn than the page itself."""
    if sys.platform != "win32":
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_AS)
        limit = MEMORY if most == resource.RLIM_INFINITY else min(MEMORY, most)
        resource.setrlimit(resource.RLIMIT_AS, (limit, most))
        os.nice(5)


def send(out: IO[bytes], message: Any) -> None:
    """Write one message."""
    data = pickle.dumps(message, protocol=pickle.HIGHEST_PROTOCOL)
    out.write(struct.pack("<Q", len(data)) + data)
    out.flush()


def receive(source: IO[bytes]) -> Any:
    """Read one message; None at the end."""
    head = source.read(8)
    if len(head) < 8:
        return None
    (length,) = struct.unpack("<Q", head)
    return pickle.loads(source.read(length))


def work(source: IO[bytes], out: IO[bytes]) -> None:
    """Job after job, until the page closes the pipe."""
    from glasswork.web import jobs

    send(out, ("ready", None))
    while (job := receive(source)) is not None:
        name, arguments = job
        try:
            result = jobs.JOBS[name](*arguments, begin=lambda stage: send(out, ("stage", stage)))
            send(out, ("done", result))
        except GlassworkError as fault:
            lines = [(one.where, one.what, one.hint) for one in fault.each()]
            send(out, ("fault", lines))
        except MemoryError:
            send(
                out, ("fault", [(name, "needs more memory than a job may take", "make it smaller")])
            )
        except Exception as exc:
            import traceback

            traceback.print_exc()
            send(out, ("fault", [(name, f"failed: {type(exc).__name__}: {exc}"[:300], "")]))


def main() -> None:
    """Take jobs from stdin."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints goes to stderr, not between the messages
    hold_to_limits()
    work(sys.stdin.buffer, out)


if __name__ == "__main__":
    main()
