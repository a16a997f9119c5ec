"""What is inked on the films: cover under the leads, and films in parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.model.geometry import Affine, Region
from glasswork.model.report import CheckReport, Report
from glasswork.planar import Area, AreaSet, last_holding
from glasswork.units import mm_to_px
from glasswork.verify.checks import check
from glasswork.verify.colours import FLAT
from glasswork.verify.frames import finished
from glasswork.verify.shown import RENDER_DPI, FilmPicture

SURFACE_RANGE: Final = 50
"""How much paler than its flat colour the brightest spots of a surface may be."""
BARE_MM2: Final = 0.05
BARE_SHARE: Final = 0.35
SPOT_MM2: Final = 0.1
"""A bare spot smaller than this, in the bleed under a lead, shows no light."""
CLEAR_FROM: Final = 240
"""A pane whose channel values are all at least this may look like bare film."""


def parts(files: Mapping[str, bytes], report: Report) -> Iterator[CheckReport]:
    """Of a film in parts: together they are the film wherever the frame is open, and each pane is
    on one of them."""
    films = sorted({page.film for page in report.films.pages if page.parts > 1})
    inside = Area.union(_openings(files, report)) if films else Area.empty()
    for film in films:
        pages = {page.part: page for page in report.films.pages if page.film == film}
        parts = [Area.of([Region(page.trim_mm)]) for page in pages.values()]
        lost = (inside - Area.union(parts)).area_mm2
        yield check(
            f"parts of film {film} cover it",
            f"{len(parts)} parts",
            f"{lost:.2f} mm² left out",
            f"{BARE_MM2} mm²",
            ok=lost <= BARE_MM2,
        )
        told = sorted(name for page in pages.values() for name in page.panes)
        alone = len(told) == len(set(told)) and set(told) == {pane.id for pane in report.panes}
        yield check(
            f"panes on parts of film {film}",
            "each on one",
            "each on one" if alone else f"{len(told)} places for {len(report.panes)} panes",
            "equal",
            ok=alone,
        )


def cover(
    pictures: list[FilmPicture], files: Mapping[str, bytes], report: Report
) -> Iterator[CheckReport]:
    """Nothing inside the frame's openings, nor the bleed's breadth under it, is bare film.

    Glass that is not flat has bare spots of its own: there the bleed alone is measured, and by its
    share, for bleed that is missing is missing all along the edge.
    """
    bleed = max(0.0, report.registration.bleed_mm - 0.1)
    openings = _openings(files, report)
    # whichever way films and frame are off, no point of an edge moves further than the bleed
    seen = Area.union([opening.grown(bleed, join="round", segments=3) for opening in openings])
    most = BARE_MM2
    if any(pane.finish != FLAT for pane in report.panes):
        seen -= Area.union(openings)
    film = Area.union(
        Area.of([Region(page.trim_mm)])
        for page in report.films.pages
        if page.film == page.copy == 1 and page.trim_mm
    )
    seen = seen & film  # nothing is printed beyond its edge
    if any(pane.finish != FLAT for pane in report.panes):
        most = BARE_SHARE * seen.area_mm2
    for picture in pictures:
        bare = _bare_mm2(picture, seen, report)
        yield check(
            f"ink under the leads, {picture.told}",
            f"ink {bleed:.2f} mm under every lead",
            f"{bare:.2f} mm² bare",
            f"{most:.2f} mm²",
            ok=bare <= most,
        )


def _openings(files: Mapping[str, bytes], report: Report) -> list[Area]:
    """The glazed openings of the front inner layer, in panel mm."""
    facts = next(frame for frame in report.frames if frame.file == "frames/front-inner.svg")
    solid = finished(files[facts.file], kerf_mm=facts.kerf_mm).mapped(
        Affine(*facts.panel_to_file_mm).inverse()
    )
    holes = [Region(hole) for region in solid.regions() for hole in region.holes]
    glazed = last_holding([pane.seed_point_mm for pane in report.panes], AreaSet.of_regions(holes))
    return [Area.of([holes[i]]) for i in sorted(set(glazed)) if i >= 0]


def _bare_mm2(picture: FilmPicture, seen: Area, report: Report) -> float:
    """Bare film inside an area, less the panes whose glass is nearly clear on this film."""
    import cv2

    to_page = Affine(*picture.facts.panel_to_page_mm)
    px = mm_to_px(1.0, dpi=RENDER_DPI)
    if seen.is_empty:
        return 0.0
    placed = seen.mapped(to_page)
    left, top = (max(0, int(edge * px) - 2) for edge in placed.bounds[:2])
    right, bottom = (int(edge * px) + 3 for edge in placed.bounds[2:])
    rgb = picture.rgb[top:bottom, left:right]
    mask = np.zeros(rgb.shape[:2], np.uint8)
    for region in placed.regions():
        rings = [
            np.round((np.array(ring) * px - (left, top)) * 16.0).astype(np.int32)
            for ring in region.rings
        ]
        cv2.fillPoly(mask, rings, 1, shift=4)
    seen_px = np.asarray(cv2.erode(mask, np.ones((3, 3), np.uint8))) > 0
    light = np.asarray(cv2.inRange(rgb, (CLEAR_FROM,) * 3, (255,) * 3)) > 0
    bare = (light & seen_px).astype(np.uint8)
    bare[_pale(picture, report, (left, top), bare.shape) > 0] = 0
    _, labels = cv2.connectedComponents(bare, connectivity=8, ltype=cv2.CV_32S)
    spots = cv2.morphologyEx(bare, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    counts = np.bincount(labels[spots > 0], minlength=int(labels.max()) + 1) / px**2
    counts[counts < SPOT_MM2] = 0.0
    counts[0] = 0.0
    return float(counts.sum())


def _pale(
    picture: FilmPicture, report: Report, corner: tuple[int, int], shape: tuple[int, ...]
) -> NDArray[np.uint8]:
    """The panes whose glass is nearly clear on this film, and a pixel round them."""
    import cv2

    place = Affine(*picture.facts.panel_to_page_mm)
    px = mm_to_px(1.0, dpi=RENDER_DPI)
    outlines = [
        np.round((np.array(place.ring(ring)) * px - corner) * 16.0).astype(np.int32)
        for pane in report.panes
        for ring in pane.ink_outline_mm
        if min(pane.device[picture.facts.film - 1])
        >= CLEAR_FROM - (0 if pane.finish == FLAT else SURFACE_RANGE)
    ]
    mask = np.zeros(shape, np.uint8)
    if outlines:
        cv2.fillPoly(mask, outlines, 1, shift=4)
    return np.asarray(cv2.dilate(mask, np.ones((3, 3), np.uint8)), np.uint8)
