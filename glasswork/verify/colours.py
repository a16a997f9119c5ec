"""The colours of the panes, measured in the middles of their ink."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.model.geometry import Point
from glasswork.model.report import CheckReport, PaneReport, Report
from glasswork.units import mm_to_px
from glasswork.verify.checks import check
from glasswork.verify.shown import RENDER_DPI, FilmPicture

COLOUR_LIMIT: Final = 1
FLAT: Final = "clear"
SHADED: Final = "shaded"
"""Ends the finish of glass with paint on it that is not opaque."""
TEXTURE_MM: Final = 0.6
"""Half the side of the square that glass which is not flat is measured over, at most."""
TEXTURE_LIMIT: Final = 30.0
"""How far the middles of textured panes may lie from their flat colours, on average."""
FEW_PANES: Final = 6.25
"""Of fewer panes the average may lie further off: a middle may fall into one streak, and chance
evens out with the square root of their number."""
LEAST_LIGHT: Final = 0.2
"""Share of its flat colour that paint which is not opaque leaves of glass at least."""
PLAIN_ROOM_MM: Final = 0.2
"""A pixel of the picture may lie half on the edge of a pane with less room than this."""
LOOKS: Final = 48
"""Panes that are looked at closer on each film, at most."""
LEAD_ROOM_MM: Final = 0.05
LEAST_ROOM_MM: Final = 0.002
"""Less room than this is not ink that can be measured."""


def colours(pictures: list[FilmPicture], report: Report) -> Iterator[CheckReport]:
    """Flat panes have their device values; the others are about them."""
    panes = [pane for pane in report.panes if pane.seed_room_mm >= LEAST_ROOM_MM]
    flat = [pane for pane in panes if pane.finish == FLAT]
    rough = [pane for pane in panes if pane.finish != FLAT and pane.seed_room_mm > PLAIN_ROOM_MM]
    worst, where = max(
        (_furthest(picture, flat) for picture in pictures),
        default=(0, ""),
        key=lambda pair: pair[0],
    )
    lost = next((name for picture in pictures for name in _off_film(picture, panes)), "")
    if lost:
        worst, where = 255, lost
    yield check(
        "device colours",
        "as reported",
        f"off by {worst}{where}" if worst else "as reported",
        f"{COLOUR_LIMIT} of 255",
        ok=worst <= COLOUR_LIMIT,
    )
    apart = [far for picture in pictures for far in _apart(picture, rough)]
    textured = float(np.mean(apart or [0.0]))
    limit = TEXTURE_LIMIT * max(1.0, sqrt(FEW_PANES / max(1, len(rough))))
    yield check(
        "glass that is not flat",
        "about its flat colour",
        f"off by {textured:.1f} on average" if apart else "none",
        f"{limit:.1f} of 255",
        ok=textured <= limit,
    )


def _places(picture: FilmPicture, points: Sequence[Point]) -> tuple[NDArray[np.intp], ...]:
    """Rows and columns of the pixels at places of the panel."""
    a, b, c, d, e, f = picture.facts.panel_to_page_mm
    px = mm_to_px(1.0, dpi=RENDER_DPI)
    at = np.array(points).reshape(-1, 2) @ [[a, b], [c, d]] + [e, f]
    columns, rows = np.floor(at * px).T.astype(np.intp)
    return rows, columns


def _seeds(panes: list[PaneReport]) -> list[Point]:
    return [pane.seed_point_mm for pane in panes]


def _off_film(picture: FilmPicture, panes: list[PaneReport]) -> Iterator[str]:
    rows, columns = _places(picture, _seeds(panes))
    height, width = picture.rgb.shape[:2]
    off = (rows < 0) | (rows >= height) | (columns < 0) | (columns >= width)
    for i in np.flatnonzero(off).tolist():
        yield f", pane {panes[i].id} lies off film {picture.facts.film}"


def _furthest(picture: FilmPicture, panes: list[PaneReport]) -> tuple[int, str]:
    """The flat pane furthest from its device values, and its name.

    Panes too small for the picture's pixels are looked at closer where they seem to be off.
    """
    if not panes:
        return 0, ""
    film = picture.facts.film
    rows, columns = _places(picture, _seeds(panes))
    height, width = picture.rgb.shape[:2]
    seen = picture.rgb[rows.clip(0, height - 1), columns.clip(0, width - 1)].astype(int)
    promised = np.array([pane.device[film - 1] for pane in panes])
    far = np.abs(seen - promised).max(axis=1)
    room = np.array([pane.seed_room_mm for pane in panes])
    doubtful = np.flatnonzero((far > COLOUR_LIMIT) & (room < PLAIN_ROOM_MM))
    for i in doubtful[np.argsort(-room[doubtful])][:LOOKS].tolist():
        closer = picture.closer(panes[i].seed_point_mm, panes[i].seed_room_mm)
        far[i] = int(np.abs(closer.astype(int) - promised[i]).max())
    far[doubtful[np.argsort(-room[doubtful])][LOOKS:]] = 0
    worst = int(np.argmax(far))
    return int(far[worst]), f", pane {panes[worst].id} on film {film}"


def _apart(picture: FilmPicture, panes: list[PaneReport]) -> list[float]:
    """How far the middle of each pane that is not flat lies from its flat colour."""
    import cv2

    if not panes:
        return []
    px = mm_to_px(1.0, dpi=RENDER_DPI)
    rooms = np.minimum(TEXTURE_MM, [pane.seed_room_mm / sqrt(2.0) for pane in panes])
    halves = (rooms * px).astype(np.intp)
    rows, columns = _places(picture, _seeds(panes))
    spans = np.stack([rows - halves, rows + halves + 1, columns - halves, columns + halves + 1])
    means = [
        cv2.mean(square)[:3] if square.size else (np.nan,) * 3
        for top, end, left, right in np.maximum(spans, 0).T.tolist()
        for square in (picture.rgb[top:end, left:right],)
    ]
    seen = np.array(means)
    flat = np.array([pane.device[picture.facts.film - 1] for pane in panes], dtype=float)
    shaded = np.array([pane.finish.endswith(SHADED) for pane in panes])
    darkest = np.where(shaded[:, None], flat * LEAST_LIGHT, flat)
    apart = np.maximum(seen - flat, darkest - seen).max(axis=1)
    return list(apart[~np.isnan(apart)].tolist())


def printed_leads(pictures: list[FilmPicture], report: Report) -> Iterator[CheckReport]:
    """Device colour in the middles of the broadest printed leads; nothing where none is told."""
    leads = report.films.leads
    if leads is None or not leads.places_mm:
        return
    worst, where = 0, ""
    for picture in pictures:
        film = picture.facts.film
        height, width = picture.rgb.shape[:2]
        rows, columns = _places(picture, leads.places_mm)
        for place, row, column in zip(
            leads.places_mm, rows.tolist(), columns.tolist(), strict=True
        ):
            off = 255
            if 0 <= row < height and 0 <= column < width:
                seen = picture.rgb[row, column].astype(int)
                off = int(np.abs(seen - leads.device[film - 1]).max())
                if off > COLOUR_LIMIT:  # a fine lead's middle may share its pixel with glass
                    closer = picture.closer(place, LEAD_ROOM_MM).astype(int)
                    off = int(np.abs(closer - leads.device[film - 1]).max())
            if off > worst:
                worst, where = off, f" at {place[0]:.1f}, {place[1]:.1f} mm on film {film}"
    yield check(
        "printed leads",
        "as reported",
        f"off by {worst}{where}" if worst else "as reported",
        f"{COLOUR_LIMIT} of 255",
        ok=worst <= COLOUR_LIMIT,
    )
