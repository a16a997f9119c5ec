"""A table of device values and measurements becomes readings, whatever file it stood in."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isfinite
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from glasswork.cielab import ratios_of_lab
from glasswork.errors import CalibrationError, GlassworkError, ReadError, raise_all
from glasswork.model.reading import Readings

Floats = NDArray[np.float64]

_BAND = re.compile(r"(?:SPECTRAL_(?:NM_?|PCT_?|DEC_?)?|SPEC_|NM_?|R_)(\d{3})(?:\.0+)?(?:_?NM)?\Z")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\Z")
_NOT_NUMBERS: Final = {"nan", "inf", "-inf", "+inf", "1.#qnan", "1.#inf", "-1.#ind"}
GRID_NM: Final[Floats] = np.arange(380.0, 731.0, 10.0)


class Table(Struct, frozen=True):
    """One table as it stands in the file. rows : text cells, each as long as fields"""

    keywords: dict[str, str]
    fields: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    first_line: int

    def column(self, name: str) -> int | None:
        return self.fields.index(name) if name in self.fields else None


def read_from_table(table: Table, *, where: str, films: int) -> Readings:
    """Device values and what was measured, from a table's fields.

    Raises: ReadError, if fields are missing or values are no numbers
    """
    colorant, device = _device(table, where)
    kind, raw = _values(table, where)
    bare = _bare(device, colorant, where)
    values, kind = _relative(kind, raw, bare, where)
    said = table.keywords.get("FILMS", "")
    return Readings(
        kind=kind,
        device=device,
        values=values,
        weight=_weight(table, where),
        films=int(said) if said.isdigit() and int(said) > 0 else films,
        source=where,
        strip=table.keywords.get("STRIP", ""),
        names=_names(table),
        colorant=colorant,
        instrument=table.keywords.get("INSTRUMENTATION", ""),
        least=_least(table, kind, where),
    )


def _weight(table: Table, where: str) -> Floats:
    """Trust in each set, a field of our own."""
    column = table.column("WEIGHT")
    if column is None:
        return np.ones(len(table.rows))
    return np.clip(numbers(table, [column], where)[:, 0], 0.0, 1.0)


def _least(table: Table, kind: str, where: str) -> NDArray[np.bool_] | None:
    """Which of a camera's values are the least it can show: bits 1, 2, 4 of a field of our own."""
    column = table.column("LEAST")
    if column is None or kind != "camera":
        return None
    bits = numbers(table, [column], where).astype(int)
    return np.asarray((bits & np.array([1, 2, 4])) > 0)


def _names(table: Table) -> tuple[str, ...]:
    for field in ("SAMPLE_NAME", "SAMPLE_LOC", "SAMPLE_ID", "SAMPLEID"):
        column = table.column(field)
        if column is not None:
            return tuple(row[column] for row in table.rows)
    return tuple(str(i + 1) for i in range(len(table.rows)))


def numbers(table: Table, columns: Sequence[int], where: str) -> Floats:
    """Columns of a table as numbers, (rows, columns).

    Raises: ReadError or Faults naming the lines, if a cell is no finite number
    """
    faults: list[GlassworkError] = []
    values = np.zeros((len(table.rows), len(columns)))
    for i, row in enumerate(table.rows):
        for j, column in enumerate(columns):
            cell = row[column].replace(",", ".")
            if _NUMBER.match(cell):
                values[i, j] = float(cell)
            if not _NUMBER.match(cell) or not isfinite(values[i, j]):
                what = (
                    "is not a finite number" if cell.lower() in _NOT_NUMBERS else "is not a number"
                )
                faults.append(
                    ReadError(
                        f"{where}, set {i + 1}, {table.fields[column]}",
                        f'"{row[column]}" {what}',
                        "measure this patch again, or leave its set out",
                    )
                )
    raise_all(faults[:5])
    return values


