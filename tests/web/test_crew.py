"""Workers: faults told, time limited, cancelled, queued, replaced."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

from glasswork.errors import PackError
from glasswork.model.project import Project
from glasswork.web.crew import Crew, JobError
from tests.web.browser import in_loop


@pytest.fixture(autouse=True)
def _importable(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(root))


def with_crew(work: Callable[[Crew], Awaitable[Any]], **settings: int) -> Any:
    async def main() -> Any:
        crew = Crew(**settings)
        try:
            return await work(crew)
        finally:
            await crew.close()

    return in_loop(main())


def test_a_job_gives_its_result_and_tells_its_stages() -> None:
    stages: list[str] = []

    async def work(crew: Crew) -> Any:
        return await crew.run("idle", 0.01, begin=stages.append)

    assert with_crew(work) == 0.01
    assert stages == ["idling"]


def test_a_fault_comes_back_as_where_what_and_hint() -> None:
    async def work(crew: Crew) -> Any:
        with pytest.raises(JobError) as caught:
            await crew.run("look", b"not a drawing", Project(design="x.svg"), "/")
        assert "no drawing" in caught.value.what
        return await crew.run("idle", 0.0)

    assert with_crew(work, workers=1) == 0.0


def test_a_job_over_its_time_is_ended_and_the_next_one_runs() -> None:
    async def work(crew: Crew) -> float:
        await crew.run("idle", 0.0)
        started = time.monotonic()
        with pytest.raises(PackError, match=r"longer than the limit of 0\.3 s"):
            await crew.run("idle", 60.0, limit_s=0.3)
        took = time.monotonic() - started
        assert await crew.run("idle", 0.0) == 0.0
        return took

    assert with_crew(work, workers=1) < 5.0


def test_a_cancelled_job_ends_its_worker() -> None:
    async def work(crew: Crew) -> None:
        await crew.run("idle", 0.0)
        (hand,) = crew._all
        task = asyncio.create_task(crew.run("idle", 60.0))
        await asyncio.sleep(0.2)
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task
        assert await hand.process.wait() != 0
        assert await crew.run("idle", 0.0) == 0.0

    with_crew(work, workers=1)


@pytest.mark.skipif(os.name == "nt", reason="kills by signal")
def test_a_worker_that_dies_is_told_and_replaced() -> None:
    async def work(crew: Crew) -> None:
        await crew.run("idle", 0.0)
        (hand,) = crew._all
        task = asyncio.create_task(crew.run("idle", 60.0))
        await asyncio.sleep(0.2)
        hand.process.kill()
        with pytest.raises(PackError, match="ended early"):
            await task
        assert await crew.run("idle", 0.0) == 0.0

    with_crew(work, workers=1)


def test_too_many_jobs_are_refused_and_the_others_all_run() -> None:
    async def work(crew: Crew) -> list[Any]:
        jobs = [crew.run("idle", 0.02) for _ in range(50)]
        return list(await asyncio.gather(*jobs, return_exceptions=True))

    results = with_crew(work, workers=2, waiting_limit=10)
    refused = [one for one in results if isinstance(one, PackError)]
    assert len(refused) == 38
    assert all("at most 10" in one.what for one in refused)
    assert sum(one == 0.02 for one in results) == 12
