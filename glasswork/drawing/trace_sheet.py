"""The sheet of a drawing in a photo or on a scanner's dark lid: its four corners, laid flat."""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.drawing.trace_ink import Floats, cells_of
from glasswork.drawing.trace_rings import Mask

LEAST_SHEET = 0.25
"""A sheet fills at least this share of the picture."""
DARKER = 30.0
"""The table is at least so much darker than the sheet, in grey levels."""
RECTANGLE = 0.012
"""A sheet whose opposite sides differ by less than this share was not seen aslant."""
NARROW = 0.1
"""A rim narrower than this share of the picture may be the drawing's own border."""
_LOOK_PX = 700
_COARSE_PX = np.arange(-5.0, 6.01, 0.25)
_SPOTS = 400


class Sheet(Struct, frozen=True, kw_only=True):
    """A sheet seen in a picture.

    corners : from the top left clockwise, px · size_px : width and height when laid flat, on the
    mean scale of the picture · aslant : seen in perspective · place : 3 × 3, picture to sheet, px
    """

    corners: Floats
    size_px: tuple[float, float]
    aslant: bool
    place: Floats

    def flat(self, points: Floats) -> Floats:
        """Places of the picture on the sheet laid flat, px."""
        far = np.concatenate([points, np.ones((len(points), 1))], axis=1) @ self.place.T
        return np.asarray(far[:, :2] / far[:, 2:])

    def mask_outside(self, lines: Mask, *, rim_px: float) -> None:
        """Takes away what lies off the sheet, or on its very edge."""
        import cv2

        middle = self.corners.mean(axis=0)
        toward = middle - self.corners
        size = np.hypot(*toward.T)[:, None]
        inner = self.corners + toward / size * (rim_px * 1.5)
        keep = np.zeros_like(lines)
        cv2.fillConvexPoly(keep, np.round(inner).astype(np.int32), (255,))
        cv2.bitwise_and(lines, keep, dst=lines)


