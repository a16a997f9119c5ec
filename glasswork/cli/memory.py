"""How the C library hands out memory, where that can be chosen."""

from __future__ import annotations

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8
"""Settings of mallopt in glibc's malloc.h."""

_HEAPS = 2
_OWN_PAGES, _KEPT_FREE = 8 << 20, 128 << 20
"""Bytes from which a thing gets pages of its own, and free bytes kept at a heap's end: to hand
pages back and take them again costs more time than the work on the bands of a picture in them."""

LOOK_ROUND_EVERY = 100_000
"""New objects between two searches for rings of them that nothing uses; a window of 3000 panes is
a million objects, none of them in a ring."""

_TURN_S = 0.0005
"""A thread that draws pictures waits so long at most for one that computes in Python."""


def for_one_job() -> None:
    """The settings of a process that does one large job and ends."""
    import gc
    import sys

    gc.set_threshold(LOOK_ROUND_EVERY)
    sys.setswitchinterval(_TURN_S)
    keep_few_heaps()


def keep_few_heaps() -> None:
    """Two heaps for all threads instead of one each, none of which takes what another let go.

    A third less memory for a pack of 400 textured panes. With a single heap the threads of the
    polygon engine wait for each other. Where the C library is not glibc nothing changes.
    """
    import ctypes

    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):
        return
    mallopt(_ARENA_MAX, _HEAPS)
    mallopt(_MMAP_THRESHOLD, _OWN_PAGES)
    mallopt(_TRIM_THRESHOLD, _KEPT_FREE)
