"""Board files: TOML in, `Board` out."""

from __future__ import annotations

import msgspec

from glasswork.errors import ProfileError, raise_all
from glasswork.model.frame import Board
from glasswork.readers.toml import decode_toml

THINNEST_MM, THICKEST_MM = 0.05, 25.0


class _BoardFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    name: str
    title: str
    thickness_mm: float
    tolerance_mm: float
    web_refuse_mm: float
    web_warn_mm: float
    growth: float = 0.0
    laser: bool = True
    modulus_mpa: float = 2500.0
    grain: bool = False
    source: str = ""


def read_board(data: bytes, *, where: str) -> Board:
    """A board file.

    Raises: ProfileError, or Faults, if a key is unknown, missing or out of its domain
    """
    file = decode_toml(data, _BoardFile, where=where)
    raise_all(_faults(file, where))
    return Board(**{key: getattr(file, key) for key in _BoardFile.__struct_fields__})


def _faults(file: _BoardFile, where: str) -> list[ProfileError]:
    thick = file.thickness_mm
    tests = [
        (
            "thickness_mm",
            THINNEST_MM <= thick <= THICKEST_MM,
            f"{thick:g} mm is not between {THINNEST_MM:g} and {THICKEST_MM:g}",
            "give the board's thickness in mm",
        ),
        (
            "tolerance_mm",
            0.0 <= file.tolerance_mm < max(thick, 0.0),
            f"{file.tolerance_mm:g} mm is not between 0 and the thickness",
            "±5 % of the thickness is usual",
        ),
        (
            "web_refuse_mm",
            0.0 < file.web_refuse_mm <= 100.0,
            f"{file.web_refuse_mm:g} mm is not over 0 and up to 100",
            "half the thickness is usual",
        ),
        (
            "web_warn_mm",
            file.web_refuse_mm <= file.web_warn_mm <= 100.0,
            f"{file.web_warn_mm:g} mm is not between web_refuse_mm and 100",
            "the thickness is usual",
        ),
        (
            "growth",
            0.0 <= file.growth < 0.05,
            f"{file.growth:g} is not between 0 and 0.05",
            "0.001 is one millimetre in a metre",
        ),
        (
            "modulus_mpa",
            0.0 < file.modulus_mpa < 1e6,
            f"{file.modulus_mpa:g} MPa is not between 0 and 1000000",
            "2500 suits greyboard",
        ),
        ("name", bool(file.name.strip()), "is empty", "give it a name"),
    ]
    return [
        ProfileError(f"{where}, {key}", what, hint) for key, good, what, hint in tests if not good
    ]
