"""Palettes as TOML files that `readers.palette` reads back equal."""

from __future__ import annotations

from typing import Any

from glasswork.model.palette import Glass, Palette


def write_palette(palette: Palette) -> bytes:
    """A palette file; its name is given by the file's."""
    import tomli_w

    table: dict[str, Any] = {"title": palette.title}
    if palette.invented:
        table["invented"] = True
    if palette.source:
        table["source"] = palette.source
    table["glass"] = [_entry(glass) for glass in palette.glasses]
    return tomli_w.dumps(table).encode("utf-8")


def _entry(glass: Glass) -> dict[str, Any]:
    entry: dict[str, Any] = {"id": glass.id, "title": glass.title}
    if glass.srgb is not None:
        entry["srgb"] = glass.srgb
    if glass.lab is not None:
        entry["lab"] = list(glass.lab)
    if glass.transmittance is not None:
        entry["transmittance"] = list(glass.transmittance)
    entry["finish"] = glass.finish
    if glass.note:
        entry["note"] = glass.note
    return entry
