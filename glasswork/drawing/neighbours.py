"""Which panes lie beside each other, and few groups in which neighbours differ."""

from __future__ import annotations

from glasswork.model.window import Window
from glasswork.planar import AreaSet


def neighbours(window: Window) -> tuple[tuple[int, int], ...]:
    """Pairs of indices of panes that face each other across one lead, smaller index first."""
    panes = AreaSet.of_regions([pane.region for pane in window.panes])
    reach = 1.2 * _typical_width(window)
    here, there = panes.within(panes, reach)
    return tuple((i, j) for i, j in zip(here.tolist(), there.tolist(), strict=True) if i < j)


def _typical_width(window: Window) -> float:
    widths = sorted(member.width_mm for member in window.members)
    return widths[len(widths) // 2] if widths else 1e-3


def colour_groups(window: Window) -> dict[str, int]:
    """A group for each pane id, 0 upwards; neighbours differ, and the groups are few.

    The pane with the most groups round it is grouped next, then the one with the most
    neighbours. Source: [brelaz1979]
    """
    near: list[set[int]] = [set() for _ in window.panes]
    for i, j in neighbours(window):
        near[i].add(j)
        near[j].add(i)
    group = [-1] * len(near)
    taken: list[set[int]] = [set() for _ in near]
    buckets: dict[tuple[int, int], set[int]] = {}
    for i in range(len(near)):
        buckets.setdefault((0, len(near[i])), set()).add(i)
    for _ in near:
        best = max(key for key, bucket in buckets.items() if bucket)
        i = min(buckets[best])
        buckets[best].discard(i)
        if not buckets[best]:
            del buckets[best]
        number = 0
        while number in taken[i]:
            number += 1
        group[i] = number
        for j in near[i]:
            if group[j] < 0 and number not in taken[j]:
                key = (len(taken[j]), len(near[j]))
                buckets[key].discard(j)
                if not buckets[key]:
                    del buckets[key]
                taken[j].add(number)
                buckets.setdefault((len(taken[j]), len(near[j])), set()).add(j)
    return {pane.id: group[i] for i, pane in enumerate(window.panes)}
