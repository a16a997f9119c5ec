"""Profiles as TOML: what is written is read back equal."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from glasswork.readers.printer import read_printer
from glasswork.writers.profile import write_profile

PRINTERS = sorted((Path(__file__).parents[2] / "profiles" / "printers").glob("*.toml"))


@pytest.mark.parametrize("path", PRINTERS, ids=lambda p: p.stem)
def test_shipped_profiles_survive_being_written(path: Path) -> None:
    told = read_printer(path.read_bytes(), where=path.name)
    data = write_profile(told, comments=("read from a.jpg", "two\nlines"))
    back = read_printer(data, where=path.name)
    assert data.startswith(b"# read from a.jpg\n# two\n# lines\ntitle = ")
    for field in ("title", "source", "settings", "levels", "curves", "device", "invented"):
        assert getattr(back, field) == getattr(told, field)
    assert np.allclose(back.nodes, told.nodes, rtol=1e-3)
    assert write_profile(back) == write_profile(told)


def test_awkward_texts_survive() -> None:
    told = read_printer(PRINTERS[0].read_bytes(), where="x.toml")
    title = 'Ferry "Å" \\ house\t\n2'
    told = replace(told, title=title, settings=('a "b"', "c\\d"))
    back = read_printer(write_profile(told), where="x.toml")
    assert back.title == title
    assert back.settings == told.settings