def find_sheet(grey: Mask, *, small: Mask | None = None, cell_px: int = 1) -> Sheet | None:
    """The one bright four-sided sheet with a darker table all round it; None if there is none.

    small : the picture in cells of cell_px, if it is known
    """
    import cv2

    cell = cell_px
    small = grey if small is None else small
    if (again := max(small.shape) // _LOOK_PX) > 1:
        small, cell = cells_of(small, again), cell * again
    limit, bright = cv2.threshold(small, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    # lines that reach the sheet's edge must not cut it apart
    closed = cv2.morphologyEx(bright, cv2.MORPH_CLOSE, np.ones((7, 7), np.uint8))
    contours, _ = cv2.findContours(closed, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return None
    largest = max(contours, key=cv2.contourArea)
    area = cv2.contourArea(largest)
    hull = cv2.convexHull(largest)
    quad = cv2.approxPolyDP(hull, 0.02 * cv2.arcLength(hull, True), True)[:, 0]
    if len(quad) != 4 or area < LEAST_SHEET * small.size or area > 0.985 * small.size:
        return None
    if area < 0.96 * cv2.contourArea(hull) or not _table_is_dark(np.asarray(small), quad):
        return None
    if _within_a_border(np.asarray(small), quad.astype(np.float64)):
        return None
    corners = _sides(np.asarray(small), quad.astype(np.float64), _COARSE_PX, limit=float(limit))
    if corners is None:
        return None
    full = (corners + 0.5) * cell - 0.5
    return _laid_flat(_from_top_left(_refined(grey, full, cell)), grey.shape)


def _refined(grey: Mask, corners: Floats, cell: int) -> Floats:
    """Corners found in cells, found anew in the picture itself; as they are if that fails."""
    near = np.arange(-1.5 * cell, 1.5 * cell + 0.1, 0.5)
    found = _sides(grey, corners, near) if cell > 1 else None
    if found is None or float(np.abs(found - corners).max()) > 2.0 * cell:
        return corners
    return found


def _table_is_dark(small: Mask, quad: NDArray[Any]) -> bool:
    """All round the sheet it is darker, and nearly all of the picture's rim is table."""
    import cv2

    inside = np.zeros_like(small)
    cv2.fillConvexPoly(inside, quad, (255,))
    wide = np.asarray(cv2.dilate(inside, np.ones((9, 9), np.uint8)))
    around = small[(wide > 0) & (inside == 0)]
    rim = np.concatenate([inside[0], inside[-1], inside[:, 0], inside[:, -1]])
    if len(around) < 50 or float((rim > 0).mean()) > 0.25:
        return False
    paper = float(np.percentile(small[inside > 0], 80.0))
    return float(np.percentile(around, 75.0)) < paper - DARKER


def _within_a_border(small: Mask, quad: Floats) -> bool:
    """Whether what looks like a sheet is the glass of a drawing cut off along its border: the dark
    rim is narrow, and leads meet it.
    """
    import cv2

    high, wide = small.shape
    low, most = quad.min(axis=0), quad.max(axis=0)
    rim = max(low[0], low[1], wide - 1 - most[0], high - 1 - most[1])
    if rim > NARROW * min(high, wide):
        return False
    middle = quad.mean(axis=0)
    toward = middle - quad
    inner = quad + toward / np.hypot(*toward.T)[:, None] * 4.0
    met = 0
    for a, b in zip(inner, np.roll(inner, -1, axis=0), strict=True):
        count = max(16, int(2.0 * np.hypot(*(b - a))))
        along = _sampled(small, a + np.linspace(0.03, 0.97, count)[:, None] * (b - a))
        light = np.asarray(cv2.dilate(along[None].astype(np.float32), np.ones((1, 41), np.uint8)))
        met += bool((along < light[0] - DARKER).any())
    return met >= 2


def _sides(
    picture: Mask, quad: Floats, reach: Floats, *, limit: float | None = None
) -> Floats | None:
    """Corners where the sheet's four sides meet, the sides found to a fraction of a pixel.

    reach : where to look for a side, outwards from the line between two corners · limit : between
    sheet and table; midway between the light at both ends of the reach, if it is not told
    """
    lines = []
    for i in range(4):
        a, b = quad[i], quad[(i + 1) % 4]
        along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
        out = np.array([along[1], -along[0]])
        if float((out * (quad.mean(axis=0) - a)).sum()) > 0.0:
            out = -out
        count = 80 if limit is not None else _SPOTS
        spots = a + np.linspace(0.08, 0.92, count)[:, None] * (b - a)
        grid = spots[:, None] + reach[None, :, None] * out
        values = _sampled(picture, grid.reshape(-1, 2)).reshape(len(spots), len(reach))
        level = np.full(count, limit) if limit is not None else _midway(values)
        falls = (values[:, :-1] >= level[:, None]) & (values[:, 1:] < level[:, None])
        some = falls.any(axis=1)
        if some.sum() < 20:
            return None
        k = (falls.shape[1] - 1 - np.argmax(falls[some, ::-1], axis=1)).astype(np.intp)
        row = np.flatnonzero(some)
        drop = values[row, k] - values[row, k + 1]
        share = (values[row, k] - level[row]) / np.maximum(drop, 1e-9)
        found = spots[row] + (reach[k] + (reach[1] - reach[0]) * share)[:, None] * out
        line = _steady_line(found)
        lines.append(line)
    corners = []
    for i in range(4):
        (p, d), (q, e) = lines[i - 1], lines[i]
        det = d[0] * e[1] - d[1] * e[0]
        if abs(det) < 0.2:
            return None
        t = ((q[0] - p[0]) * e[1] - (q[1] - p[1]) * e[0]) / det
        corners.append(p + t * d)
    return np.array(corners)


def _midway(values: Floats) -> Floats:
    """For each path from sheet to table, the light midway; none, where the table is no darker."""
    sheet, table = np.median(values[:, :5], axis=1), np.median(values[:, -5:], axis=1)
    return np.where(sheet - table >= DARKER, (sheet + table) / 2.0, -1.0)


def _steady_line(points: Floats) -> tuple[Floats, Floats]:
    """A place and a direction: the line through most of the points, strays left out."""
    kept = points
    for _ in range(4):
        middle = kept.mean(axis=0)
        _, _, axes = np.linalg.svd(kept - middle, full_matrices=False)
        off = np.abs((points - middle) @ axes[1])
        kept = points[off <= max(0.3, 2.5 * float(np.median(off)))]
    return middle, axes[0]


def _sampled(small: Mask, places: Floats) -> Floats:
    rows, columns = small.shape
    x = np.clip(places[:, 0], 0.0, columns - 1.001)
    y = np.clip(places[:, 1], 0.0, rows - 1.001)
    i, j = y.astype(np.intp), x.astype(np.intp)
    fy, fx = y - i, x - j
    return np.asarray(
        (small[i, j] * (1.0 - fx) + small[i, j + 1] * fx) * (1.0 - fy)
        + (small[i + 1, j] * (1.0 - fx) + small[i + 1, j + 1] * fx) * fy
    )


def _from_top_left(quad: Floats) -> Floats:
    middle = quad.mean(axis=0)
    turn = np.arctan2(quad[:, 1] - middle[1], quad[:, 0] - middle[0])
    ordered = quad[np.argsort(turn)]
    return np.roll(ordered, -int(np.argmin(ordered.sum(axis=1))), axis=0)


def _laid_flat(corners: Floats, shape: tuple[int, ...]) -> Sheet:
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    wide, high = (sides[0] + sides[2]) / 2.0, (sides[1] + sides[3]) / 2.0
    uneven = max(abs(sides[0] - sides[2]) / wide, abs(sides[1] - sides[3]) / high)
    aslant = bool(uneven > RECTANGLE or _skewed(corners))
    if aslant:
        middle = ((shape[1] - 1) / 2.0, (shape[0] - 1) / 2.0)
        ratio = side_ratio(corners, middle) or wide / high
        scale = float(np.sqrt(wide * high))
        wide, high = scale * np.sqrt(ratio), scale / np.sqrt(ratio)
    goal = np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
    return Sheet(
        corners=corners,
        size_px=(float(wide), float(high)),
        aslant=aslant,
        place=homography(corners, goal),
    )


def _skewed(corners: Floats) -> bool:
    """A corner is off the right angle by more than a degree."""
    along = np.roll(corners, -1, axis=0) - corners
    along /= np.hypot(*along.T)[:, None]
    return bool(np.abs((along * np.roll(along, 1, axis=0)).sum(axis=1)).max() > np.sin(np.pi / 180))


def homography(here: Floats, there: Floats) -> Floats:
    """The 3 × 3 map that takes four places to four others. Source: [hartley2004]"""
    rows = []
    for (x, y), (u, v) in zip(here, there, strict=True):
        rows.append((x, y, 1, 0, 0, 0, -u * x, -u * y))
        rows.append((0, 0, 0, x, y, 1, -v * x, -v * y))
    solved = np.linalg.solve(np.array(rows, dtype=np.float64), there.reshape(-1))
    return np.append(solved, 1.0).reshape(3, 3)


def side_ratio(corners: Floats, middle: tuple[float, float]) -> float | None:
    """Width over height of a rectangle seen in perspective by a camera of square pixels that looks
    at the picture's middle; None if its focal length does not show. Source: [zhang2007]
    """
    m1, m2, m4, m3 = (np.array([*(c - middle), 1.0]) for c in corners)
    k2 = np.dot(np.cross(m1, m4), m3) / np.dot(np.cross(m2, m4), m3)
    k3 = np.dot(np.cross(m1, m4), m2) / np.dot(np.cross(m3, m4), m2)
    n2, n3 = k2 * m2 - m1, k3 * m3 - m1
    if abs(n2[2]) < 1e-4 or abs(n3[2]) < 1e-4:
        return None
    focal = -(n2[0] * n3[0] + n2[1] * n3[1]) / (n2[2] * n3[2])
    if focal <= 0.0:
        return None
    weigh = np.array([1.0 / focal, 1.0 / focal, 1.0])
    return float(np.sqrt((n2 * n2 * weigh).sum() / (n3 * n3 * weigh).sum()))
