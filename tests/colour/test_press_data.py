"""The film model on real prints: characterisation sets of offset presses.

Source: Debian package icc-profiles-free 2.0.1 (zlib licence): FOGRA28L-40L by Fogra, TR002-TR006
by CGATS/SNAP/SWOP, CMYK with XYZ and CIELAB, D50, 2°, 45/0. They are reflection prints, not film;
what is tested is the halftone model, on paper where Yule and Nielsen's effect is large.
"""

from __future__ import annotations

import os
import re
from functools import lru_cache
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from glasswork.cielab import delta_e00, lab_of_ratios
from glasswork.colour.film import FilmModel
from tests.colour.film_fitting import fit_film

FOLDER = Path("/usr/share/color/icc")
WHITE = np.array([96.42, 100.0, 82.49])
"""D50 as the sets state it; CIELAB is taken against it throughout."""

SOLIDS = tuple(product((0.0, 100.0), repeat=4))
TWELVE = (
    (0.0, 0.0, 0.0, 20.0),
    (0.0, 0.0, 0.0, 40.0),
    (0.0, 0.0, 0.0, 70.0),
    (20.0, 20.0, 20.0, 0.0),
    (40.0, 40.0, 40.0, 0.0),
    (40.0, 40.0, 40.0, 40.0),
    (40.0, 40.0, 0.0, 0.0),
    (40.0, 0.0, 40.0, 0.0),
    (0.0, 40.0, 40.0, 0.0),
    (70.0, 70.0, 0.0, 0.0),
    (70.0, 0.0, 70.0, 0.0),
    (0.0, 70.0, 70.0, 0.0),
)
"""With the sixteen solids, the 28 patches that the models are fitted on; the same for every set."""


def _missing(name: str) -> None:
    hint = f"{FOLDER / name} is missing: apt-get install icc-profiles-free"
    if os.environ.get("GLASSWORK_NO_DEBIAN_DATA"):
        pytest.skip(hint)
    pytest.fail(hint)


@lru_cache
def _read(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Device 0-100 (patches, 4) and X/Xn, Y/Yn, Z/Zn (patches, 3); each patch once."""
    text = (FOLDER / f"{name}.ti3").read_bytes().decode("latin-1")
    fields = re.search(r"BEGIN_DATA_FORMAT\s+(.*?)\s+END_DATA_FORMAT", text, re.DOTALL)
    assert fields is not None
    names = fields[1].split()
    body = text[fields.end() :].split("BEGIN_DATA", 1)[1].split("END_DATA")[0]
    rows = [line.replace(",", ".").split() for line in body.splitlines()]
    table = [row for row in rows if len(row) == len(names)]
    pick = [names.index(f"CMYK_{c}") for c in "CMYK"] + [names.index(f"XYZ_{c}") for c in "XYZ"]
    values = np.array([[float(row[i]) for i in pick] for row in table])
    _, first = np.unique(values[:, :4], axis=0, return_index=True)
    values = values[np.sort(first)]
    return values[:, :4], values[:, 4:] / WHITE


def _set(name: str) -> tuple[np.ndarray, np.ndarray]:
    if not (FOLDER / f"{name}.ti3").exists():
        _missing(f"{name}.ti3")
    return _read(name)


def _places(device: np.ndarray, patches: tuple[tuple[float, ...], ...]) -> np.ndarray:
    found = [np.flatnonzero((device == patch).all(axis=1)) for patch in patches]
    assert all(len(rows) == 1 for rows in found)
    return np.array([rows[0] for rows in found])


def _off(film: FilmModel, device: np.ndarray, seen: np.ndarray) -> np.ndarray:
    return delta_e00(lab_of_ratios(film.transmittance(device)), lab_of_ratios(seen))


@pytest.mark.parametrize(
    ("name", "limit"),
    [
        ("FOGRA39L", 1.5),
        ("TR003", 1.1),
        ("FOGRA28L", 1.5),
        ("FOGRA29L", 1.5),
        ("FOGRA30L", 1.7),
        ("FOGRA40L", 1.5),
        ("TR002", 1.1),
        ("TR005", 1.1),
        ("TR006", 1.5),
    ],
)
def test_28_patches_predict_all_the_others(name: str, limit: float) -> None:
    device, seen = _set(name)
    known = _places(device, SOLIDS + TWELVE)
    assert len(known) == 28
    others = np.setdiff1d(np.arange(len(device)), known)
    levels = ((0.0, 1.0),) * 4
    fit = {"levels": levels, "knots": (0.2, 0.4, 0.7)}
    fitted = fit_film(device[known] / 100.0, seen[known], **fit)
    off = _off(fitted.film, device[others] / 100.0, seen[others])
    assert off.mean() <= limit
    plain = fit_film(device[known] / 100.0, seen[known], n=1.0, **fit)
    worse = _off(plain.film, device[others] / 100.0, seen[others])
    assert worse.mean() > off.mean() + 0.1


@pytest.mark.parametrize(("name", "limit"), [("FOGRA39L", 0.55), ("TR003", 0.30)])
def test_a_cellular_lattice_and_ramps_predict_cmy(name: str, limit: float) -> None:
    device, seen = _set(name)
    free = device[:, 3] == 0.0
    device, seen = device[free, :3], seen[free]
    steps = (0.0, 40.0, 100.0)
    nodes = [tuple(v) for v in product(steps, repeat=3)]
    ramp = sorted(set(device[(device[:, 1:] == 0.0).all(axis=1), 0]))
    ramps = [tuple(v if a == i else 0.0 for a in range(3)) for i in range(3) for v in ramp]
    spots = tuple(dict.fromkeys([*nodes, *ramps]))
    rows = [np.flatnonzero((device == spot).all(axis=1)) for spot in spots]
    known = np.array([row[0] for row in rows if len(row)])
    others = np.setdiff1d(np.arange(len(device)), known)
    levels = (tuple(v / 100.0 for v in steps),) * 3
    fit = {"levels": levels, "knots": (0.1, 0.2, 0.4, 0.7, 0.85)}
    fitted = fit_film(device[known] / 100.0, seen[known], **fit)
    off = _off(fitted.film, device[others] / 100.0, seen[others])
    assert off.mean() <= limit
    plain = fit_film(device[known] / 100.0, seen[known], n=1.0, **fit)
    assert _off(plain.film, device[others] / 100.0, seen[others]).mean() > 1.2 * off.mean()


def test_tone_value_increase_of_fogra39() -> None:
    # Curves A (CMY) and B (K) stand in the file's header; TVI 13 and 16 at 40 % are from memory of
    # ISO 12647-2:2004/Amd 1. Murray-Davies on Z for yellow and Y for black.
    device, seen = _set("FOGRA39L")
    for axis, band, wanted in ((2, 2, 13.1), (3, 1, 16.0)):
        at = np.zeros((3, 4))
        at[:, axis] = (0.0, 40.0, 100.0)
        paper, tone, solid = seen[_places(device, tuple(map(tuple, at))), band]
        area = 100.0 * (paper - tone) / (paper - solid)
        assert area - 40.0 == pytest.approx(wanted, abs=0.1)
