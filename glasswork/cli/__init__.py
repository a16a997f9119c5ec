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

    app()
