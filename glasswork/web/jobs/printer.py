"""Strips: drawn, read back, fitted to a profile."""

from __future__ import annotations

import pickle
from dataclasses import replace
from typing import Final

from glasswork.web.jobs.common import Begin
from glasswork.web.sketch import Fitted, StripRead

_PICTURES: Final = (b"\x89PNG", b"\xff\xd8\xff", b"II*\0", b"MM\0*")


def strip(page: str, films: int, label: str, created: str, *, begin: Begin) -> bytes:
    """The strip to print, as PDF."""
    from glasswork.calibrate.strip import strip_code, strip_layout
    from glasswork.calibrate.strip_page import strip_pages
    from glasswork.cli.kit import load_page
    from glasswork.model.sheet import Document
    from glasswork.writers.pdf import write_pdf

    begin("drawing the strip")
    code = strip_code()
    pages = strip_pages(strip_layout(code), load_page(page), films=films, label=label)
    return write_pdf(Document(title=code, pages=pages, created=created))


def read_strip(data: bytes, name: str, films: int, *, begin: Begin) -> StripRead:
    """A photo, CSV or CGATS file of a strip as read, with what is doubtful in it."""
    from glasswork.calibrate.strip import layout_of_mark, strip_layout
    from glasswork.readers.cgats import read_cgats
    from glasswork.readers.photo import read_photo
    from glasswork.readers.readings_csv import read_readings_csv

    begin("finding the patches")
    marked = b""
    if data.startswith(_PICTURES):
        photo = read_photo(
            data,
            where=name,
            layout_of_code=strip_layout,
            layout_of_mark=layout_of_mark,
            films=films,
        )
        readings, marked = photo.readings, photo.marked
    elif name.lower().endswith(".csv"):
        readings = read_readings_csv(data, where=name, films=films, layout_of_code=strip_layout)
    else:
        readings = read_cgats(data, where=name, films=films)
    return StripRead(
        data=pickle.dumps(readings),
        marked=marked,
        films=readings.films,
        patches=len(readings.values),
        notes=readings.notes,
        doubtful=tuple((one.patch, one.what) for one in readings.remarks),
    )


def fit(
    reads: tuple[bytes, ...], name: str, title: str, light: str, created: str, *, begin: Begin
) -> Fitted:
    """A printer profile of the readings, with its plots. reads : `StripRead.data`"""
    from glasswork.calibrate.fit import Wishes, calibrate
    from glasswork.calibrate.report import calibration_report, error_rows
    from glasswork.cli.kit import load_light, load_page
    from glasswork.cli.physics import physics_for
    from glasswork.readers.printer import read_printer
    from glasswork.writers.calibration_report import page_png
    from glasswork.writers.pdf import write_pdf
    from glasswork.writers.profile import write_profile

    begin("fitting the profile")
    physics = physics_for(load_light(light))
    readings = [pickle.loads(data) for data in reads]
    made = calibrate(
        readings, name=name, created=created, physics=physics, wishes=Wishes(title=title)
    )
    made = replace(made, created=created)
    begin("plotting")
    plots = page_png(write_pdf(calibration_report(made, physics=physics, page=load_page("a4"))))
    data = write_profile(
        made.profile, comments=(f"Calibrated {created} on the bench page, before {light}.",)
    )
    read_printer(data, where=f"{name}.toml")
    return Fitted(
        profile=data,
        plots=plots,
        errors=tuple((what, spread.mean, spread.p95) for what, spread in error_rows(made)),
        findings=made.findings,
    )
