"""Draws the sample sketch: a heron in Varnholt's reed beds, as a hand would, scanned with faults.

Run as `python -m tests.scripts.draw_sketch sample_designs/heron-sketch.png`. Invented drawing;
the same bytes on every run.
"""

from __future__ import annotations

import sys
from io import BytesIO
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

DPI = 200
PX = DPI / 25.4
PAPER_MM = (112.0, 142.0)
MARGIN = 6.0
Points = list[tuple[float, float]]

FRAME: Points = [(2, 2), (98, 2), (98, 128), (2, 128), (2, 2)]
BAR: Points = [(2, 92), (98, 92)]
SUN: Points = [(70 + 13 * np.cos(a), 27 + 13 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 25)]
LINES: list[Points] = [
    [(2, 22), (20, 18), (38, 21), (58.5, 20.8)],  # upper cloud
    [(81, 20), (90, 18), (98, 20)],
    [(2, 44), (14, 42), (30, 44)],  # hills
    [(43, 45), (58, 36), (66, 39.5)],
    [(78, 37), (88, 33), (98, 38)],
    [(2, 66), (16, 64), (28.5, 67)],  # shore
    [(59, 64), (78, 62), (98, 66)],
    [
        (28, 44),
        (27, 38),
        (31, 32),
        (38, 30),
        (44, 33),
        (44.5, 39),
        (41, 45),
        (41, 52),
    ],  # head, neck
    [(28, 44), (31, 42), (34, 46), (33, 54), (29, 60), (28, 68)],
    [(28, 44), (14, 40.5), (27.5, 38.4)],  # beak
    [(41, 52), (52, 55), (60, 64), (66, 78), (70, 84)],  # back, wing
    [(28, 68), (33, 78), (44, 82), (56, 82), (70, 84)],  # belly
    [(41, 52), (44, 62), (52, 72), (66, 78)],  # wing line
    [(44, 82), (43, 92)],
    [(49, 82.5), (50, 92)],
    [(12, 128), (16, 110), (13, 92), (15, 78), (11, 65)],  # reeds
    [(26, 128), (24, 108), (21, 92)],
    [(84, 128), (82, 108), (86, 92), (83, 76), (87, 63.5)],
    [(72, 128), (74, 110), (71, 92)],
    [(2, 104), (8, 102), (14.8, 104)],  # ripples
    [(24, 106), (40, 102), (56, 106), (73, 104)],
    [(83, 105), (90, 103), (98, 105)],
    [(25, 118), (42, 115), (58, 119), (73, 116)],
    [(40, 102.5), (44, 92)],
    [(58, 119), (56, 128)],
    [(38, 128), (42, 115)],
]
WASH: list[tuple[Points, tuple[int, int, int]]] = [
    ([(2, 2), (98, 2), (98, 21), (2, 22)], (125, 176, 218)),
    ([(2, 21), (98, 19), (98, 45), (2, 45)], (241, 205, 132)),
    ([(2, 43), (98, 37), (98, 66), (2, 66)], (214, 201, 230)),
    ([(2, 65), (98, 63), (98, 93), (2, 93)], (99, 179, 190)),
    ([(2, 92), (98, 92), (98, 128), (2, 128)], (28, 116, 121)),
    ([(2, 104), (98, 104), (98, 116), (2, 118)], (47, 95, 166)),
    ([(2, 64), (13, 64), (15, 78), (13, 92), (16, 110), (12, 128), (2, 128)], (134, 165, 68)),
    ([(98, 64), (86, 63), (83, 76), (86, 92), (82, 108), (84, 128), (98, 128)], (71, 105, 43)),
    (SUN, (200, 40, 31)),
    (
        [(28, 44), (27, 38), (31, 32), (38, 30), (44, 33), (44, 39), (41, 45), (41, 52), (52, 55),
         (60, 64), (66, 78), (70, 84), (56, 82), (44, 82), (33, 78), (28, 68), (29, 60), (33, 54),
         (34, 46), (31, 42)],
        (239, 243, 233),
    ),
    ([(41, 52), (52, 55), (60, 64), (66, 78), (52, 72), (44, 62)], (108, 130, 152)),
    ([(28, 44), (14, 40.5), (27.5, 38.4)], (227, 177, 45)),
]  # fmt: skip