def _device(table: Table, where: str) -> tuple[str, Floats]:
    for colorant, names in (
        ("rgb", ("RGB_R", "RGB_G", "RGB_B")),
        ("cmyk", ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")),
    ):
        columns = [table.column(name) for name in names]
        found = [column for column in columns if column is not None]
        if len(found) == len(names):
            values = numbers(table, found, where)
            return colorant, _scaled(values, table, where, colorant=colorant)
        if found:
            missing = [n for n, c in zip(names, columns, strict=True) if c is None]
            raise ReadError(
                where, f"field {', '.join(missing)} is missing", "export all device fields"
            )
    raise ReadError(
        where,
        "no device values: neither RGB_R, RGB_G, RGB_B nor CMYK_C, CMYK_M, CMYK_Y, CMYK_K",
        "export the printed values beside the measured ones",
    )


def _scaled(values: Floats, table: Table, where: str, *, colorant: str) -> Floats:
    """Device values as 0-1: a keyword may say the scale; else the largest value does."""
    said = table.keywords.get("DEVICE_SCALE", "")
    top = float(values.max()) if len(values) else 0.0
    scale = float(said) if _NUMBER.match(said) and float(said) > 0 else 100.0
    if not said and colorant == "rgb":
        scale = 255.0 if top > 100.5 else (100.0 if top > 1.001 else 1.0)
    elif not said and top <= 1.001:
        scale = 1.0
    scaled = values / scale
    if not len(values) or scaled.min() < -1e-6 or scaled.max() > 1.0 + 1e-6:
        raise ReadError(
            where,
            f"device values run from {values.min():g} to {top:g}, not within 0 to {scale:g}",
            "device values are 0-255 for RGB or 0-100",
        )
    return np.clip(scaled, 0.0, 1.0)


def _values(table: Table, where: str) -> tuple[str, Floats]:
    """What was measured, in the best form the file has."""
    bands = [(float(m[1]), i) for i, f in enumerate(table.fields) if (m := _BAND.match(f))]
    if bands:
        bands.sort()
        nm = np.array([b for b, _ in bands])
        return "spectral", _on_grid(nm, numbers(table, [i for _, i in bands], where), where)
    for kind, names in (
        ("xyz", ("XYZ_X", "XYZ_Y", "XYZ_Z")),
        ("lab", ("LAB_L", "LAB_A", "LAB_B")),
        ("density", ("D_RED", "D_GREEN", "D_BLUE")),
        ("camera", ("CAMERA_R", "CAMERA_G", "CAMERA_B")),
    ):
        columns = [table.column(name) for name in names]
        found = [column for column in columns if column is not None]
        if len(found) == 3:
            return kind, numbers(table, found, where)
    raise ReadError(
        where,
        "nothing measured: no spectral fields, XYZ_X…, LAB_L… or D_RED…",
        "export spectra if the instrument gives them",
    )


def _on_grid(nm: Floats, values: Floats, where: str) -> Floats:
    """Spectra on 380-730 nm by 10 nm; up to 20 nm beyond the ends of the file are held."""
    if len(nm) < 16 or nm[0] > 400.0 or nm[-1] < 700.0 or np.diff(nm).max() > 20.0:
        raise ReadError(
            where,
            f"{len(nm)} spectral fields from {nm[0]:g} to {nm[-1]:g} nm",
            "380-730 nm by 10 nm are wanted, at least 400-700 nm by 20 nm",
        )
    scaled = values / 100.0 if np.median(values.max(axis=1)) > 2.0 else values
    return np.stack([np.interp(GRID_NM, nm, row) for row in scaled])


def _bare(device: Floats, colorant: str, where: str) -> NDArray[np.bool_]:
    target = 1.0 if colorant == "rgb" else 0.0
    bare = np.asarray((np.abs(device - target) < 2e-3).all(axis=1))
    if not bare.any():
        raise ReadError(
            where,
            "no patch without ink",
            "read the bare film too: everything is measured against it",
        )
    return bare


def _relative(kind: str, raw: Floats, bare: NDArray[np.bool_], where: str) -> tuple[Floats, str]:
    """Values relative to the bare film's."""
    if kind == "density":
        values = raw - raw[bare].mean(axis=0)
        if values.min() < -0.15:
            raise ReadError(
                where,
                f"a density lies {-values.min():.2f} below that of bare film",
                "zero the instrument on the bare film",
            )
        return np.maximum(values, 0.0), kind
    if kind == "lab":
        kind, raw = "xyz", ratios_of_lab(raw)
    white = raw[bare].mean(axis=0)
    if white.min() <= 0.0 or (kind != "camera" and raw.min() < -0.02 * white.max()):
        raise ReadError(where, "a measured value is below zero", "measure these patches again")
    if kind == "camera":
        # Values below zero lie outside sRGB; bare film was divided by where it was read.
        return raw, kind
    values = np.maximum(raw / white, 0.0)
    if values.max() > 1.3:
        worst = int(values.max(axis=1).argmax())
        raise CalibrationError(
            f"{where}, set {worst + 1}",
            f"is {values.max():.2f} times as bright as bare film",
            "is the patch without ink really bare film?",
        )
    return values, kind
