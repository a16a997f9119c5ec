"""Cutter files: TOML in, `Cutter` out."""

from __future__ import annotations

from itertools import pairwise

import msgspec

from glasswork.errors import ProfileError, raise_all
from glasswork.model.frame import Cutter
from glasswork.readers.toml import decode_toml

KINDS = ("laser", "drag-blade", "hand-knife", "rotary")


class _CutterFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    name: str
    title: str
    kind: str
    accuracy_mm: float
    min_width_mm: float
    bed_mm: tuple[float, float]
    max_board_mm: float
    kerf_mm: float = 0.0
    kerf_by_thickness: tuple[tuple[float, float], ...] = ()
    corner_radius_mm: float = 0.0
    straight_only: bool = False
    source: str = ""


def read_cutter(data: bytes, *, where: str) -> Cutter:
    """A cutter file.

    Raises: ProfileError, or Faults, if a key is unknown, missing or out of its domain
    """
    file = decode_toml(data, _CutterFile, where=where)
    raise_all(_faults(file, where))
    return Cutter(**{key: getattr(file, key) for key in _CutterFile.__struct_fields__})


def _faults(file: _CutterFile, where: str) -> list[ProfileError]:
    kerfs = [file.kerf_mm, *(kerf for _, kerf in file.kerf_by_thickness)]
    thicks = [thick for thick, _ in file.kerf_by_thickness]
    tests = [
        (
            "kind",
            file.kind in KINDS,
            f'"{file.kind}" is no kind of cutter',
            f"write one of: {', '.join(KINDS)}",
        ),
        (
            "kerf_mm" if not thicks else "kerf_by_thickness",
            all(0.0 <= kerf <= 10.0 for kerf in kerfs),
            f"kerf {max(kerfs, key=abs):g} mm is not between 0 and 10",
            "0 for a knife; measure a laser's on a scrap",
        ),
        (
            "kerf_by_thickness",
            all(a < b for a, b in pairwise(thicks)) and all(t > 0.0 for t in thicks),
            "the thicknesses do not rise from over 0",
            "write [[1.0, 0.12], [2.0, 0.15]]",
        ),
        (
            "accuracy_mm",
            0.0 <= file.accuracy_mm <= 10.0,
            f"{file.accuracy_mm:g} mm is not between 0 and 10",
            "0.1 is usual for a machine",
        ),
        (
            "corner_radius_mm",
            0.0 <= file.corner_radius_mm <= 20.0,
            f"{file.corner_radius_mm:g} mm is not between 0 and 20",
            "0 where sharp inside corners can be cut",
        ),
        (
            "min_width_mm",
            0.0 < file.min_width_mm <= 100.0,
            f"{file.min_width_mm:g} mm is not over 0 and up to 100",
            "1 is usual",
        ),
        (
            "bed_mm",
            all(0.0 < side <= 10_000.0 for side in file.bed_mm),
            f"bed {file.bed_mm[0]:g} x {file.bed_mm[1]:g} mm is not over 0 and up to 10000",
            "give width and height in mm",
        ),
        (
            "max_board_mm",
            0.0 < file.max_board_mm <= 100.0,
            f"{file.max_board_mm:g} mm is not over 0 and up to 100",
            "the thickest board it cuts",
        ),
        ("name", bool(file.name.strip()), "is empty", "give it a name"),
    ]
    return [
        ProfileError(f"{where}, {key}", what, hint) for key, good, what, hint in tests if not good
    ]
