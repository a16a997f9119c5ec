"""A project that is open: shared by all tabs that show it, saved with every step.

What a step needs is worked out by the crew once for each state of the settings it depends on; two
tabs that ask at once share the work.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import msgspec

from glasswork.cli.compose import today
from glasswork.cli.packs import write_pack
from glasswork.drawing.pane_ids import follow_map
from glasswork.errors import GlassworkError
from glasswork.model.geometry import Box, Point
from glasswork.model.project import Project
from glasswork.web.calibration import Calibration
from glasswork.web.crew import Crew
from glasswork.web.picture import thumbnail_svg
from glasswork.web.sketch import Fitted, FrameSketch, Shelf, Sketch, Tally
from glasswork.web.state import Patch, done, glazed, redone, surfaced, undone
from glasswork.web.store import Record, Store, safe_name, write_whole

_SIZE = (
    "design_sha256",
    "roles",
    "member_roles",
    "widths",
    "width",
    "height",
    "opening",
    "opening_drawing",
    "clearance",
    "scale",
)
_BOARDS = ("board", "outer_board", "retainer_board", "cutter")
_LOOK = (*_SIZE, "palette", "photo", *_BOARDS)
_SHELF = ("palette", "printer", "light")
_TALLY = (*_SIZE, *_SHELF, "films", "films_differ", "glass", "photo")
_FRAME = (*_TALLY, *_BOARDS, "recess", "step", "rebate", "jig", "layers", "members")

_WRITTEN = ("writing", "pictures of the pages")
"""Stages of a pack that can no longer be stopped."""

Listener = Callable[[frozenset[str]], None]


@dataclass(eq=False)
class Packing:
    """A pack in the making, or made. of : the settings it was made from"""

    task: asyncio.Task[None] | None = None
    stage: str = ""
    stages: list[str] = field(default_factory=list)
    fault: str = ""
    of: Project | None = None


class Session:
    """One open project."""

    def __init__(self, store: Store, crew: Crew, record: Record) -> None:
        self.store = store
        self.crew = crew
        self.record = record
        self.folder = store.place(record.id)
        self.listeners: set[Listener] = set()
        self.packing = Packing()
        self.calibration = Calibration(crew, self.folder)
        self.thumbs: dict[str, bytes] = {}
        self._work: dict[str, tuple[Any, asyncio.Task[Any]]] = {}
        self._drawing: tuple[str, bytes] = ("", b"")
        self._thumbed = b""
        self._colouring: asyncio.Task[None] | None = None

    @property
    def project(self) -> Project:
        return self.record.history.present

    @property
    def drawing(self) -> bytes:
        """The drawing's bytes."""
        if self._drawing[0] != self.project.design:
            self._drawing = (self.project.design, self.store.drawing(self.record))
        return self._drawing[1]

    # ------------------------------------------------------------------------------- the steps

    def change(self, patch: Patch, *, label: str) -> None:
        """One step, saved before this returns.

        Raises: ProfileError, if the patch does not fit; NewerError, if another program saved
        """
        self._keep(done(self.record.history, patch, label=label))

    def glaze(self, panes: Iterable[str], glass: str | None) -> None:
        """Give panes a glass."""
        chosen = tuple(panes)
        what = f"{len(chosen)} panes" if len(chosen) > 1 else f"pane {chosen[0]}"
        self.change(glazed(chosen, glass), label=f"{glass or 'drawing’s own glass'} for {what}")

    def surface(self, panes: Iterable[str], surface: str | None) -> None:
        """Give panes a surface of their own."""
        chosen = tuple(panes)
        what = f"{len(chosen)} panes" if len(chosen) > 1 else f"pane {chosen[0]}"
        self.change(
            surfaced(chosen, surface), label=f"{surface or 'surface as for all'} for {what}"
        )

    def undo(self) -> str:
        """Take the last step back; its name, or nothing."""
        past = self.record.history.past
        self._keep(undone(self.record.history))
        return past[-1].label if past else ""

    def redo(self) -> str:
        """Do the step again that was taken back; its name, or nothing."""
        future = self.record.history.future
        self._keep(redone(self.record.history))
        return future[0].label if future else ""

    def rename(self, title: str) -> None:
        """Another name for the project."""
        self.record = self.store.save(
            self.record, title=title.strip()[:80] or "window", history=self.record.history
        )

    def _keep(self, history: Any) -> None:
        before = self.project
        if history is self.record.history:
            return
        self.record = self.store.save(self.record, title=self.record.title, history=history)
        changed = frozenset(
            name
            for name in Project.__struct_fields__
            if getattr(before, name) != getattr(self.project, name)
        )
        for listener in list(self.listeners):
            listener(changed)

    # ------------------------------------------------------------------------------- the work

    async def _once(self, kind: str, keys: tuple[str, ...], *arguments: Any) -> Any:
        plain = msgspec.json.encode([getattr(self.project, key) for key in keys])
        state, task = self._work.get(kind, (None, None))
        if task is None or state != plain or (task.done() and _failed(task)):
            task = asyncio.create_task(
                self.crew.run(kind, *arguments, self.project, str(self.folder), limit_s=60.0)
            )
            self._work[kind] = (plain, task)
        return await asyncio.shield(task)

    async def sketch(self) -> Sketch:
        """The drawing as understood; stale choices are dropped."""
        found: Sketch = await self._once("look", _LOOK, self.drawing)
        if found.usable:
            self._follow(found)
            self._thumb(found)
        return found

    def _follow(self, sketch: Sketch) -> None:
        """Move choices to the parts that lie there now; those for parts that are gone go too."""
        box = Box(0.0, 0.0, *sketch.size_mm)
        panes = [(pane.id, pane.seed) for pane in sketch.panes]
        members = [(member.id, member.middle) for member in sketch.members]
        patch = Patch(
            glass=_moves(self.project.glass, panes, box),
            surfaces=_moves(self.project.surfaces, panes, box),
            members=_moves(self.project.members, members, box),
            member_roles=_moves(self.project.member_roles, members, box),
        )
        if patch != Patch():
            self.change(patch, label="choices follow the drawing")

    def _thumb(self, sketch: Sketch) -> None:
        """The small picture for the list, in its glass as soon as that is worked out."""
        if not (self.folder / "thumb.svg").exists():
            self._write_thumb(sketch, None)
        if self._colouring is None or self._colouring.done():
            self._colouring = asyncio.create_task(self._coloured_thumb(sketch))

    async def _coloured_thumb(self, sketch: Sketch) -> None:
        shelf, _ = await quietly(self.shelf())
        if shelf is not None:
            self._write_thumb(sketch, shelf)

    def _write_thumb(self, sketch: Sketch, shelf: Shelf | None) -> None:
        picture = thumbnail_svg(sketch, self.project, shelf).encode()
        if picture != self._thumbed:
            self._thumbed = picture
            write_whole(self.folder / "thumb.svg", picture)

    def renew_thumb(self) -> None:
        """The small picture as the project stands, if all it needs is there."""
        sketch, shelf = self.ready("look"), self.ready("through_films")
        if sketch is not None and sketch.usable and shelf is not None:
            self._write_thumb(sketch, shelf)

    async def shelf(self) -> Shelf:
        """The palette through the stack."""
        return await self._once("through_films", _SHELF)  # type: ignore[no-any-return]

    async def tally(self) -> Tally:
        """How many films the glasses need."""
        return await self._once("tally", _TALLY, self.drawing)  # type: ignore[no-any-return]

    async def frame(self) -> FrameSketch:
        """The frame as planned."""
        return await self._once("frame", _FRAME, self.drawing)  # type: ignore[no-any-return]

    async def mended(self) -> tuple[bytes, Any, Sketch]:
        """The drawing repaired, to be looked at before it is taken."""
        return await self._once("mend", _LOOK, self.drawing)  # type: ignore[no-any-return]

    def ready(self, kind: str) -> Any:
        """A result that is there already, or None."""
        _, task = self._work.get(kind, (None, None))
        return task.result() if task is not None and task.done() and not _failed(task) else None

    def take_drawing(self, name: str, data: bytes, *, label: str) -> None:
        """Another drawing in place of the one there; can be undone."""
        fresh, _ = self.store.with_drawing(self.record.id, self.project, name, data)
        values = {"design": fresh.design, "design_sha256": fresh.design_sha256}
        self.change(Patch(values=values), label=label)

    async def take_opening(self, name: str, data: bytes) -> None:
        """A drawing of the opening, in place of its width and height.

        Raises: GlassworkError, if it shows no opening
        """
        await self.crew.run("check_opening", data, safe_name(name), limit_s=30.0)
        inside = await asyncio.to_thread(self.store.keep_drawing, self.record.id, name, data)
        values = {"width": None, "height": None, "opening": None, "opening_drawing": inside}
        self.change(Patch(values=values), label="drawn opening")

    async def take_photo(self, name: str, data: bytes) -> None:
        """A picture to lie under the drawing, for panes to take their colours from.

        Raises: GlassworkError, if it is no colour picture
        """
        await self.crew.run("check_photo", data, safe_name(name), limit_s=30.0)
        inside = await asyncio.to_thread(self.store.keep_drawing, self.record.id, name, data)
        self.change(Patch(values={"photo": inside}), label="colours from a picture")

    # ------------------------------------------------------------------------------- the pack

    def start_pack(self) -> None:
        """Begin to make the pack, if none is being made."""
        if self.packing.task is not None and not self.packing.task.done():
            return
        self.packing = Packing(of=self.project)
        self.thumbs = {}
        self.packing.task = asyncio.create_task(self._pack(self.packing))

    def cancel_pack(self) -> None:
        """Stop the pack in the making, nothing of which stays; one being written is finished."""
        if self.packing.task is not None and self.packing.stage not in _WRITTEN:
            self.packing.task.cancel()

    async def _pack(self, packing: Packing) -> None:
        def begin(stage: str) -> None:
            packing.stage = stage
            packing.stages.append(stage)

        begin("waiting for a worker")
        try:
            files = await self.crew.run(
                "pack",
                self.drawing,
                self.project,
                str(self.folder),
                today(),
                limit_s=300.0,
                begin=begin,
            )
            begin(_WRITTEN[0])
            await asyncio.to_thread(write_pack, self.folder / "pack", files)
            begin(_WRITTEN[1])
            await self.picture_pages()
            packing.stage = "done"
        except GlassworkError as fault:
            packing.fault = str(fault)
        except asyncio.CancelledError:
            packing.fault = "stopped; nothing was written"

    async def picture_pages(self) -> None:
        """Small pictures of every page of the pack, made if they are not there."""
        if self.thumbs:
            return
        found: dict[str, bytes] = {}
        for name in ("films", "template", "guide"):
            path = self.folder / "pack" / f"{name}.pdf"
            if path.is_file():
                pages = await self.crew.run("page_pictures", path.read_bytes(), 420, limit_s=120.0)
                found |= {f"page-{name}-{i}": page for i, page in enumerate(pages, start=1)}
        self.thumbs = found

    # ------------------------------------------------------------------------------- the printer

    def take_profile(self, made: Fitted) -> None:
        """Use a profile that was made of readings."""
        inside = self.calibration.keep(made)
        self.calibration.judged = None
        self.change(Patch(values={"printer": inside}), label="calibrated printer")


def _moves(
    chosen: Mapping[str, Any], parts: Sequence[tuple[str, Point]], box: Box
) -> dict[str, Any]:
    """What changes in a table so that its entries follow their parts."""
    names = [name for name, _ in parts]
    found, _ = follow_map(names, [place for _, place in parts], box, chosen)
    gone = dict.fromkeys(chosen.keys() - found.keys())
    return gone | {key: value for key, value in found.items() if chosen.get(key) != value}


def _failed(task: asyncio.Task[Any]) -> bool:
    return task.cancelled() or task.exception() is not None


async def quietly(work: Awaitable[Any]) -> tuple[Any, str]:
    """A result, or the fault in words."""
    try:
        return await work, ""
    except GlassworkError as fault:
        return None, str(fault)
