"""Worker processes for long work: a few of them, a queue before them, a time limit on each job.

A bad drawing can hang or crash its worker and nothing else: the worker is ended and another takes
its place.
"""

from __future__ import annotations

import asyncio
import contextlib
import pickle
import struct
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from glasswork.errors import GlassworkError, PackError

WORKERS: Final = 2
WAITING: Final = 24
"""Jobs that may wait; one more is refused."""
MOST_RESULT: Final = 512 * 1024 * 1024


class JobError(GlassworkError):
    """What a job refused, as told by its worker. lines : (where, what, hint)"""

    def __init__(self, lines: list[tuple[str, str, str]]) -> None:
        super().__init__(*lines[0])
        self.lines = lines

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.each())

    def each(self) -> tuple[GlassworkError, ...]:
        return tuple(GlassworkError(*line) for line in self.lines)


@dataclass(eq=False)
class _Hand:
    """One worker process. fresh : it has not said it is ready yet"""

    process: asyncio.subprocess.Process
    fresh: bool = True

    async def send(self, message: Any) -> None:
        data = pickle.dumps(message, protocol=pickle.HIGHEST_PROTOCOL)
        assert self.process.stdin is not None
        self.process.stdin.write(struct.pack("<Q", len(data)) + data)
        await self.process.stdin.drain()

    async def receive(self) -> tuple[str, Any]:
        assert self.process.stdout is not None
        (length,) = struct.unpack("<Q", await self.process.stdout.readexactly(8))
        if length > MOST_RESULT:
            raise PackError("worker", f"{length} bytes of result is over {MOST_RESULT}", "")
        kind, content = pickle.loads(await self.process.stdout.readexactly(length))
        return str(kind), content

    def end(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            self.process.kill()


@dataclass(eq=False)
class Crew:
    """The workers and their queue."""

    workers: int = WORKERS
    waiting_limit: int = WAITING
    waiting: int = 0
    _idle: list[_Hand] = field(default_factory=list)
    _all: set[_Hand] = field(default_factory=set)
    _free: asyncio.Semaphore | None = None

    async def run(
        self,
        job: str,
        *arguments: Any,
        limit_s: float = 60.0,
        begin: Callable[[str], None] = lambda _stage: None,
    ) -> Any:
        """The result of a job.

        limit_s : seconds it may run, waiting not counted
        begin : called with each stage's name
        Raises: JobError as the job's own faults; PackError, if too many wait, the job ran too
            long, or its worker died; asyncio.CancelledError ends the worker
        """
        if self._free is None:
            self._free = asyncio.Semaphore(self.workers)
        if self.waiting >= self.waiting_limit:
            raise PackError(
                job, f"{self.waiting} jobs are waiting, at most {self.waiting_limit}", "try later"
            )
        self.waiting += 1
        try:
            await self._free.acquire()
        finally:
            self.waiting -= 1
        try:
            return await self._do(job, arguments, limit_s, begin)
        finally:
            self._free.release()

    async def _do(
        self, job: str, arguments: tuple[Any, ...], limit_s: float, begin: Callable[[str], None]
    ) -> Any:
        hand = self._idle.pop() if self._idle else await self._hire()
        try:
            async with asyncio.timeout(limit_s):
                kind, content = await self._exchange(hand, (job, arguments), begin)
        except TimeoutError as exc:
            self._dismiss(hand)
            raise PackError(
                job,
                f"took longer than the limit of {limit_s:g} s and was stopped",
                "send something smaller or simpler",
            ) from exc
        except (asyncio.IncompleteReadError, BrokenPipeError, ConnectionResetError) as exc:
            self._dismiss(hand)
            raise PackError(job, "its worker ended early", "try again") from exc
        except BaseException:
            self._dismiss(hand)
            raise
        self._idle.append(hand)
        if kind == "fault":
            raise JobError(content)
        return content

    async def _exchange(
        self, hand: _Hand, message: Any, begin: Callable[[str], None]
    ) -> tuple[str, Any]:
        if hand.fresh:
            await hand.receive()
            hand.fresh = False
        await hand.send(message)
        while True:
            kind, content = await hand.receive()
            if kind != "stage":
                return kind, content
            begin(str(content))

    async def _hire(self) -> _Hand:
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            "glasswork.web.worker",
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
        )
        hand = _Hand(process)
        self._all.add(hand)
        return hand

    def _dismiss(self, hand: _Hand) -> None:
        hand.end()
        self._all.discard(hand)

    async def warm(self) -> None:
        """Start the first worker before it is asked for."""
        if not self._all:
            self._idle.append(await self._hire())

    async def close(self) -> None:
        """End all workers."""
        for hand in list(self._all):
            self._dismiss(hand)
            with contextlib.suppress(ProcessLookupError):
                await hand.process.wait()
        self._idle.clear()
