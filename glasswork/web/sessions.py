"""The open projects of a server, and what they share: pictures of the samples, surfaces."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from pathlib import Path

import msgspec

from glasswork.cli.compose import today
from glasswork.errors import PackError, ReadError
from glasswork.model.finish import check_finish
from glasswork.model.project import Project
from glasswork.readers.project import read_project
from glasswork.web.crew import Crew
from glasswork.web.picture import thumbnail_svg
from glasswork.web.session import Session
from glasswork.web.store import Record, Store


def of_sample(store: Store, path: Path) -> Record:
    """A new project of a sample. path : its project file

    Raises: GlassworkError, if the file or its drawing cannot be taken
    """
    project = read_project(path.read_bytes(), where=path.name)
    drawing = path.parent / project.design
    plain = msgspec.structs.replace(project, design="drawing", design_sha256="")
    title = path.stem.replace("-", " ").capitalize()
    return store.create(title, drawing.name, drawing.read_bytes(), project=plain)


class Sessions:
    """The open projects of this server."""

    def __init__(self, store: Store, crew: Crew) -> None:
        self.store = store
        self.crew = crew
        self._open: dict[str, Session] = {}
        self._tiles: dict[str, asyncio.Task[bytes]] = {}
        self._aside = asyncio.Semaphore(1)  # samples leave the other workers to the maker
        self._samples: dict[str, asyncio.Task[str]] = {}
        self.ganged = b""

    def get(self, project_id: str) -> Session:
        """The session of a project; read again from disk if another program saved it.

        Raises: ReadError, if there is no such project
        """
        record = self.store.load(project_id)
        session = self._open.get(project_id)
        if session is None:
            session = self._open[project_id] = Session(self.store, self.crew, record)
        elif session.record.revision != record.revision:
            session.record = record
        return session

    def renew_thumbs(self) -> None:
        """Small pictures of the open projects, brought up to date."""
        for session in self._open.values():
            if session.folder.is_dir():
                session.renew_thumb()

    async def surface_tile(self, word: str) -> bytes:
        """A piece of a surface, to be laid over the colour of a pane.

        Raises: ProfileError, if there is no such surface
        """
        check_finish(word, where="surface")
        if word not in self._tiles:
            self._tiles[word] = asyncio.create_task(self.crew.run("surface_tile", word))
        return await asyncio.shield(self._tiles[word])

    async def sample_picture(self, name: str) -> str:
        """A sample's window in its own glass.

        Raises: ReadError, if there is no such sample
        """
        from glasswork.cli import shelf

        folder = shelf.shipped() / "sample_designs"
        known = {path.stem: path for path in folder.glob("*.toml")}
        if name not in known:
            raise ReadError("sample", f'"{name[:40]}" is none', f"known: {', '.join(known)}")
        if name not in self._samples:
            project = read_project(known[name].read_bytes(), where=name)
            drawing = (folder / project.design).read_bytes()
            work = self._sample(drawing, project, str(folder))
            self._samples[name] = asyncio.create_task(work)
        return await asyncio.shield(self._samples[name])

    async def _sample(self, drawing: bytes, project: Project, beside: str) -> str:
        async with self._aside:
            sketch = await self.crew.run("look", drawing, project, beside)
            shelf = await self.crew.run("through_films", project, beside)
        return thumbnail_svg(sketch, project, shelf)

    async def gang(self, ids: Sequence[str]) -> tuple[str, ...]:
        """Films of several projects on shared sheets, kept as `ganged`; what lies where.

        Raises: PackError, if fewer than two are named; GlassworkError, if their films do not fit
        """
        if len(ids) < 2:
            raise PackError("films", f"{len(ids)} of 2 projects chosen", "tick two or more")
        chosen = [self.get(one) for one in ids]
        windows = tuple((one.drawing, one.project, str(one.folder)) for one in chosen)
        titles = tuple(one.record.title for one in chosen)
        self.ganged, told = await self.crew.run(
            "gang_films", windows, titles, today(), limit_s=60.0 * len(windows)
        )
        return tuple(told)

    def remove(self, project_id: str) -> None:
        """Close a project and take it off the disk.

        Raises: ReadError, if there is no such project
        """
        self.store.load(project_id)
        session = self._open.pop(project_id, None)
        if session is not None:
            session.cancel_pack()
        self.store.remove(project_id)
