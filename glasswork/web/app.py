"""The server: the guard outside, plain routes for files, NiceGUI for the pages."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote

from fastapi import FastAPI, Request
from fastapi.responses import FileResponse, JSONResponse, Response
from fastapi.staticfiles import StaticFiles

from glasswork.errors import GlassworkError, PackError, ReadError
from glasswork.web.bundle import MOST_BYTES, export_project, folder_files, import_project, zip_of
from glasswork.web.crew import Crew
from glasswork.web.guard import App, Guard
from glasswork.web.session import Session
from glasswork.web.sessions import Sessions
from glasswork.web.store import Store, safe_name

STATIC: Final = Path(__file__).parent / "static"
MOST_DRAWING: Final = 32 * 1024 * 1024
MOST_PHOTO: Final = 48 * 1024 * 1024
_KINDS: Final = {
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".json": "application/json",
}


def build_app(store: Store, *, port: int, token: str | None = None) -> App:
    """The whole application. token : what visitors beyond loopback must bring"""
    from nicegui import ui

    from glasswork.web import pages

    crew = Crew()
    sessions = Sessions(store, crew)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        await crew.warm()
        yield
        await crew.close()

    inner = FastAPI(lifespan=lifespan, docs_url=None, redoc_url=None, openapi_url=None)
    inner.mount("/bench-static", StaticFiles(directory=STATIC), name="bench-static")
    _routes(inner, sessions)
    pages.register(sessions)
    ui.run_with(
        inner,
        title="Glasswork",
        favicon=STATIC / "mark.svg",
        dark=True,
        tailwind=False,
        show_welcome_message=False,
        reconnect_timeout=20.0,
    )
    return Guard(inner, port=port, token=token)


async def body_of(request: Request, *, limit: int, what: str) -> tuple[bytes, str]:
    """The posted file and its name, read no further than the limit.

    Raises: ReadError, if it is larger, or empty
    """
    name = safe_name(unquote(request.headers.get("x-name", "")))
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > limit:
            raise ReadError(what, f"is over the limit of {limit // 1024 // 1024} MiB", "")
        parts.append(part)
    if not size:
        raise ReadError(what, "the file is empty", "")
    return b"".join(parts), name


def refused(fault: GlassworkError, status: int = 400) -> JSONResponse:
    """A fault as the page shows it."""
    return JSONResponse({"fault": str(fault)}, status_code=status)


def _routes(app: FastAPI, sessions: Sessions) -> None:
    store = sessions.store

    @app.post("/up/drawing")
    async def drawing(request: Request) -> Response:
        try:
            data, name = await body_of(request, limit=MOST_DRAWING, what="drawing")
            await sessions.crew.run("check_drawing", data, name, limit_s=30.0)
            record = await asyncio.to_thread(
                store.create, name.rsplit(".", 1)[0], name, data, project=None
            )
        except GlassworkError as fault:
            return refused(fault)
        return JSONResponse({"go": f"/bench/{record.id}/drawing"})

    @app.post("/up/project")
    async def project(request: Request) -> Response:
        try:
            data, name = await body_of(request, limit=MOST_BYTES, what="project")
            record = await asyncio.to_thread(import_project, store, data, name=name)
        except GlassworkError as fault:
            return refused(fault)
        return JSONResponse({"go": f"/bench/{record.id}/drawing"})

    async def take(
        request: Request, project_id: str, what: str, most: int, by: Callable[..., Any]
    ) -> Response:
        """A file for a project, taken in one of its session's ways; it may tell what it found."""
        try:
            session = sessions.get(project_id)
            data, name = await body_of(request, limit=most, what=what)
            told = await by(session, name, data)
        except GlassworkError as fault:
            return refused(fault)
        return JSONResponse({"said": told or f"the {what} was taken"})

    @app.post("/up/{project_id}/strip")
    async def strip(request: Request, project_id: str, films: int = 1) -> Response:
        async def read(session: Session, name: str, data: bytes) -> str:
            found = await session.calibration.read_strip(data, name, min(3, max(1, films)))
            return f"{found.patches} patches read"

        return await take(request, project_id, "photo", MOST_PHOTO, read)

    @app.post("/up/{project_id}/check")
    async def check(request: Request, project_id: str) -> Response:
        async def compare(session: Session, name: str, data: bytes) -> str:
            found = await session.calibration.check(data, name, session.project)
            return f"{found.read.patches} patches compared"

        return await take(request, project_id, "photo", MOST_PHOTO, compare)

    @app.post("/up/{project_id}/opening")
    async def opening(request: Request, project_id: str) -> Response:
        return await take(request, project_id, "opening", MOST_DRAWING, Session.take_opening)

    @app.post("/up/{project_id}/photo")
    async def photo(request: Request, project_id: str) -> Response:
        return await take(request, project_id, "picture", MOST_PHOTO, Session.take_photo)

    @app.post("/up/{project_id}/pack")
    async def pack(project_id: str) -> Response:
        """Begin to make the pack: 202 if it is being made or waits, 409 if too many wait."""
        try:
            session = sessions.get(project_id)
            if sessions.crew.waiting >= sessions.crew.waiting_limit:
                raise PackError("pack", f"{sessions.crew.waiting} jobs are waiting", "try later")
            session.start_pack()
        except GlassworkError as fault:
            return refused(fault, 409)
        return JSONResponse({"said": "the pack is being made"}, status_code=202)

    @app.get("/file/films.pdf")
    async def films() -> Response:
        if not sessions.ganged:
            return Response("no films were laid out", status_code=404, media_type="text/plain")
        headers = {"Content-Disposition": 'attachment; filename="films.pdf"'}
        return Response(sessions.ganged, media_type="application/pdf", headers=headers)

    @app.get("/file/{project_id}/{kind}")
    async def file(project_id: str, kind: str) -> Response:
        try:
            return await _file(sessions.get(project_id), kind)
        except (GlassworkError, FileNotFoundError) as fault:
            return Response(str(fault), status_code=404, media_type="text/plain")

    @app.get("/pack/{project_id}/{name:path}")
    async def packed(project_id: str, name: str, look: bool = False) -> Response:
        """A file that the pack holds, by its exact name in the folder's own listing.

        look : its hairlines are drawn thick enough for a small picture
        """
        try:
            folder = sessions.get(project_id).folder / "pack"
        except GlassworkError as fault:
            return Response(str(fault), status_code=404, media_type="text/plain")
        known = {p.relative_to(folder).as_posix(): p for p in folder.rglob("*") if p.is_file()}
        if name not in known:
            return Response("no such file in the pack", status_code=404, media_type="text/plain")
        kind = _KINDS.get(known[name].suffix, "text/plain; charset=utf-8")
        headers = {"Cache-Control": "no-store", "Content-Security-Policy": _INERT}
        if look and known[name].suffix == ".svg":
            return Response(_plainer(known[name].read_bytes()), media_type=kind, headers=headers)
        return FileResponse(known[name], media_type=kind, headers=headers)

    @app.get("/sample/{name}.svg")
    async def sample(name: str) -> Response:
        try:
            picture = await sessions.sample_picture(name)
        except GlassworkError as fault:
            return Response(str(fault), status_code=404, media_type="text/plain")
        headers = {"Content-Security-Policy": _INERT, "Cache-Control": "max-age=3600"}
        return Response(picture, media_type="image/svg+xml", headers=headers)

    @app.get("/surface/{word}.png")
    async def surface(word: str) -> Response:
        try:
            tile = await sessions.surface_tile(word)
        except GlassworkError as fault:
            return Response(str(fault), status_code=404, media_type="text/plain")
        return Response(tile, media_type="image/png", headers={"Cache-Control": "max-age=86400"})


