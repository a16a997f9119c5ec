"""Projects on disk: a folder each, in the user's data folder.

    projects/<id>/bench.json      the record: settings, history, revision; replaced in one step
                  project.toml    the same settings for the command line
                  drawings/<sha>/<name>   never changed once written
                  profiles/<name>.toml    printer profiles made on the bench
                  readings/<films>-<name> photos and readings of strips, as they were sent
                  readings/eye.toml, check.json   answers by eye, verdict on the last quick strip
                  pack/           the last pack

A record that is newer on disk than the one last seen is never written over.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Literal

import msgspec

from glasswork.errors import GlassworkError, PackError, ReadError
from glasswork.model.project import Project
from glasswork.web.state import History
from glasswork.writers.project import write_project

RECORD: Final = "bench.json"
PROFILE_KEYS: Final = (
    "palette",
    "printer",
    "light",
    "board",
    "outer_board",
    "retainer_board",
    "cutter",
    "page",
)
OPTIONAL_KEYS: Final = ("outer_board", "retainer_board")
FILE_KEYS: Final = ("photo", "opening_drawing")
_ID: Final = re.compile(r"[a-z0-9]{12}\Z")
_INSIDE: Final = re.compile(
    r"(?:[A-Za-z0-9_-][A-Za-z0-9._-]{0,79}/)*[A-Za-z0-9_-][A-Za-z0-9._-]{0,79}\Z"
)
_NAME: Final = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]{0,79}\Z")
_LOCK_WAIT_S: Final = 5.0
_LOCK_STALE_S: Final = 20.0


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One project as kept. revision rises with every save; saved : ISO 8601"""

    version: Literal[1]
    id: str
    title: str
    revision: int
    saved: str
    history: History


class NewerError(PackError):
    """Someone else has saved the project since it was read."""


