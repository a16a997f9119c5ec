"""An open project: its choices follow an edit of the drawing, and its work is done once."""

from __future__ import annotations

import asyncio
import pickle
from collections.abc import Awaitable, Callable
from itertools import product
from pathlib import Path
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace

from glasswork.errors import GlassworkError
from glasswork.web.calibration import Calibration
from glasswork.web.crew import Crew
from glasswork.web.eye import ROWS, matched
from glasswork.web.pages.pack import STAGES
from glasswork.web.session import Session
from glasswork.web.sketch import StripRead
from glasswork.web.state import Patch, made
from glasswork.web.store import Store
from tests.web.browser import in_loop

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">'
    '<g fill="none" stroke="#000"><path d="M2 2H58V78H2Z" stroke-width="4"/>'
)
CROSS = '<path d="M2 40H58" stroke-width="3"/><path d="M30 2V78" stroke-width="1.2"/></g></svg>'


@pytest.fixture(autouse=True)
def _importable(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(root))


def with_session(folder: Path, work: Callable[[Session], Awaitable[Any]]) -> Any:
    """A project of four panes, open."""

    async def run() -> Any:
        crew = Crew()
        store = Store(folder)
        record = store.create("Quay", "quay.svg", (HEAD + CROSS).encode(), project=None)
        try:
            return await work(Session(store, crew, record))
        finally:
            await crew.close()

    return in_loop(run())


def test_choices_follow_a_small_edit_and_undo_brings_them_back(tmp_path: Path) -> None:
    async def work(session: Session) -> None:
        sketch = await session.sketch()
        pane = sketch.panes[0].id
        bar = next(m.id for m in sketch.members if m.width_mm == 3.0)
        session.glaze([pane], "ruby")
        session.surface([pane], "seedy")
        session.change(made(bar, "printed"), label="printed")
        chosen = session.project
        moved = (HEAD + CROSS.replace("M2 40H58", "M2 42H58")).encode()
        session.take_drawing("quay.svg", moved, label="moved")
        after = await session.sketch()
        now = session.project
        assert after.panes[0].id != pane
        assert now.glass == {after.panes[0].id: "ruby"}
        assert now.surfaces == {after.panes[0].id: "seedy"}
        assert list(now.members.values()) == ["printed"]
        assert bar not in now.members
        session.undo()
        session.undo()
        assert session.project == chosen

    with_session(tmp_path, work)


def test_choices_for_parts_that_are_gone_go(tmp_path: Path) -> None:
    async def work(session: Session) -> None:
        sketch = await session.sketch()
        session.surface([pane.id for pane in sketch.panes], "opal")
        session.take_drawing("quay.svg", (HEAD + "</g></svg>").encode(), label="bare")
        after = await session.sketch()
        assert len(after.panes) == 1
        assert session.project.surfaces.keys() <= {after.panes[0].id}

    with_session(tmp_path, work)


def test_two_that_ask_at_once_share_the_work(tmp_path: Path) -> None:
    async def work(session: Session) -> None:
        one, two = await asyncio.gather(session.sketch(), session.sketch())
        assert one is two
        assert await session.sketch() is one

    with_session(tmp_path, work)


READINGS = b"R,G,B,XYZ_X,XYZ_Y,XYZ_Z\n255,255,255,90,92,80\n0,0,0,1,1,1\n128,128,128,30,31,25\n"


LATTICE = (
    "R,G,B,XYZ_X,XYZ_Y,XYZ_Z\n"
    + "".join(
        f"{r},{g},{b},{1 + 0.34 * r},{1 + 0.35 * g},{1 + 0.3 * b}\n"
        for r, g, b in product((0, 128, 255), repeat=3)
    )
).encode()
"""Readings of an invented printer whose inks each darken one value."""


def values_of(read: StripRead) -> tuple[int, Any]:
    return read.films, pickle.loads(read.data).values.tolist()


def test_readings_of_a_strip_are_there_after_a_new_start(tmp_path: Path) -> None:
    async def work(session: Session) -> None:
        measured = session.calibration
        await measured.read_strip(READINGS, "bench/../one.csv", 1)
        await measured.read_strip(READINGS, "two.csv", 2)
        await measured.read_strip(READINGS, "other.csv", 2)
        with pytest.raises(GlassworkError):
            await measured.read_strip(b"nothing", "three.csv", 3)
        measured.answer(matched(measured.answers, "cyan-25", "7,5"))
        fresh = Calibration(session.crew, session.folder)
        await fresh.read_again()
        assert [values_of(one) for one in fresh.reads] == [values_of(one) for one in measured.reads]
        assert fresh.answers == measured.answers
        names = sorted(path.name for path in (session.folder / "readings").iterdir())
        assert names == ["1-one.csv", "2-other.csv", "eye.toml"]
        fresh.drop_strip(2)
        last = Calibration(session.crew, session.folder)
        await last.read_again()
        assert [one.films for one in last.reads] == [1]

    with_session(tmp_path, work)


