"""Strips drawn and read, for the command line and the bench page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from glasswork.calibrate.physics import Physics
    from glasswork.model.film import PrinterProfile
    from glasswork.model.finding import Finding
    from glasswork.model.reading import PhotoReading, Readings
    from glasswork.model.sheet import Document, PageSize
    from glasswork.readers.eye_answers import EyeAnswersFile

_PICTURES: Final = (b"\x89PNG", b"\xff\xd8\xff", b"II*\0", b"MM\0*")


def strip_document(
    size: PageSize,
    *,
    created: str,
    films: int = 1,
    steps: int | None = None,
    quick: bool = False,
    label: str = "",
) -> Document:
    """The strip to print; its title is the strip's code.

    films : copies to lie on each other · created : ISO 8601 date
    """
    from glasswork.calibrate.strip import strip_code, strip_layout
    from glasswork.calibrate.strip_page import strip_pages
    from glasswork.model.sheet import Document

    code = strip_code(quick=quick, steps=steps)
    pages = strip_pages(strip_layout(code), size, films=films, label=label)
    return Document(title=code, pages=pages, created=created)


def eye_document(size: PageSize, *, created: str) -> Document:
    """The sheet that is judged without instrument or camera."""
    from glasswork.calibrate.byeye import eye_page
    from glasswork.model.sheet import Document

    return Document(title="Tones by eye", pages=(eye_page(size),), created=created)


def is_photo(data: bytes) -> bool:
    """Whether a reading is a picture: PNG, JPEG or TIFF."""
    return data.startswith(_PICTURES)


def read_strip_photo(
    data: bytes,
    *,
    where: str,
    films: int,
    code: str | None = None,
    linear: bool = False,
    may_clip: bool = False,
) -> PhotoReading:
    """The patches of a photographed strip.

    code : of the strip, where the photo does not show it · linear : the photo holds linear light
    may_clip : a darker photo of the same strip makes up for what is too bright in this one
    Raises: ReadError, if no strip is found in it; CalibrationError, if it is not fit to be used
    """
    from glasswork.calibrate.strip import layout_of_mark, strip_layout
    from glasswork.readers.photo import read_photo

    return read_photo(
        data,
        where=where,
        layout_of_code=strip_layout,
        layout_of_mark=layout_of_mark,
        films=films,
        code=code,
        linear=linear,
        may_clip=may_clip,
    )


def read_strip_table(data: bytes, *, where: str, films: int) -> Readings:
    """An instrument's readings: CSV by the file's ending, else CGATS text.

    Raises: ReadError, as its reader
    """
    from glasswork.calibrate.strip import strip_layout
    from glasswork.readers.cgats import read_cgats
    from glasswork.readers.readings_csv import read_readings_csv

    if where.lower().endswith(".csv"):
        return read_readings_csv(data, where=where, films=films, layout_of_code=strip_layout)
    return read_cgats(data, where=where, films=films)


def profile_by_eye(
    told: EyeAnswersFile,
    former: PrinterProfile,
    *,
    name: str,
    title: str,
    created: str,
    physics: Physics,
) -> tuple[bytes, tuple[Finding, ...]]:
    """The former profile with its tones as the eye found them, as TOML, and what to know of it.

    title : for people; that of the former profile, if empty
    Raises: CalibrationError, if an answer is missing or impossible
    """
    from msgspec.structs import replace

    from glasswork.calibrate.byeye import EyeAnswers, fit_by_eye
    from glasswork.readers.printer import read_printer
    from glasswork.writers.profile import write_profile

    answers = EyeAnswers(matches=told.matches, ink_limit=told.ink_limit)
    profile, findings = fit_by_eye(answers, former, name=name, created=created, physics=physics)
    profile = replace(profile, title=title or profile.title)
    data = write_profile(profile, comments=(f"Judged by eye, {created}.",))
    read_printer(data, where=f"{name}.toml")
    return data, findings