def curve(points: Points) -> np.ndarray:
    """Through the points, by Catmull and Rom's spline; straight where there are but two."""
    p = np.array(points)
    if len(p) == 2:
        return np.linspace(p[0], p[1], 40)
    ends = np.vstack([2 * p[0] - p[1], p, 2 * p[-1] - p[-2]])
    t = np.linspace(0, 1, 24, endpoint=False)[:, None]
    parts = []
    for a, b, c, d in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        parts.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2
                   + (3 * b - a - 3 * c + d) * t**3)
        )  # fmt: skip
    return np.vstack([*parts, p[-1:]])


def stroke(
    canvas: np.ndarray, points: np.ndarray, width_mm: float, rng: np.random.Generator
) -> None:
    """A pen line that trembles and swells a little."""
    steps = np.linspace(0, 1, max(2, int(len(points) * 3)))
    at = np.stack(
        [np.interp(steps, np.linspace(0, 1, len(points)), points[:, i]) for i in (0, 1)], 1
    )
    shake = cv2.GaussianBlur(
        rng.normal(0, 1.2, (len(at), 2)).astype(np.float32), (1, 0 * 2 + 31), 8
    )
    swell = cv2.GaussianBlur(rng.normal(0, 1.0, (len(at), 1)).astype(np.float32), (1, 31), 9)
    at = (at + shake * 0.25 + MARGIN) * PX
    for (x0, y0), (x1, y1), s in zip(at, at[1:], swell[:, 0], strict=False):
        width = max(2, round((width_mm + 0.25 * float(s)) * PX))
        one, two = (round(x0 * 16), round(y0 * 16)), (round(x1 * 16), round(y1 * 16))
        cv2.line(canvas, one, two, 0, width, cv2.LINE_AA, 4)


def sketch() -> bytes:
    """The scan as PNG bytes."""
    rng = np.random.default_rng(20260)
    width, height = (round(side * PX) for side in PAPER_MM)
    wash = np.full((height, width, 3), 255, np.uint8)
    for points, colour in WASH:
        corners = np.round((np.array(points) + MARGIN) * PX * 16).astype(np.int32)
        cv2.fillPoly(wash, [corners], colour, cv2.LINE_AA, 4)
    ink = np.full((height, width), 255, np.uint8)
    for line in LINES:
        stroke(ink, curve(line), 1.15, rng)
    stroke(ink, curve(SUN), 1.15, rng)
    stroke(ink, curve(BAR), 2.7, rng)
    for one, two in pairwise(FRAME):
        stroke(ink, curve([one, two]), 4.0, rng)
    paper = cv2.resize(rng.normal(0, 1, (60, 48)).astype(np.float32), (width, height))
    grain = rng.normal(0, 2.5, (height, width)).astype(np.float32)
    x = np.linspace(-1, 1, width)[None]
    shade = 243 - 16 * (x + 1) / 2 + 3 * paper + grain
    cover = 1 - ink.astype(np.float32) / 255
    picture = wash.astype(np.float32) * (shade / 255)[..., None]
    picture = picture * (1 - cover[..., None]) + cover[..., None] * 34
    for _ in range(60):
        place = (int(rng.integers(width)), int(rng.integers(height)))
        cv2.circle(picture, place, int(rng.integers(1, 3)), (120, 118, 112), -1)
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), 0.9, 1.0)
    picture = cv2.warpAffine(
        picture, turn, (width, height), flags=cv2.INTER_LINEAR, borderValue=(240, 238, 232)
    )
    buffer = BytesIO()
    levels = np.clip(picture, 0, 255).astype(np.uint8) // 6 * 6
    Image.fromarray(levels).save(buffer, "PNG", dpi=(DPI, DPI), optimize=True)
    return buffer.getvalue()


if __name__ == "__main__":
    Path(sys.argv[1]).write_bytes(sketch())