def test_what_a_quick_strip_said_is_there_after_a_new_start(tmp_path: Path) -> None:
    """Until it is compared with another printer, or the next strip fails; a broken file says
    nothing."""

    async def work(session: Session) -> None:
        measured, here = session.calibration, session.project
        said = await measured.check(LATTICE, "quick.csv", here)
        fresh = Calibration(session.crew, session.folder)
        assert fresh.check_of(here) is None
        await fresh.read_again()
        assert fresh.check_of(here) == replace(said, read=replace(said.read, data=b""))
        assert fresh.check_of(msgspec.structs.replace(here, printer="pigment-film")) is None
        kept = session.folder / "readings" / "check.json"
        whole = kept.read_bytes()
        kept.write_bytes(whole[:-9])
        broken = Calibration(session.crew, session.folder)
        await broken.read_again()
        assert broken.check_of(here) is None
        kept.write_bytes(whole)
        with pytest.raises(GlassworkError):
            await fresh.check(b"nothing", "quick.csv", here)
        last = Calibration(session.crew, session.folder)
        await last.read_again()
        assert last.check_of(here) is None

    with_session(tmp_path, work)


ANSWERS = {row: str(step) for row, step in zip(ROWS, (4, 7, 10) * 3, strict=True)}


def test_a_profile_taken_writes_over_none_and_is_undone(tmp_path: Path) -> None:
    """Judged twice under one name: the first stays as it is, and undo finds it."""

    async def work(session: Session) -> None:
        measured = session.calibration
        first = session.project.printer
        with pytest.raises(GlassworkError, match="9 of 9 matches are missing"):
            await measured.judge("Quay printer", session.project)
        for row, step in ANSWERS.items():
            measured.answer(matched(measured.answers, row, step))
        session.take_profile(await measured.judge("Quay printer", session.project))
        one = session.project.printer
        kept = (session.folder / one).read_bytes()
        measured.answer(matched(measured.answers, "cyan-25", "5"))
        session.take_profile(await measured.judge("Quay printer", session.project))
        two = session.project.printer
        assert (one, two) == ("profiles/quay-printer.toml", "profiles/quay-printer-2.toml")
        assert (session.folder / one).read_bytes() == kept != (session.folder / two).read_bytes()
        session.undo()
        assert session.project.printer == one
        session.undo()
        assert session.project.printer == first

    with_session(tmp_path, work)


def test_a_check_is_shown_for_the_profile_it_was_made_with_alone(tmp_path: Path) -> None:
    async def work(session: Session) -> None:
        measured = session.calibration
        await measured.check(LATTICE, "quick.csv", session.project)
        assert measured.check_of(session.project) is not None
        session.change(Patch(values={"light": "led-v2"}), label="light")
        assert measured.check_of(session.project) is None
        session.undo()
        with pytest.raises(GlassworkError):
            await measured.check(b"nothing", "quick.csv", session.project)
        assert measured.check_of(session.project) is None

    with_session(tmp_path, work)


def test_a_pack_tells_its_stages_in_the_order_that_is_shown(tmp_path: Path) -> None:
    async def work(session: Session) -> None:
        session.start_pack()
        assert session.packing.task is not None
        await session.packing.task
        assert session.packing.fault == ""
        told = [s for s in session.packing.stages if s != "waiting for a worker"]
        assert set(told) == set(STAGES)
        told.reverse()  # the films’ division is told as sheets too, before the surfaces
        first = sorted(STAGES, key=told.index, reverse=True)
        assert tuple(first) == STAGES

    with_session(tmp_path, work)


@pytest.mark.parametrize(
    ("stage", "stopped"), [("waiting for a worker", True), ("guide", True), ("writing", False),
                           ("pictures of the pages", False)]
)  # fmt: skip
def test_a_pack_that_is_being_written_is_no_longer_stopped(
    tmp_path: Path, stage: str, stopped: bool
) -> None:
    """Else the page would say that nothing was written where a pack stands."""

    async def work(session: Session) -> bool:
        task = asyncio.create_task(asyncio.sleep(0.05))
        session.packing.task, session.packing.stage = task, stage
        session.cancel_pack()
        await asyncio.wait([task])
        return task.cancelled()

    assert with_session(tmp_path, work) is stopped
