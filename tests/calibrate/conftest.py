"""Strips printed once, photographed once for each way of looking at them."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest

from glasswork.calibrate.physics import Physics
from glasswork.calibrate.strip import layout_of_mark, strip_code, strip_layout
from glasswork.calibrate.strip_page import strip_pages
from glasswork.model.reading import PhotoReading
from glasswork.model.sheet import Document, PageSize
from glasswork.readers.page import read_page
from glasswork.readers.photo import read_photo
from glasswork.writers.pdf import write_pdf
from tests.calibrate import glue
from tests.calibrate.simulate import Device, Scene, photograph

PAGES = Path(__file__).parents[2] / "profiles" / "pages"
SIZE = (2000, 1500)


def page_size(name: str) -> PageSize:
    file = PAGES / f"{name}.toml"
    return read_page(file.read_bytes(), where=file.name)


@lru_cache(maxsize=8)
def strip_pdf(*, quick: bool = False, page: str = "a4", steps: int | None = None) -> bytes:
    layout = strip_layout(strip_code(quick=quick, steps=steps))
    pages = strip_pages(layout, page_size(page))
    return write_pdf(Document(title="strip", pages=pages, created="2026-01-02"))


@lru_cache(maxsize=64)
def photo_of(device: Device, scene: Scene, films: int = 1, quick: bool = False) -> bytes:
    block = (10.0, 12.0, 200.0, 79.0) if quick else (10.0, 20.5, 200.0, 168.5)
    pdf = strip_pdf(quick=quick)
    return photograph(pdf, device, scene, films=films, block_mm=block, seed=films)


def read(data: bytes, *, films: int = 1, **more: object) -> PhotoReading:
    return read_photo(
        data,
        where="photo.jpg",
        layout_of_code=strip_layout,
        layout_of_mark=layout_of_mark,
        films=films,
        **more,  # type: ignore[arg-type]
    )


@pytest.fixture(scope="session")
def physics() -> Physics:
    return glue.physics("led-b3")
