"""A printer measured on the bench: what was read of strips, and the profiles made of it."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Final

import msgspec
from msgspec.structs import replace

from glasswork.cli.compose import today
from glasswork.errors import CalibrationError, GlassworkError, ReadError
from glasswork.model.project import Project
from glasswork.readers.eye_answers import EyeAnswersFile, read_eye_answers
from glasswork.web.bundle import zip_of
from glasswork.web.crew import Crew
from glasswork.web.eye import told
from glasswork.web.sketch import Fitted, StripCheck, StripRead
from glasswork.web.store import safe_name, write_whole

_EYE: Final = "eye.toml"
_CHECK: Final = "check.json"


class Calibration:
    """Strips, sheets and profiles of one project.

    fitted : the profile of the readings · judged : that of the eye's answers, each until taken
    checked : what the last quick strip said
    """

    def __init__(self, crew: Crew, folder: Path) -> None:
        self.crew = crew
        self.folder = folder
        self.reads: list[StripRead] = []
        self.answers = EyeAnswersFile(matches={})
        self.fitted: Fitted | None = None
        self.judged: Fitted | None = None
        self.checked: StripCheck | None = None

    @property
    def _readings(self) -> Path:
        """Where photos and readings lie as they were sent, each with its films before its name."""
        return self.folder / "readings"

    async def read_again(self) -> None:
        """Read what was sent before the page was last started; what fails is left out."""
        if self.reads or not self._readings.is_dir():
            return
        for path in sorted(self._readings.iterdir()):
            data = await asyncio.to_thread(path.read_bytes)
            try:
                await self._read_again(path.name, data)
            except GlassworkError:
                continue

    async def _read_again(self, kept: str, data: bytes) -> None:
        films, _, name = kept.partition("-")
        if kept == _EYE:
            self.answers = read_eye_answers(data, where=_EYE)
        elif kept == _CHECK:
            self.checked = self.checked or _check_kept(data)
        elif films in ("1", "2", "3") and name:
            read = await self.crew.run("read_strip", data, name, int(films), limit_s=60.0)
            if all(one.films != read.films for one in self.reads):
                self.reads.append(read)

    # ------------------------------------------------------------------------------- strips

    async def read_strip(self, data: bytes, name: str, films: int) -> StripRead:
        """A photo or file of a strip, read and kept until it is fitted."""
        plain = safe_name(name, fallback="photo")
        read: StripRead = await self.crew.run("read_strip", data, plain, films, limit_s=60.0)
        self.drop_strip(read.films)
        await asyncio.to_thread(write_whole, self._readings / f"{films}-{plain}", data)
        self.reads.append(read)
        return read

    def drop_strip(self, films: int) -> None:
        """Leave out what was read of a strip of so many films."""
        self.reads = [one for one in self.reads if one.films != films]
        for path in self._readings.glob(f"{films}-*"):
            path.unlink(missing_ok=True)

    async def sheet(self, which: str, page: str, label: str) -> bytes:
        """A strip or sheet to print, as PDF. which : as for the job"""
        drawn: bytes = await self.crew.run("strip", which, page, str(self.folder), label, today())
        return drawn

    async def fit(self, title: str, project: Project) -> Fitted:
        """A profile of what was read.

        Raises: CalibrationError, if nothing was, or it makes no profile
        """
        name = self._free_name(title)
        reads = tuple(one.data for one in self.reads)
        made: Fitted = await self.crew.run(
            "fit", reads, project, str(self.folder), name, title, today(), limit_s=180.0
        )
        self.fitted = replace(made, inside=f"profiles/{name}.toml")
        return self.fitted

    async def cgats(self, title: str) -> bytes:
        """What was read, as CGATS text."""
        reads = tuple(one.data for one in sorted(self.reads, key=lambda one: one.films))
        text: bytes = await self.crew.run("cgats", reads, title, today())
        return text

    # ------------------------------------------------------------------------------- by eye

    def answer(self, answers: EyeAnswersFile) -> None:
        """Keep what the eye found so far."""
        write_whole(self._readings / _EYE, told(answers))
        self.answers = answers
        self.judged = None

    async def judge(self, title: str, project: Project) -> Fitted:
        """The profile in use, its tones mended by the eye's answers.

        Raises: CalibrationError, if an answer is missing or impossible
        """
        name = self._free_name(title)
        made: Fitted = await self.crew.run(
            "fit_by_eye", self.answers, project, str(self.folder), name, title, today()
        )
        self.judged = replace(made, inside=f"profiles/{name}.toml")
        return self.judged

    # ------------------------------------------------------------------------------- profiles

    def _free_name(self, title: str) -> str:
        """A file name for a profile that writes over none there, so that it can be undone."""
        wanted = safe_name(title, fallback="my-printer").replace(".", "-").lower()
        names = [wanted, *(f"{wanted}-{number}" for number in range(2, 100))]
        for name in names:
            if not (self.folder / "profiles" / f"{name}.toml").exists():
                return name
        raise CalibrationError(title, "99 profiles bear that name", "call it otherwise")

    def keep(self, made: Fitted) -> str:
        """Write a profile that was made; its path in the project."""
        write_whole(self.folder / made.inside, made.profile)
        return made.inside

    async def check(self, data: bytes, name: str, project: Project) -> StripCheck:
        """Compare a strip with the profile in use.

        Raises: ReadError or CalibrationError, if no strip is found or it is of another printer
        """
        plain = safe_name(name, fallback="photo")
        self.checked = None
        (self._readings / _CHECK).unlink(missing_ok=True)
        said: StripCheck = await self.crew.run(
            "check_strip", data, plain, project, str(self.folder), limit_s=60.0
        )
        kept = msgspec.json.encode(replace(said, read=replace(said.read, data=b"")))
        await asyncio.to_thread(write_whole, self._readings / _CHECK, kept)
        self.checked = said
        return said

    def check_of(self, project: Project) -> StripCheck | None:
        """What the last quick strip said, if it was compared with the profile in use."""
        said = self.checked
        now = (project.printer, project.light)
        return said if said is not None and (said.printer, said.light) == now else None

    async def icc(self, project: Project) -> bytes:
        """ICC profiles of one, two and three films of the printer in use, in a ZIP."""
        files: dict[str, bytes] = await self.crew.run(
            "icc", project, str(self.folder), today(), limit_s=240.0
        )
        return zip_of(files)


def _check_kept(data: bytes) -> StripCheck:
    """What a quick strip said, as it was kept, without the readings themselves.

    Raises: ReadError
    """
    try:
        return msgspec.json.decode(data, type=StripCheck)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as exc:
        raise ReadError(_CHECK, f"is no verdict on a strip: {exc}", "check the strip anew") from exc
