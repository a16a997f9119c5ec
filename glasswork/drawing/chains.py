"""Segments of a net joined into lengths of lead: from joint to joint, or round without one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from glasswork.drawing.inks import Stroke
from glasswork.drawing.net import Net
from glasswork.model.window import Role


class Chain(Struct, frozen=True):
    """Half-edges that follow each other along one lead; `closed` if it has no joint."""

    halves: tuple[int, ...]
    closed: bool


def chains_of(net: Net, strokes: Sequence[Stroke]) -> list[Chain]:
    """The lengths of lead of a net: divided where leads meet, or width or role change."""
    kinds: dict[tuple[float, Role | None], int] = {}
    kind = [kinds.setdefault((s.pen.width_mm, s.role), len(kinds)) for s in strokes]
    keys = [kind[s] for s in net.source.tolist()]
    degree = np.bincount(net.origin).tolist()
    count = net.count
    origin = net.origin.tolist()
    leaving: dict[int, list[int]] = {}
    for half, node in enumerate(origin):
        if degree[node] == 2:
            leaving.setdefault(node, []).append(half)

    def onward(half: int) -> int:
        """The half-edge that carries the lead on over a plain corner; -1 at a joint."""
        back = half - count if half >= count else half + count
        pair = leaving.get(origin[back])
        if pair is None:
            return -1
        other = pair[0] if pair[1] == back else pair[1]
        return other if keys[other % count] == keys[half % count] else -1

    used = [False] * count
    found = []
    for segment in range(count):
        if used[segment]:
            continue
        used[segment] = True
        if origin[segment] not in leaving and origin[segment + count] not in leaving:
            found.append(Chain((segment,), False))
            continue
        forward = [segment]
        closed = False
        while (half := onward(forward[-1])) >= 0:
            if half == segment:
                closed = True
                break
            used[half % count] = True
            forward.append(half)
        backward: list[int] = []
        if not closed:
            at = segment + count
            while (half := onward(at)) >= 0:
                used[half % count] = True
                backward.append(half - count if half >= count else half + count)
                at = half
        found.append(Chain((*reversed(backward), *forward), closed))
    return found
