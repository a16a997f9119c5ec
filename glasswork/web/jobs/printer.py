"""Strips and sheets: drawn, read back, fitted to a profile, compared with one."""

from __future__ import annotations

import pickle
from pathlib import Path

from msgspec.structs import replace

from glasswork.cli.kit import load_light, load_page, load_printer
from glasswork.cli.physics import physics_for
from glasswork.model.film import PrinterProfile
from glasswork.model.light import Light
from glasswork.model.project import Project
from glasswork.model.reading import Readings
from glasswork.readers.eye_answers import EyeAnswersFile
from glasswork.web.jobs.common import Begin
from glasswork.web.sketch import Fitted, StripCheck, StripRead


def _in_use(project: Project, beside: str) -> tuple[PrinterProfile, Light]:
    """The printer and the light that the project names."""
    folder = Path(beside)
    return load_printer(project.printer, beside=folder), load_light(project.light, beside=folder)


def strip(which: str, page: str, beside: str, label: str, created: str, *, begin: Begin) -> bytes:
    """A sheet to print, as PDF.

    which : "1", "2", "3" copies of the strip to lie on each other, "quick" for a narrow strip,
        "eye" for the sheet that is judged by eye
    """
    from glasswork.cli.strips import eye_document, strip_document
    from glasswork.writers.pdf import write_pdf

    begin("drawing the strip")
    size = load_page(page, beside=Path(beside))
    if which == "eye":
        return write_pdf(eye_document(size, created=created))
    quick = which == "quick"
    films = 1 if quick else int(which)
    return write_pdf(strip_document(size, created=created, films=films, quick=quick, label=label))


def read_strip(data: bytes, name: str, films: int, *, begin: Begin) -> StripRead:
    """A photo, CSV or CGATS file of a strip as read, with what is doubtful in it."""
    from glasswork.cli.strips import is_photo, read_strip_photo, read_strip_table

    begin("finding the patches")
    marked = b""
    if is_photo(data):
        photo = read_strip_photo(data, where=name, films=films)
        readings, marked = photo.readings, photo.marked
    else:
        readings = read_strip_table(data, where=name, films=films)
    return StripRead(
        data=pickle.dumps(readings),
        marked=marked,
        films=readings.films,
        patches=len(readings.values),
        notes=readings.notes,
        doubtful=tuple((one.patch, one.what) for one in readings.remarks),
    )


def cgats(reads: tuple[bytes, ...], title: str, created: str, *, begin: Begin) -> bytes:
    """What was read, as CGATS text. reads : `StripRead.data`"""
    from glasswork.writers.cgats import write_cgats

    begin("writing the readings")
    readings: list[Readings] = [pickle.loads(data) for data in reads]
    return write_cgats(readings, created=created, title=title)


def check_strip(
    data: bytes, name: str, project: Project, beside: str, *, begin: Begin
) -> StripCheck:
    """A photo or file of a strip of one film against the profile in use."""
    from glasswork.calibrate.drift import check

    read = read_strip(data, name, 1, begin=begin)
    begin("comparing")
    profile, light = _in_use(project, beside)
    drift = check([pickle.loads(read.data)], profile, physics=physics_for(light))
    return StripCheck(
        read=read,
        printer=project.printer,
        light=project.light,
        holds=drift.holds,
        mean=drift.difference.mean,
        p95=drift.difference.p95,
        changed=drift.changed,
    )


def fit_by_eye(
    answers: EyeAnswersFile,
    project: Project,
    beside: str,
    name: str,
    title: str,
    created: str,
    *,
    begin: Begin,
) -> Fitted:
    """The profile in use with its tones as the eye found them."""
    from glasswork.cli.strips import profile_by_eye

    begin("bending the tones")
    former, light = _in_use(project, beside)
    data, findings = profile_by_eye(
        answers,
        former,
        name=name,
        title=title,
        created=created,
        physics=physics_for(light),
    )
    return Fitted(profile=data, findings=findings)


def icc(project: Project, beside: str, created: str, *, begin: Begin) -> dict[str, bytes]:
    """ICC profiles of one, two and three films of the printer in use, by file name."""
    from glasswork.cli.icc import icc_profiles

    begin("working out the tables")
    printer, light = _in_use(project, beside)
    return icc_profiles(printer, light, created=created)


def fit(
    reads: tuple[bytes, ...],
    project: Project,
    beside: str,
    name: str,
    title: str,
    created: str,
    *,
    begin: Begin,
) -> Fitted:
    """A printer profile of the readings, with its plots. reads : `StripRead.data`"""
    from glasswork.calibrate.fit import Wishes, calibrate
    from glasswork.calibrate.report import calibration_report, error_rows
    from glasswork.readers.printer import read_printer
    from glasswork.writers.calibration_report import page_png
    from glasswork.writers.pdf import write_pdf
    from glasswork.writers.profile import write_profile

    begin("fitting the profile")
    physics = physics_for(load_light(project.light, beside=Path(beside)))
    readings = [pickle.loads(data) for data in reads]
    made = calibrate(
        readings, name=name, created=created, physics=physics, wishes=Wishes(title=title)
    )
    made = replace(made, created=created)
    begin("plotting")
    plots = page_png(write_pdf(calibration_report(made, physics=physics, page=load_page("a4"))))
    data = write_profile(
        made.profile, comments=(f"Calibrated {created} on the bench page, before {project.light}.",)
    )
    read_printer(data, where=f"{name}.toml")
    return Fitted(
        profile=data,
        plots=plots,
        errors=tuple((what, spread.mean, spread.p95) for what, spread in error_rows(made)),
        findings=made.findings,
    )
