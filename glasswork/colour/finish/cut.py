"""Every pane gets its own piece of its finish's sheet: place and direction by the seed.

Levels are one byte a pixel: offset -1 (lightest) at level 0, 0 at 127, +1 at 254.
"""

from __future__ import annotations

import struct
from hashlib import blake2b
from itertools import chain
from math import hypot
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.colour.finish.fields import PX_PER_MM, sheet_px
from glasswork.model.geometry import Box, Region, Regions

Levels = NDArray[np.uint8]

FLAT: Final = 127
OFFSET_OF_LEVEL: Final = (np.arange(256) - FLAT) / FLAT

_TURNED: Final = {"streaky": 18.0, "wispy": 60.0, "rippled": 12.0, "antique": 14.0}
"""Directions differ from upright or level by about so many degrees; other finishes: any."""


class Cut(Struct, frozen=True, kw_only=True):
    """One pane's piece of its sheet.

    area : what its ink fills, bleed included
    glass : what shows between the leads
    turn_deg : direction of the sheet's draw, clockwise from x
    at_mm : the sheet's place under the middle of the area's box
    box : round the area
    """

    pane: str
    glass_id: str
    finish: str
    area: Regions
    glass: Region
    sheet_px: int
    turn_deg: float
    at_mm: tuple[float, float]
    seed: int
    box: Box


def cut_pane(
    pane: str, glass_id: str, finish: str, *, area: Regions, glass: Region, seed: int
) -> Cut:
    """Choose the piece by the seed and the pane's id, and by nothing else."""
    turn, across, down, upright = _dice(seed, pane)
    box = Box.around(chain.from_iterable([region.outer for region in area]))
    px = sheet_px(hypot(box.width, box.height))
    side = px / PX_PER_MM
    level = 90.0 if finish in ("streaky", "antique") and upright < 0.5 else 0.0
    reach = _TURNED.get(finish, 180.0)
    return Cut(
        pane=pane,
        glass_id=glass_id,
        finish=finish,
        area=area,
        glass=glass,
        sheet_px=px,
        turn_deg=level + (2.0 * turn - 1.0) * reach,
        at_mm=(across * side, down * side),
        seed=seed,
        box=box,
    )


def _dice(seed: int, pane: str) -> tuple[float, ...]:
    """Four numbers from 0 to 1, the same for the same seed and pane on every machine.

    A digest of a name takes a twentieth of the time of a generator of its own.
    """
    digest = blake2b(f"{seed} {pane}".encode(), digest_size=16).digest()
    return tuple([number / 2.0**32 for number in struct.unpack("<4I", digest)])


def opencv() -> Any:
    """OpenCV, untyped: its stubs differ between versions. Loaded when first asked for."""
    import cv2

    return cv2
