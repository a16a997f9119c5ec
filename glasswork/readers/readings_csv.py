"""Readings in plain tables: exported ones, and those typed in from a hand densitometer."""

from __future__ import annotations

import csv
from collections.abc import Callable
from typing import Final

from glasswork.errors import ReadError
from glasswork.model.reading import Readings, StripLayout
from glasswork.readers.readings_table import Table, read_from_table

_SHORT: Final = {
    "R": "RGB_R",
    "G": "RGB_G",
    "B": "RGB_B",
    "C": "CMYK_C",
    "M": "CMYK_M",
    "Y": "CMYK_Y",
    "K": "CMYK_K",
    "X": "XYZ_X",
    "L": "LAB_L",
    "L*": "LAB_L",
    "A*": "LAB_A",
    "B*": "LAB_B",
    "DR": "D_RED",
    "DG": "D_GREEN",
    "DB": "D_BLUE",
    "RED": "D_RED",
    "GREEN": "D_GREEN",
    "BLUE": "D_BLUE",
    "PATCH": "SAMPLE_NAME",
    "NAME": "SAMPLE_NAME",
}


def read_readings_csv(
    data: bytes,
    *,
    where: str,
    films: int = 1,
    layout_of_code: Callable[[str], StripLayout] | None = None,
) -> Readings:
    """The readings in a table with a heading row.

    data : columns parted by commas, semicolons or tabs; decimal commas where the separator is
        another one; lines that begin with # are comments, "# strip: CODE" names the strip
    layout_of_code : which strip has this code; then patches may be given by their names ("C7",
        column "patch") instead of by device values
    Headings are those of instruments' files (RGB_R, D_RED, XYZ_X, SPECTRAL_380 …) or short ones
    (R G B, patch, red green blue for densities).
    Raises: ReadError, if a column is missing, a row is short, or a value no number
    """
    text = data.decode("utf-8-sig", errors="replace")
    lines = [line for line in text.splitlines() if line.strip()]
    code = next(
        (line.split(":", 1)[1].strip() for line in lines if line.lower().startswith("# strip:")), ""
    )
    body = [line for line in lines if not line.lstrip().startswith("#")]
    if len(body) < 2:
        raise ReadError(where, "has no rows", "a heading row and one row for each patch are wanted")
    separator = max(("\t", ";", ","), key=body[0].count)
    if body[0].count(separator) == 0:
        raise ReadError(where, "has one column", "part columns by commas, semicolons or tabs")
    head, *rows = [[cell.strip() for cell in row] for row in csv.reader(body, delimiter=separator)]
    names = tuple(_field(cell) for cell in head)
    for number, row in enumerate(rows, start=2):
        if len(row) != len(names):
            raise ReadError(
                f"{where}, row {number}",
                f"{len(row)} values for {len(names)} columns",
                "a decimal comma needs semicolons between columns" if separator == "," else "",
            )
    table = Table(
        keywords={"STRIP": code} if code else {},
        fields=names,
        rows=tuple(tuple(row) for row in rows),
        first_line=2,
    )
    if "RGB_R" not in names and "CMYK_C" not in names:
        table = _by_name(table, code, layout_of_code, where)
    return read_from_table(table, where=where, films=films)


def _field(cell: str) -> str:
    name = cell.strip().strip('"').upper().replace(" ", "_")
    return _SHORT.get(name, name)


def _by_name(
    table: Table, code: str, layout_of_code: Callable[[str], StripLayout] | None, where: str
) -> Table:
    """Device values looked up on the strip by the patches' names."""
    column = table.column("SAMPLE_NAME")
    if column is None:
        raise ReadError(where, "has neither device values nor patch names", 'add a column "patch"')
    if not code or layout_of_code is None:
        raise ReadError(
            where, "does not say which strip it is", 'add a line "# strip: GLASSWORK F5 17"'
        )
    layout = layout_of_code(code)
    known = {patch.name: patch.device for patch in layout.patches}
    rows = []
    for number, row in enumerate(table.rows, start=1):
        name = row[column].upper()
        if name not in known:
            raise ReadError(
                f"{where}, row {number}",
                f'the strip {layout.code} has no patch "{row[column]}"',
                f"patches run from {layout.patches[0].name} to {layout.patches[-1].name}",
            )
        rows.append((*row, *(f"{value * 255:.10g}" for value in known[name])))
    keywords = {**table.keywords, "DEVICE_SCALE": "255"}
    return Table(
        keywords=keywords,
        fields=(*table.fields, "RGB_R", "RGB_G", "RGB_B"),
        rows=tuple(rows),
        first_line=table.first_line,
    )
