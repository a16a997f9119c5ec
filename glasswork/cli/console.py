"""Where tables go: as wide as the terminal, and wide enough when there is none."""

from __future__ import annotations

from rich.console import Console

PIPED_COLUMNS = 140


def wide_console() -> Console:
    """Standard output."""
    console = Console(highlight=False, markup=False)
    if not console.is_terminal:
        console.width = PIPED_COLUMNS
    return console
