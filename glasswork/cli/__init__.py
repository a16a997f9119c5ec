"""The command line. This module stays light: commands are loaded when they are called."""


def main() -> None:
    """Run the command line.

    NumPy's matrices here are small: threads of its linear algebra would wait longer than they
    work. They are chosen before it is loaded; a choice of the user's own stands.
    """
    import os

    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

    from glasswork.cli.app import app

    app()