_INERT: Final = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""For files that are shown as pictures or saved: nothing in them runs."""


async def _file(session: Session, kind: str) -> Response:
    """Thumbnail, exported project, ZIP of the pack, page and strip pictures."""
    label = safe_name(session.record.title, fallback="window").replace(".", "-")
    measured = session.calibration

    def attached(data: bytes, name: str, media: str) -> Response:
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(data, media_type=media, headers=headers)

    if kind == "thumb.svg":
        headers = {"Cache-Control": "no-store", "Content-Security-Policy": _INERT}
        return (
            FileResponse(session.folder / kind, media_type="image/svg+xml", headers=headers)
            if (session.folder / kind).is_file()
            else Response(status_code=404)
        )
    if kind == "export":
        data = await asyncio.to_thread(export_project, session.store, session.record)
        return attached(data, f"{label}.glasswork.zip", "application/zip")
    if kind == "pack.zip":
        return attached(
            await asyncio.to_thread(_pack_zip, session), f"{label}.zip", "application/zip"
        )
    if kind.startswith("page-") and kind.endswith(".png"):
        return _page(session, kind.removesuffix(".png"))
    if kind.startswith("read-") and kind[5:6] in ("1", "2", "3"):
        found = [one.marked for one in measured.reads if str(one.films) == kind[5]]
        return Response(found[0] if found else b"", media_type="image/png")
    if kind == "check.png" and measured.checked is not None:
        return Response(measured.checked.read.marked, media_type="image/png")
    if kind == "plots.png" and measured.fitted is not None:
        return Response(measured.fitted.plots, media_type="image/png")
    return Response("no such file", status_code=404, media_type="text/plain")


def _plainer(svg: bytes) -> bytes:
    """A cut file with lines that a small picture shows."""
    style = (
        b"<style>path,circle,line,polyline,rect{stroke:#4a3420!important;"
        b"stroke-width:1.3px!important;vector-effect:non-scaling-stroke}</style>"
    )
    return svg.replace(b"<title>", style + b"<title>", 1)


def _pack_zip(session: Session) -> bytes:
    """The pack, and beside it what composes it again."""
    folder = session.folder
    if not (folder / "pack" / "report.json").is_file():
        raise ReadError("pack", "was not made yet", "make it first")
    project = session.project
    files = {f"pack/{name}": data for name, data in folder_files(folder / "pack").items()}
    files["project.toml"] = (folder / "project.toml").read_bytes()
    files[project.design] = (folder / project.design).read_bytes()
    if (folder / "profiles").is_dir():
        for name, data in folder_files(folder / "profiles").items():
            files[f"profiles/{name}"] = data
    return zip_of(files)


def _page(session: Session, name: str) -> Response:
    picture = session.thumbs.get(name)
    if picture is None:
        return Response("no such page", status_code=404, media_type="text/plain")
    return Response(picture, media_type="image/png", headers={"Cache-Control": "no-store"})


def run(host: str, port: int, *, token: str | None) -> None:
    """Serve until stopped."""
    import uvicorn

    from glasswork.web.store import data_folder

    app = build_app(Store(data_folder()), port=port, token=token)
    uvicorn.run(
        app,
        host=host,
        port=port,
        log_level="warning",
        ws_max_size=1024 * 1024,
        timeout_graceful_shutdown=2,
        server_header=False,
    )
