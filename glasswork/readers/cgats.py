"""Instruments' text files: CGATS.17 / ISO 28178 keyword files with one or more tables."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from glasswork.errors import GlassworkError, ReadError, raise_all
from glasswork.model.reading import Readings
from glasswork.readers.readings_table import Table, read_from_table

Floats = NDArray[np.float64]

MAX_ROWS: Final = 200_000


def read_cgats(data: bytes, *, where: str, films: int = 1) -> Readings:
    """The readings in an instrument's text file, relative to its bare patch.

    data : CGATS.17 / ISO 28178 text; CR LF, tabs, decimal commas, comments, and an identifier
        other than CGATS.17 are fine
    films : how many films lay on each other; a keyword FILMS in the file goes before it
    Spectra are preferred, then XYZ, Lab, densities (D_RED, D_GREEN, D_BLUE).
    Raises: ReadError, if it is no such file, a field or set is missing, or a value no number
    """
    tables = read_tables(data, where=where)
    faults: list[GlassworkError] = []
    for table in tables:
        try:
            return read_from_table(table, where=where, films=films)
        except GlassworkError as exc:
            faults.append(exc)
    raise faults[0]


def read_tables(data: bytes, *, where: str) -> tuple[Table, ...]:
    """All tables of a keyword file, cells as text.

    Raises: ReadError or Faults
    """
    if not data.strip():
        raise ReadError(where, "is empty", "export the measurement again")
    text = _decode(data)
    if "\x00" in text:
        raise ReadError(where, "is not a text file", "export the measurement as CGATS text")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    tables: list[Table] = []
    keywords: dict[str, str] = {}
    at = 0
    fields: tuple[str, ...] = ()
    counts: dict[str, int] = {}
    while at < len(lines):
        line = _stripped(lines[at])
        at += 1
        word = line.split(None, 1)[0].upper() if line else ""
        if word == "BEGIN_DATA_FORMAT":
            fields, at = _format(lines, at, where)
            _agree(counts.get("NUMBER_OF_FIELDS"), len(fields), "fields", where, at)
        elif word == "BEGIN_DATA":
            if not fields:
                raise ReadError(
                    f"{where}, line {at}",
                    "BEGIN_DATA before BEGIN_DATA_FORMAT",
                    "export the file again",
                )
            rows, first, at = _rows(lines, at, fields, where)
            _agree(counts.get("NUMBER_OF_SETS"), len(rows), "sets", where, at)
            tables.append(
                Table(keywords=dict(keywords), fields=fields, rows=rows, first_line=first)
            )
            counts.pop("NUMBER_OF_SETS", None)
        elif word in ("NUMBER_OF_FIELDS", "NUMBER_OF_SETS"):
            counts[word] = _count(line, word, where, at)
        elif word:
            _keyword(line, keywords)
    if not tables:
        raise ReadError(
            where,
            "has no table: no BEGIN_DATA",
            "give a photo (PNG, JPEG, TIFF), a CSV, or CGATS text",
        )
    return tuple(tables)


def _decode(data: bytes) -> str:
    for bom, codec in (
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
        (b"\xef\xbb\xbf", "utf-8-sig"),
    ):
        if data.startswith(bom):
            return data.decode(codec, errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _stripped(line: str) -> str:
    """Without its comment; a # inside quotes stays."""
    if "#" not in line:
        return line.strip()
    inside = False
    for place, character in enumerate(line):
        if character == '"':
            inside = not inside
        elif character == "#" and not inside:
            return line[:place].strip()
    return line.strip()


def _words(line: str) -> list[str]:
    if '"' not in line and "'" not in line:
        return line.split()
    if "\t" in line and '"' not in line:
        return [cell.strip() for cell in line.split("\t")]
    try:
        lexer = shlex.shlex(line, posix=True, punctuation_chars="")
        lexer.whitespace_split, lexer.quotes, lexer.commenters = True, '"', ""
        lexer.escape = ""
        return list(lexer)
    except ValueError:
        return line.split()


def _keyword(line: str, keywords: dict[str, str]) -> None:
    words = _words(line)
    if len(words) >= 2:
        keywords[words[0].upper()] = " ".join(words[1:])


def _count(line: str, word: str, where: str, number: int) -> int:
    cells = line.split()
    if len(cells) < 2 or not cells[1].isdigit():
        raise ReadError(
            f"{where}, line {number}", f"{word} is not a whole number", "export the file again"
        )
    return int(cells[1])


def _agree(said: int | None, found: int, what: str, where: str, line: int) -> None:
    if said is not None and said != found:
        raise ReadError(
            f"{where}, line {line}",
            f"NUMBER_OF_{what.upper()} says {said}, found {found}",
            "the file is cut off or was edited; export it again",
        )


def _format(lines: Sequence[str], at: int, where: str) -> tuple[tuple[str, ...], int]:
    cells: list[str] = []
    while at < len(lines):
        line = _stripped(lines[at])
        at += 1
        if line.upper().startswith("END_DATA_FORMAT"):
            names = tuple(cell.upper() for cell in cells)
            twice = {name for name in names if names.count(name) > 1}
            if twice:
                raise ReadError(
                    where, f"field {', '.join(sorted(twice))} stands twice", "leave one out"
                )
            return names, at
        cells += _words(line)
    raise ReadError(where, "BEGIN_DATA_FORMAT without END_DATA_FORMAT", "the file is cut off")


def _rows(
    lines: Sequence[str], at: int, fields: tuple[str, ...], where: str
) -> tuple[tuple[tuple[str, ...], ...], int, int]:
    rows: list[tuple[str, ...]] = []
    first = at + 1
    faults: list[GlassworkError] = []
    while at < len(lines):
        line = _stripped(lines[at])
        at += 1
        if line.upper().startswith("END_DATA"):
            raise_all(faults[:5])
            if len(rows) > MAX_ROWS:
                raise ReadError(
                    where,
                    f"{len(rows)} sets are over {MAX_ROWS}",
                    "leave out what is no patch of the strip",
                )
            return tuple(rows), first, at
        if not line:
            continue
        cells = tuple(_words(line))
        if len(cells) != len(fields):
            faults.append(
                ReadError(
                    f"{where}, line {at}",
                    f"{len(cells)} values for {len(fields)} fields",
                    "every set needs a value for each field",
                )
            )
        rows.append(cells)
    raise_all(faults[:5])
    raise ReadError(where, "BEGIN_DATA without END_DATA", "the file is cut off")
