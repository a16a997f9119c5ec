"""Films of several windows on shared pages, rendered by two other programs and set against the
same films in the windows' own packs."""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import hypot
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

from tests.pack.conftest import DPI, PX_PER_MM, Made, compose, glasswork, poppler_pages

SIZES = {
    "pilot-station": ("--width", "60", "--ink-faces", "together"),
    "kelp-rose": ("--width", "62", "--finish", "streaky", "--dpi", "300"),
}


@dataclass
class Ganged:
    """The shared pages, and the packs of the windows on them."""

    pages: dict[str, list[np.ndarray]]
    facts: dict[str, Any]
    packs: dict[str, Made]
    sheet: Path


@pytest.fixture(scope="module")
def ganged(tmp_path_factory: pytest.TempPathFactory) -> Ganged:
    folder = tmp_path_factory.mktemp("gang")
    packs = {
        name: compose(folder / name, f"sample_designs/{name}.svg", *words)
        for name, words in SIZES.items()
    }
    (folder / "out").mkdir()
    sheet = folder / "out" / "sheet.pdf"
    done = glasswork("gang", *(str(pack.folder) for pack in packs.values()), "-o", str(sheet),
                     "--json")  # fmt: skip
    assert done.returncode == 0, done.stderr
    pages = {"poppler": poppler_pages(sheet), "pdfium": _pdfium(sheet)}
    return Ganged(pages, json.loads(done.stdout), packs, sheet)


def _pdfium(path: Path) -> list[np.ndarray]:
    return [
        np.ascontiguousarray(page.render(scale=DPI / 72, rev_byteorder=True).to_numpy()[:, :, :3])
        for page in pypdfium2.PdfDocument(path)
    ]


def _apply(affine: list[float], point: tuple[float, float]) -> tuple[float, float]:
    a, b, c, d, e, f = affine
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def _pixel(page: np.ndarray, place: tuple[float, float]) -> np.ndarray:
    return page[int(place[1] * PX_PER_MM), int(place[0] * PX_PER_MM)].astype(int)


def test_all_films_of_all_windows_share_one_page(ganged: Ganged) -> None:
    told = [(film["window"], film["film"]) for film in ganged.facts["films"]]
    wanted = [
        (name, film)
        for name, pack in ganged.packs.items()
        for film in range(1, pack.report["films"]["count"] + 1)
    ]
    assert told == wanted
    assert len(ganged.pages["poppler"]) == max(f["page"] for f in ganged.facts["films"]) == 1


@pytest.mark.parametrize("reader", ["poppler", "pdfium"])
def test_device_colours_are_those_of_the_single_packs(ganged: Ganged, reader: str) -> None:
    """Flat panes: the 8-bit values of the pack's own report, untouched."""
    pack, films = ganged.packs["pilot-station"], ganged.facts["films"]
    for film in (f for f in films if f["window"] == "pilot-station"):
        page = ganged.pages[reader][film["page"] - 1]
        for pane in pack.report["panes"]:
            seen = _pixel(page, _apply(film["panel_to_page_mm"], pane["seed_point_mm"]))
            assert np.abs(seen - pane["device"][film["film"] - 1]).max() <= 1


@pytest.mark.parametrize("name", list(SIZES))
def test_films_are_those_of_the_single_packs(ganged: Ganged, name: str) -> None:
    """Both pages rendered alike and sampled all over the film. Their grids of pixels lie
    differently on it, so edges differ; a film moved by half a millimetre differs far more."""
    pack = ganged.packs[name]
    width, height = pack.report["size_mm"]
    for own in pack.report["films"]["pages"]:
        film = next(
            f for f in ganged.facts["films"] if f["window"] == name and f["film"] == own["film"]
        )
        assert film["mirrored"] == own["mirrored"]
        there = ganged.pages["pdfium"][film["page"] - 1]
        here = pack.pdfium[own["page"] - 1]

        def unlike(moved: float) -> float:
            off = []
            for x in np.arange(1.0, width - 1.0, 0.7):
                for y in np.arange(1.0, height - 1.0, 0.7):
                    a = _pixel(there, _apply(film["panel_to_page_mm"], (x + moved, y)))  # noqa: B023
                    b = _pixel(here, _apply(own["panel_to_page_mm"], (x, y)))  # noqa: B023
                    off.append(np.abs(a - b).max() > 24)
            return float(np.mean(off))

        assert unlike(0.0) < 0.08
        assert unlike(0.5) > 2.0 * unlike(0.0)