def data_folder() -> Path:
    """$GLASSWORK_HOME/projects, or the place the system gives for data."""
    home = os.environ.get("GLASSWORK_HOME")
    if home:
        return Path(home) / "projects"
    data = os.environ.get("XDG_DATA_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(data) if data else Path.home() / ".local" / "share") / "glasswork" / "projects"


def safe_name(name: str, *, fallback: str = "drawing") -> str:
    """A file name that is nothing but a file name, at most 60 characters."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    kept = re.sub(r"[^A-Za-z0-9._-]+", "-", last).rstrip("-.")
    if "." not in kept:
        return (kept.lstrip("-.") or fallback)[:60]
    stem, ending = kept.rsplit(".", 1)
    return f"{(stem.strip('-.') or fallback)[: 59 - len(ending[:8])]}.{ending[:8]}"


def write_whole(path: Path, data: bytes) -> None:
    """Write a file in one step: it is the old one or the new one, whatever happens meanwhile."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, aside = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(aside).replace(path)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise


def check_inside(name: str, *, where: str) -> str:
    """The name, if it is a plain relative path with no way out.

    Raises: ReadError
    """
    if not _INSIDE.match(name):
        raise ReadError(where, f'"{name[:80]}" leads out of the project', "name files inside it")
    return name


def check_project(project: Project, *, where: str) -> Project:
    """The project, if every file it names lies inside its folder.

    Raises: ReadError
    """
    check_inside(project.design, where=where)
    for key in FILE_KEYS:
        if name := str(getattr(project, key)):
            check_inside(name, where=where)
    for key in PROFILE_KEYS:
        name = str(getattr(project, key))
        if not name and key in OPTIONAL_KEYS:
            continue
        if name.lower().endswith(".toml"):
            check_inside(name, where=where)
        elif not _NAME.match(name):
            raise ReadError(where, f'{key} "{name[:80]}" is no name of a profile', "choose one")
    return project


class Store:
    """The projects of one data folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def place(self, project_id: str) -> Path:
        """The project's folder.

        Raises: ReadError, if the id is not one
        """
        if not _ID.match(project_id):
            raise ReadError(
                "project", f'"{project_id[:40]}" is no project', "open it from the list"
            )
        return self.folder / project_id

    def create(self, title: str, design: str, drawing: bytes, *, project: Project | None) -> Record:
        """A new project around a drawing."""
        project_id = secrets.token_hex(6)
        settings, _ = self.with_drawing(
            project_id, project or Project(design=design), design, drawing
        )
        record = Record(
            version=1,
            id=project_id,
            title=title[:80] or "window",
            revision=0,
            saved=now(),
            history=History(present=check_project(settings, where=design)),
        )
        return self.save(record, title=record.title, history=record.history)

    def with_drawing(
        self, project_id: str, project: Project, name: str, drawing: bytes
    ) -> tuple[Project, str]:
        """Keep a drawing; the project that names it, and its path in the project."""
        inside = self.keep_drawing(project_id, name, drawing)
        digest = hashlib.sha256(drawing).hexdigest()
        changed = msgspec.structs.replace(project, design=inside, design_sha256=digest)
        return changed, inside

    def keep_drawing(self, project_id: str, name: str, drawing: bytes) -> str:
        """Keep a drawing by its hash; its path in the project."""
        digest = hashlib.sha256(drawing).hexdigest()
        inside = f"drawings/{digest[:12]}/{safe_name(name)}"
        target = self.place(project_id) / inside
        if not target.exists():
            write_whole(target, drawing)
        return inside

    def load(self, project_id: str) -> Record:
        """Raises: ReadError, if there is no such project or its record is broken"""
        path = self.place(project_id) / RECORD
        try:
            data = path.read_bytes()
        except FileNotFoundError as exc:
            raise ReadError(
                "project", f"{project_id} is not there", "open one of the list"
            ) from exc
        return decode_record(data, where=str(path), project_id=project_id)

    def save(self, seen: Record, *, title: str, history: History) -> Record:
        """The next revision, on disk when this returns.

        Raises: NewerError, if the record on disk is not the one that was seen
        """
        check_project(history.present, where=title)
        folder = self.place(seen.id)
        if seen.revision and not folder.is_dir():
            raise NewerError(seen.title, "was removed elsewhere", "nothing was written")
        folder.mkdir(parents=True, exist_ok=True)
        with _locked(folder):
            if seen.revision and not (folder / RECORD).exists():
                raise NewerError(seen.title, "was removed elsewhere", "nothing was written")
            if (folder / RECORD).exists():
                there = self.load(seen.id).revision
                if there != seen.revision:
                    raise NewerError(
                        seen.title,
                        f"revision {there} was saved elsewhere, revision {seen.revision} is shown",
                        "open the project again; nothing was written over",
                    )
            fresh = msgspec.structs.replace(
                seen, title=title, revision=seen.revision + 1, saved=now(), history=history
            )
            write_whole(folder / RECORD, msgspec.json.encode(fresh))
            write_whole(folder / "project.toml", write_project(history.present))
        return fresh

    def every(self) -> list[Record]:
        """All projects that can be read, last saved first."""
        found = []
        if self.folder.is_dir():
            for path in self.folder.iterdir():
                if _ID.match(path.name) and (path / RECORD).is_file():
                    try:
                        found.append(self.load(path.name))
                    except GlassworkError:
                        continue
        return sorted(found, key=lambda record: record.saved, reverse=True)

    def drawing(self, record: Record) -> bytes:
        """The drawing of the project as it stands."""
        return (self.place(record.id) / record.history.present.design).read_bytes()

    def remove(self, project_id: str) -> None:
        """Take a project off the disk: renamed first, so that it goes whole."""
        folder = self.place(project_id)
        gone = folder.with_name(f".gone-{folder.name}-{secrets.token_hex(4)}")
        folder.rename(gone)
        shutil.rmtree(gone, ignore_errors=True)


def decode_record(data: bytes, *, where: str, project_id: str | None = None) -> Record:
    """A record, checked.

    Raises: ReadError
    """
    try:
        record = msgspec.json.decode(data, type=Record)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as exc:
        raise ReadError(where, f"is no project: {exc}", "take an older copy") from exc
    if project_id is not None and record.id != project_id:
        raise ReadError(where, f"belongs to project {record.id[:20]}", "import it instead")
    check_history(record.history, where=where)
    return record


def check_history(history: History, *, where: str) -> None:
    """Raises: ReadError, if the project, or a step to be undone or redone, leads out of it"""
    plain = check_project(history.present, where=where)
    for step in (*history.past, *history.future):
        for patch in (step.does, step.undoes):
            named = {
                k: str(v)
                for k, v in patch.values.items()
                if k in (*PROFILE_KEYS, *FILE_KEYS, "design")
            }
            check_project(msgspec.structs.replace(plain, **named), where=where)


def now() -> str:
    """ISO 8601 to the microsecond, so that the list keeps its order."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """One writer at a time, across processes; a lock left by a killed one is passed over."""
    lock = folder / ".lock"
    end = time.monotonic() + _LOCK_WAIT_S
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            if _left_over(lock):
                lock.unlink(missing_ok=True)
            elif time.monotonic() > end:
                raise NewerError(
                    folder.name, "is being written by another program", "try again"
                ) from None
            else:
                time.sleep(0.01)
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _left_over(lock: Path) -> bool:
    try:
        return time.time() - lock.stat().st_mtime > _LOCK_STALE_S
    except FileNotFoundError:
        return False
