"""Palettes: TOML in, `Palette` out."""

from __future__ import annotations

import re
from collections.abc import Callable

import msgspec

from glasswork.errors import GlassworkError, ProfileError, raise_all
from glasswork.model.finish import Finish
from glasswork.model.palette import Glass, Palette
from glasswork.readers.spectrum import COARSE_NM, onto_grid, read_spectrum
from glasswork.readers.toml import decode_toml

MAX_GLASSES = 2000
_HEX = re.compile(r"#[0-9a-fA-F]{6}\Z")
_ID = re.compile(r"[a-z0-9][a-z0-9_-]*\Z")


class GlassEntry(msgspec.Struct, frozen=True, kw_only=True):
    """One glass. One of srgb, lab, transmittance and csv says its colour; see `Glass`.

    csv : a file beside this one: wavelength in nm, transmittance 0-1 relative to clear glass
    """

    id: str
    title: str = ""
    srgb: str | None = None
    lab: tuple[float, float, float] | None = None
    transmittance: tuple[float, ...] | None = None
    csv: str | None = None
    finish: Finish = "clear"
    note: str = ""


class PaletteFile(msgspec.Struct, frozen=True, kw_only=True):
    """The keys of a palette."""

    title: str
    glass: tuple[GlassEntry, ...]
    invented: bool = False
    source: str = ""


def read_palette(data: bytes, *, where: str, sibling: Callable[[str], bytes]) -> Palette:
    """The palette in a TOML file; its name is the file's, without the ending.

    Raises: ProfileError or Faults, naming each glass and key at fault; ReadError, if a named
        file is not a spectrum
    """
    file = decode_toml(data, PaletteFile, where=where)
    if not 1 <= len(file.glass) <= MAX_GLASSES:
        raise ProfileError(
            f"{where}, glass",
            f"{len(file.glass)} glasses are not 1 to {MAX_GLASSES}",
            "share them out to several palettes, or add one",
        )
    faults: list[GlassworkError] = []
    glasses: list[Glass] = []
    seen: set[str] = set()
    for number, entry in enumerate(file.glass):
        place = f"{where}, glass[{number}]"
        if entry.id in seen:
            faults.append(ProfileError(place, f'the id "{entry.id}" is there twice', "rename one"))
        seen.add(entry.id)
        try:
            glasses.append(_glass(entry, place=place, sibling=sibling))
        except GlassworkError as fault:
            faults.append(fault)
    raise_all(faults)
    return Palette(
        name=where.rsplit("/", 1)[-1].removesuffix(".toml"),
        title=file.title,
        glasses=tuple(glasses),
        invented=file.invented,
        source=file.source,
    )


def _glass(entry: GlassEntry, *, place: str, sibling: Callable[[str], bytes]) -> Glass:
    if not _ID.match(entry.id):
        raise ProfileError(
            f"{place}.id", f'"{entry.id}" is not a short name', "small letters, digits, - and _"
        )
    keys = ("srgb", "lab", "transmittance", "csv")
    said = [key for key in keys if getattr(entry, key) is not None]
    if len(said) != 1:
        raise ProfileError(
            place, f"{' and '.join(said) or 'nothing'} says the colour", f"one of {', '.join(keys)}"
        )
    if entry.srgb is not None and not _HEX.match(entry.srgb):
        raise ProfileError(f"{place}.srgb", f'"{entry.srgb}" is not a colour', 'write "#8a1c2b"')
    if entry.lab is not None and not (
        0.0 <= entry.lab[0] <= 100.0 and max(map(abs, entry.lab[1:])) <= 160.0
    ):
        raise ProfileError(
            f"{place}.lab", f"{list(entry.lab)} is not a CIELAB colour", "L 0-100, a and b ±160"
        )
    return Glass(
        id=entry.id,
        title=entry.title or entry.id,
        srgb=entry.srgb.lower() if entry.srgb else None,
        lab=entry.lab,
        transmittance=_spectrum(entry, place=place, sibling=sibling),
        finish=entry.finish,
        note=entry.note,
    )


def _spectrum(
    entry: GlassEntry, *, place: str, sibling: Callable[[str], bytes]
) -> tuple[float, ...] | None:
    values = entry.transmittance
    if entry.csv is not None:
        nm, read = read_spectrum(sibling(entry.csv), where=entry.csv)
        values = tuple(onto_grid(nm, read, COARSE_NM, where=entry.csv).tolist())
    if values is None:
        return None
    if len(values) != len(COARSE_NM):
        raise ProfileError(
            f"{place}.transmittance",
            f"{len(values)} values, {len(COARSE_NM)} are wanted",
            "give 380-730 nm by 10 nm",
        )
    wrong = [v for v in values if not 0.0 <= v <= 1.0]
    if wrong:
        raise ProfileError(
            f"{place}.{'csv' if entry.csv else 'transmittance'}",
            f"{wrong[0]:g} is not between 0 and 1",
            "a share of light, not a percentage",
        )
    return values