def test_pixels_of_the_glass_are_those_of_the_single_pack(ganged: Ganged) -> None:
    """Glass that is not flat, as another program takes it out of the files."""
    own = _bitmaps(ganged.packs["kelp-rose"].folder / "films.pdf")
    there = _bitmaps(ganged.sheet)
    assert own == there
    assert sum(len(set(pixels)) > 20 for _, pixels in own) >= 1


def _bitmaps(path: Path) -> set[tuple[tuple[int, int], bytes]]:
    pictures = [
        item.get_bitmap(render=False).to_pil().convert("RGB")
        for page in pypdfium2.PdfDocument(path)
        for item in page.get_objects()
        if hasattr(item, "get_bitmap")
    ]
    return {(picture.size, picture.tobytes()) for picture in pictures}


@pytest.mark.parametrize("reader", ["poppler", "pdfium"])
def test_every_film_has_its_own_marks(ganged: Ganged, reader: str) -> None:
    for film in ganged.facts["films"]:
        assert len(film["marks_mm"]) == 4
        dark = 1.0 - ganged.pages[reader][film["page"] - 1].mean(axis=2) / 255.0
        for x, y in film["marks_mm"]:
            left, top = (round((v - 2.5) * PX_PER_MM) for v in (x, y))
            size = round(5.0 * PX_PER_MM)
            part = dark[top : top + size, left : left + size]
            part = np.where(part > 0.25, part, 0.0)
            rows, columns = np.indices(part.shape) + 0.5
            seen = (
                (part * columns).sum() / part.sum() / PX_PER_MM + left / PX_PER_MM,
                (part * rows).sum() / part.sum() / PX_PER_MM + top / PX_PER_MM,
            )
            assert hypot(seen[0] - x, seen[1] - y) <= 0.06


def test_copies_in_a_pack_share_pages(tmp_path: Path) -> None:
    pack = compose(tmp_path / "p", "sample_designs/salt-works.svg", "--width", "60",
                   "--copies", "2", "--films", "1")  # fmt: skip
    pages = pack.report["films"]["pages"]
    assert [(p["page"], p["film"], p["copy"]) for p in pages] == [(1, 1, 1), (1, 1, 2)]
    assert all(check["ok"] for check in pack.report["verified"])


def test_what_cannot_be_ganged_is_refused(tmp_path: Path) -> None:
    dye, pigment = tmp_path / "a.toml", tmp_path / "b.toml"
    sample = Path(__file__).parents[2] / "sample_designs/salt-works.svg"
    (tmp_path / "salt-works.svg").write_bytes(sample.read_bytes())
    dye.write_text('design = "salt-works.svg"\nprinter = "dye-film"\npage = "a4"\n')
    pigment.write_text('design = "salt-works.svg"\nprinter = "pigment-film"\n')
    letter = tmp_path / "c.toml"
    letter.write_text('design = "salt-works.svg"\nprinter = "dye-film"\npage = "letter"\n')
    out = str(tmp_path / "s.pdf")
    cases = (
        ((str(dye), str(pigment)), "different printers: dye-film, pigment-film"),
        ((str(dye), str(letter)), "different pages: a4, letter"),
        ((str(tmp_path),), "is not a pack"),
        ((str(tmp_path / "none.svg"),), "none.svg"),
    )
    for names, told in cases:
        done = glasswork("gang", *names, "-o", out)
        assert done.returncode == 1
        assert told in done.stderr
    assert not Path(out).exists()
    assert glasswork("gang", str(dye), str(letter), "-o", out, "--page", "a4").returncode == 0
    assert glasswork("gang", "-o", out).returncode == 2
