"""The command line. This module stays light: commands are loaded when they are called."""


def main() -> None:
    """Run the command line.

    The libraries' own threads are left out, unless the user chose them: matrices and panes are
    small, and threads that wait for their next one take the processor from those that work.
    """
    import os

    for library in ("OPENBLAS_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"):
        os.environ.setdefault(library, "1")

    from glasswork.cli.app import app

    try:
        app()
    except SystemExit as end:
        if isinstance(end.code, int):
            _leave(end.code)
        raise


def _leave(code: int) -> None:
    """End the process as it is: to take a window of 3000 panes apart, object by object, takes a
    quarter of a second. No command leaves anything to be done then.

    Where the output is gone, as when a reader of it has closed, it ends in Python's own way.
    """
    import os
    import sys

    try:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:  # it was closed before the command began
                stream.flush()
    except OSError:
        return
    os._exit(code)
