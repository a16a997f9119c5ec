"""The strip: which colours are printed, and where. Its code names it completely."""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from functools import lru_cache
from itertools import pairwise, product
from typing import Final

from msgspec import Struct

from glasswork.errors import CalibrationError
from glasswork.model.geometry import Box
from glasswork.model.reading import Fiducial, Patch, StripLayout

Device = tuple[float, float, float]

PATCH_MM: Final = 9.0
COLUMNS: Final = 18
FRAME_MM: Final = 190.0
MARK_MM: Final = 10.0
_TOP_MM: Final = 26.0
"""The band above the patches: code, title, fiducials."""
_LEFT_MM: Final = (FRAME_MM - COLUMNS * PATCH_MM) / 2.0
_CODE: Final = re.compile(r"GLASSWORK ([FQ])([3-5]) (\d{1,3})\Z")
_CLEAR: Final[dict[str, dict[int, tuple[int, ...]]]] = {
    "F": {
        0: (0, 4, 9, 13, 17),
        3: (2, 6, 8, 11, 15),
        6: (0, 5, 10, 12, 17),
        8: (1, 3, 7, 14, 16),
        11: (0, 4, 8, 13, 17),
    },
    "Q": {0: (0, 4, 9, 13, 17), 2: (0, 3, 7, 11, 17)},
}
"""Columns of bare film in some rows: no two rows alike, or a surface that bends with the columns
would follow an edge of a shadow."""


class _Kind(Struct, frozen=True, kw_only=True):
    """A sort of strip. marks : numbers of its fiducials from `first` on"""

    title: str
    rows: int
    clear: Mapping[int, tuple[int, ...]]
    first: int
    height_mm: float


_KINDS: Final = {
    "F": _Kind(title="calibration strip", rows=12, clear=_CLEAR["F"], first=0, height_mm=256.0),
    "Q": _Kind(title="quick strip", rows=3, clear=_CLEAR["Q"], first=10, height_mm=67.0),
}


def strip_code(*, quick: bool = False, steps: int | None = None, order: int = 17) -> str:
    """The code of a strip.

    quick : the narrow strip for an offcut, that only checks a profile
    steps : lattice steps on each device axis, 3-5; 5 if left out, 3 on a quick strip
    order : which scattered order the patches lie in, 0-999
    Raises: CalibrationError, if there is no such strip
    """
    kind, count = ("Q", steps or 3) if quick else ("F", steps or 5)
    code = f"GLASSWORK {kind}{count} {order}"
    if not _CODE.match(code) or (quick and count != 3):
        limit = "3" if quick else "3, 4 or 5"
        raise CalibrationError(
            "strip",
            f"no strip with {count} steps and order {order}",
            f"steps: {limit}; order: 0-999",
        )
    return code


@lru_cache(maxsize=32)
def strip_layout(code: str) -> StripLayout:
    """The layout a code names.

    Raises: CalibrationError, if the code is not that of a strip
    """
    match = _CODE.match(code.strip().upper())
    if not match or (match[1] == "Q" and match[2] != "3"):
        raise CalibrationError(
            f'code "{code}"', "is not the code of a calibration strip", 'as in "GLASSWORK F5 17"'
        )
    kind, steps, order = _KINDS[match[1]], int(match[2]), int(match[3])
    block = Box(0.0, 0.0, FRAME_MM, _TOP_MM + kind.rows * PATCH_MM + MARK_MM + 4.0)
    return StripLayout(
        code=code.strip().upper(),
        title=kind.title,
        steps=steps,
        patches=_patches(kind, steps, order, quick=match[1] == "Q"),
        fiducials=_fiducials(kind, block),
        code_box=Box(14.0, 1.0, 35.0, 22.0),
        block=block,
        width_mm=FRAME_MM,
        height_mm=kind.height_mm,
    )


def layout_of_mark(number: int) -> StripLayout | None:
    """A layout whose fiducials and code lie where those of the strip with this mark do."""
    for letter, kind in _KINDS.items():
        if kind.first <= number < kind.first + 6:
            return strip_layout(f"GLASSWORK {letter}3 0")
    return None


def _fiducials(kind: _Kind, block: Box) -> tuple[Fiducial, ...]:
    right, below = block.right - MARK_MM, block.bottom - MARK_MM
    spots = [(0.0, 0.0), (right, 0.0), (0.0, below), (right, below)]
    if kind.rows > 6:
        spots += [(0.0, below / 2.0), (right, below / 2.0)]
    return tuple(
        Fiducial(number=kind.first + i, box=Box(x, y, x + MARK_MM, y + MARK_MM))
        for i, (x, y) in enumerate(spots)
    )


def _patches(kind: _Kind, steps: int, order: int, *, quick: bool) -> tuple[Patch, ...]:
    clear = {(row, column) for row, columns in kind.clear.items() for column in columns}
    wanted = _colours(steps, kind.rows * COLUMNS - len(clear), quick)
    random.Random(order).shuffle(wanted)
    rest = iter(wanted)
    patches = []
    for row, column in product(range(kind.rows), range(COLUMNS)):
        left, top = _LEFT_MM + column * PATCH_MM, _TOP_MM + row * PATCH_MM
        use, device = ("clear", (1.0, 1.0, 1.0)) if (row, column) in clear else next(rest)
        patches.append(
            Patch(
                name=f"{chr(65 + row)}{column + 1}",
                device=device,
                use=use,
                box=Box(left, top, left + PATCH_MM, top + PATCH_MM),
            )
        )
    return tuple(patches)


def _colours(steps: int, room: int, quick: bool) -> list[tuple[str, Device]]:
    """What is printed besides bare film, as many as there is room for.

    All values are whole 8-bit steps, so that the page holds exactly what the layout says.
    """
    levels = [round(255 * i / (steps - 1)) / 255 for i in range(steps)]
    found: dict[Device, str] = {}
    for r, g, b in product(levels, repeat=3):
        found[r, g, b] = "node"
    del found[1.0, 1.0, 1.0]
    between = (
        [(a + b) / 2 for a, b in pairwise(levels)]
        if steps > 3 or quick
        else [i / 8 for i in range(8) if i % 4]
    )
    for device in _ramps([round(255 * v) / 255 for v in between], quick=quick):
        found.setdefault(device, "ramp")
    number = 0
    while len(found) < room:
        number += 1
        found.setdefault(_spread(number), "check")
    return [(use, device) for device, use in found.items()][:room]


def _ramps(values: list[float], *, quick: bool) -> list[Device]:
    """Steps of each ink, of each two inks, of grey, and of near black."""
    ramps: list[Device] = []
    for v in values:
        ramps += [(v, 1.0, 1.0), (1.0, v, 1.0), (1.0, 1.0, v), (v, v, v)]
        if not quick:
            ramps += [(1.0, v, v), (v, 1.0, v), (v, v, 1.0)]
    if not quick:
        ramps += [(k / 255,) * 3 for k in (8, 16, 48)]
    return ramps


def _spread(number: int) -> Device:
    """Points spread evenly in the cube, on 8-bit steps: the additive sequence of the plastic
    number, which is the root of x³ = x + 1 for two axes and of x⁴ = x + 1 for three."""
    root = 1.2207440846057596
    r, g, b = (round(255 * ((0.5 + number / root**k) % 1.0)) / 255 for k in (1, 2, 3))
    return (r, g, b)
