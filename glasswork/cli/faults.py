"""Faults become one line each on stderr, and an exit code."""

from __future__ import annotations

import sys
from typing import Final

import click

from glasswork.errors import GlassworkError

EXIT_INPUT: Final = 1
EXIT_USAGE: Final = 2


def run_with_exit_codes(command: click.Command) -> None:
    """0 done; 1 the input cannot be used, one line a fault; 2 wrong usage."""
    try:
        status = command.main(standalone_mode=False)
    except click.UsageError as exc:
        exc.show()
        sys.exit(EXIT_USAGE)
    except click.exceptions.Exit as exc:
        sys.exit(exc.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped; nothing was written", err=True)
        sys.exit(130)
    except GlassworkError as exc:
        show_faults(exc)
        sys.exit(EXIT_INPUT)
    except OSError as exc:
        place = exc.filename or "file system"
        click.echo(f"error: {place}: {exc.strerror or exc}", err=True)
        sys.exit(EXIT_INPUT)
    sys.exit(status if isinstance(status, int) else 0)


def show_faults(error: GlassworkError) -> None:
    """One line a fault: where, what (value against limit), hint."""
    for fault in error.each():
        line = " ".join(str(fault).split())
        click.echo(f"error: {line}", err=True)
