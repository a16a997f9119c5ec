"""Page boxes, registration marks, rules and mirroring, measured on the rendered film pages."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from math import hypot
from typing import Any, Final

import numpy as np

from glasswork.model.geometry import Affine, Point
from glasswork.model.report import CheckReport, Report
from glasswork.units import mm_to_px, pt_to_mm
from glasswork.verify.checks import check, within
from glasswork.verify.shown import CLOSE_DPI, FilmPicture

MARK_LIMIT_MM: Final = 0.05
MARK_WINDOW_MM: Final = 2.6
"""Half the side of the square in which a mark stands alone."""
PAGES_LIMIT_MM: Final = 0.02
RULE_MM: Final = 100.0
RULE_LIMIT_MM: Final = 0.05
BOX_LIMIT_MM: Final = 0.01


def boxes(pages: Sequence[Any], report: Report) -> Iterator[CheckReport]:
    width, height = report.films.page_mm
    worst, nested = 0.0, True
    for page in pages:
        media = [pt_to_mm(value) for value in page.get_mediabox()]
        trim = [pt_to_mm(value) for value in page.get_trimbox()]
        worst = max(worst, abs(media[2] - media[0] - width), abs(media[3] - media[1] - height))
        nested &= media[0] <= trim[0] < trim[2] <= media[2]
        nested &= media[1] <= trim[1] < trim[3] <= media[3]
    yield check(
        "film page size",
        f"{width:g} x {height:g} mm",
        f"off by {worst:.4f} mm" if worst >= 0.00005 else "as it should be",
        f"± {BOX_LIMIT_MM} mm",
        ok=worst <= BOX_LIMIT_MM,
    )
    yield check(
        "page boxes nested", "trim inside media", str(nested).lower(), "all pages", ok=nested
    )


def uncoloured(data: bytes) -> CheckReport:
    found = re.findall(rb"/(ICCBased|OutputIntents?|CalRGB|Lab)\b", data)
    return check(
        "no colour management",
        "DeviceRGB only",
        b", ".join(sorted(set(found))).decode() or "DeviceRGB only",
        "none",
        ok=not found,
    )


def _centre_of_mark(picture: FilmPicture, expected: Point) -> Point:
    """Where the middle of a mark lies, in page mm: the centroid of what is dark."""
    part, (left, top) = picture.darkness(expected, MARK_WINDOW_MM)
    weight = np.where(part > 0.25, part, 0.0)
    total = float(weight.sum())
    if total <= 0.0:
        return (float("inf"), float("inf"))
    rows, columns = np.mgrid[0 : part.shape[0], 0 : part.shape[1]]
    px = mm_to_px(1.0, dpi=CLOSE_DPI)
    x = float((weight * (columns + 0.5)).sum()) / total / px + left
    y = float((weight * (rows + 0.5)).sum()) / total / px + top
    return (x, y)


def marks(pictures: list[FilmPicture]) -> Iterator[CheckReport]:
    seen = [[_centre_of_mark(p, mark) for mark in p.facts.marks_mm] for p in pictures]
    off = [
        hypot(x - mark[0], y - mark[1])
        for picture, places in zip(pictures, seen, strict=True)
        for (x, y), mark in zip(places, picture.facts.marks_mm, strict=True)
    ]
    worst = max(off, default=float("inf"))
    yield check(
        "registration marks",
        "where the report says",
        f"off by {worst:.3f} mm" if worst >= 0.0005 else "where they should be",
        f"{MARK_LIMIT_MM} mm",
        ok=worst <= MARK_LIMIT_MM,
    )
    first: dict[int, list[Point]] = {}
    apart: list[float] = []
    for picture, places in zip(pictures, seen, strict=True):
        back = Affine(*picture.facts.panel_to_page_mm).inverse()
        panel = [back.apply(place) for place in places]
        others = first.setdefault(picture.facts.part, panel)
        apart += [min(hypot(x - ox, y - oy) for ox, oy in others) for x, y in panel]
    yield check(
        "film against film",
        "marks coincide",
        f"apart by {max(apart, default=float('inf')):.3f} mm",
        f"{PAGES_LIMIT_MM} mm",
        ok=max(apart, default=float("inf")) <= PAGES_LIMIT_MM,
    )


def _tick(picture: FilmPicture, end: Point, *, along: int) -> float:
    """Where the tick at a rule's end lies along the rule (0: x, 1: y), in page mm."""
    part, corner = picture.darkness(end, 1.2)
    profile = part if along == 0 else part.T
    middle = profile.shape[0] // 2
    clear = round(mm_to_px(0.35, dpi=CLOSE_DPI))
    bands = (profile[: middle - clear], profile[middle + clear :])
    line = max((band.sum(axis=0) for band in bands), key=lambda sums: float(sums.max()))
    line = np.where(line > 0.4 * line.max(initial=0.0), line, 0.0)
    if line.sum() <= 0.0:
        return float("inf")
    centre = float((line * (np.arange(len(line)) + 0.5)).sum() / line.sum())
    return centre / mm_to_px(1.0, dpi=CLOSE_DPI) + corner[along]


def rules(pictures: list[FilmPicture]) -> Iterator[CheckReport]:
    """Rules are 100 mm of the finished print: on the page that much over the print scale."""
    for along, axis in ((0, "across"), (1, "down")):
        promised, measured = RULE_MM, 0.0
        for picture in pictures:
            for first, last in picture.facts.rules_mm:
                drawn = abs(last[along] - first[along])
                if drawn < abs(last[1 - along] - first[1 - along]):
                    continue
                ends = [_tick(picture, end, along=along) for end in (first, last)]
                length = abs(ends[1] - ends[0])
                if measured == 0.0 or abs(length - drawn) > abs(measured - promised):
                    promised, measured = drawn, length
        yield within(f"100 mm rule {axis}", promised, measured, RULE_LIMIT_MM, "mm")


def mirrors(pictures: list[FilmPicture]) -> CheckReport:
    wrong = [
        p.facts.film
        for p in pictures
        if Affine(*p.facts.panel_to_page_mm).mirrors != p.facts.mirrored
    ]
    return check(
        "mirroring as told",
        "each page",
        f"wrong: film {wrong}" if wrong else "each page",
        "all",
        ok=not wrong,
    )
