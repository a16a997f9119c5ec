"""Words of the findings."""

from __future__ import annotations


def counted(count: int, one: str, many: str) -> str:
    """The number with the right word."""
    return f"{count} {one if count == 1 else many}"
