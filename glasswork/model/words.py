"""Numbers as they are said to the maker."""

from __future__ import annotations


def counted(count: int, one: str, many: str = "") -> str:
    """The number with the right word: "1 film", "2 films".

    many : the word for several, where it is not `one` with an s
    """
    return f"{count} {one if count == 1 else many or f'{one}s'}"
