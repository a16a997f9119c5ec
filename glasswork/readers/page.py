"""Page files: TOML in, `PageSize` out."""

from __future__ import annotations

import msgspec

from glasswork.errors import ProfileError, raise_all
from glasswork.model.sheet import PageSize
from glasswork.readers.toml import decode_toml

SMALLEST_MM, LARGEST_MM = 50.0, 5000.0
"""A page shorter on a side has no room for marks and rules; PDF ends at 200 in."""


class _PageFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    name: str
    title: str
    width_mm: float
    height_mm: float
    source: str = ""


def read_page(data: bytes, *, where: str) -> PageSize:
    """A page file. The page is taken upright; a panel that lies better across is turned on it.

    Raises: ProfileError, or Faults, if a key is unknown, missing or out of its domain
    """
    file = decode_toml(data, _PageFile, where=where)
    faults = [
        ProfileError(
            f"{where}, {key}",
            f"{value:g} mm is not between {SMALLEST_MM:g} and {LARGEST_MM:g}",
            "give the sheet's size in mm",
        )
        for key, value in (("width_mm", file.width_mm), ("height_mm", file.height_mm))
        if not SMALLEST_MM <= value <= LARGEST_MM
    ]
    if not file.name.strip():
        faults.append(ProfileError(f"{where}, name", "is empty", "give it a name"))
    raise_all(faults)
    return PageSize(
        name=file.name,
        title=file.title,
        width_mm=file.width_mm,
        height_mm=file.height_mm,
        source=file.source,
    )
