"""A project as one file: out, and back in past whatever a stranger may have put there."""

from __future__ import annotations

import io
import secrets
import shutil
import stat
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import Final

import msgspec

from glasswork.errors import ReadError
from glasswork.web.store import (
    RECORD,
    Record,
    Store,
    check_inside,
    decode_record,
    now,
    write_whole,
)
from glasswork.writers.project import write_project

MOST_BYTES: Final = 64 * 1024 * 1024
MOST_UNPACKED: Final = 128 * 1024 * 1024
MOST_FILES: Final = 200
_FOLDERS: Final = ("drawings", "profiles")
_DATE: Final = (1980, 1, 1, 0, 0, 0)


def zip_of(files: dict[str, bytes]) -> bytes:
    """Files as one ZIP, the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=4) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, _DATE), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def export_project(store: Store, record: Record) -> bytes:
    """Record, settings, drawings and own profiles of a project."""
    folder = store.place(record.id)
    files = {
        RECORD: msgspec.json.encode(record),
        "project.toml": write_project(record.history.present),
    }
    for kind in _FOLDERS:
        for path in sorted((folder / kind).rglob("*")):
            if path.is_file() and not path.is_symlink() and not path.name.startswith("."):
                files[path.relative_to(folder).as_posix()] = path.read_bytes()
    return zip_of(files)


def import_project(store: Store, data: bytes, *, name: str) -> Record:
    """A project out of an exported file, under a new id beside all others.

    Raises: ReadError, if it is no such file, names a place outside, or unpacks to too much
    """
    files = unpacked(data, name=name)
    if RECORD not in files:
        raise ReadError(name, f"holds no {RECORD}", "export the project again")
    record = decode_record(files[RECORD], where=f"{name}, {RECORD}")
    if record.history.present.design not in files:
        raise ReadError(name, f"lacks the drawing {record.history.present.design}", "export again")
    fresh = msgspec.structs.replace(record, id=secrets.token_hex(6), revision=1, saved=now())
    aside = store.folder / f".new-{fresh.id}"
    try:
        for inside, content in files.items():
            if PurePosixPath(inside).parts[0] in _FOLDERS:
                write_whole(aside / inside, content)
        write_whole(aside / "project.toml", write_project(fresh.history.present))
        write_whole(aside / RECORD, msgspec.json.encode(fresh))
        aside.rename(store.place(fresh.id))
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return fresh


def unpacked(data: bytes, *, name: str) -> dict[str, bytes]:
    """Every file of a ZIP, in memory, within the limits.

    Raises: ReadError
    """
    if len(data) > MOST_BYTES:
        raise ReadError(name, f"{len(data)} bytes is over the limit of {MOST_BYTES}", "")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_FILES:
                raise ReadError(
                    name, f"holds {len(entries)} files, over the limit of {MOST_FILES}", ""
                )
            return _read(archive, entries, name)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as exc:
        raise ReadError(name, f"is no ZIP that can be read: {exc}", "export it again") from exc


def _read(archive: zipfile.ZipFile, entries: list[zipfile.ZipInfo], name: str) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    room = MOST_UNPACKED
    for entry in entries:
        if entry.is_dir():
            continue
        if stat.S_ISLNK(entry.external_attr >> 16):
            raise ReadError(name, f'"{entry.filename[:80]}" is a link', "only plain files are read")
        inside = check_inside(entry.filename, where=name)
        if inside in files:
            raise ReadError(name, f'"{inside}" stands in it twice', "export it again")
        with archive.open(entry) as file:
            content = file.read(room + 1)
        room -= len(content)
        if room < 0:
            raise ReadError(
                name, f"unpacks to more than the limit of {MOST_UNPACKED} bytes", "export it again"
            )
        files[inside] = content
    return files


def folder_files(folder: Path) -> dict[str, bytes]:
    """Every plain file under a folder, by its path inside."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }
