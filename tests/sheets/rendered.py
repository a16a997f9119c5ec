"""Pages as poppler and pdfium render them, and how to measure on them."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from glasswork.model.geometry import Point
from glasswork.model.sheet import Document, Page
from glasswork.writers.pdf import write_pdf


@dataclass(frozen=True)
class Rendered:
    """One page; px_per_mm on both axes, for renderers stretch a page to whole pixels."""

    rgb: NDArray[np.uint8]
    px_per_mm: tuple[float, float]

    def at(self, place: Point) -> tuple[int, ...]:
        column, row = (int(v * px) for v, px in zip(place, self.px_per_mm, strict=True))
        return tuple(self.rgb[row, column].tolist())

    def cut(self, place: Point, half_mm: float) -> tuple[NDArray[np.float64], Point]:
        """Darkness round a place, and the cut's top left corner in mm."""
        (kx, ky), (x, y) = self.px_per_mm, place
        left, top = max(0, round((x - half_mm) * kx)), max(0, round((y - half_mm) * ky))
        part = self.rgb[top : round((y + half_mm) * ky), left : round((x + half_mm) * kx)]
        return 1.0 - part.mean(axis=2) / 255.0, (left / kx, top / ky)

    def centroid(self, place: Point, *, half_mm: float = 3.0) -> Point:
        """Middle of what is printed round a place, in mm."""
        part, (left, top) = self.cut(place, half_mm)
        weight = np.where(part > 0.1, part, 0.0)
        assert weight.sum() > 0, f"nothing printed at {place}"
        rows, columns = np.indices(part.shape) + 0.5
        return (
            left + float((weight * columns).sum() / weight.sum()) / self.px_per_mm[0],
            top + float((weight * rows).sum() / weight.sum()) / self.px_per_mm[1],
        )


def bytes_of(*pages: Page) -> bytes:
    return write_pdf(Document(title="test", pages=pages, created="2024-05-17"))


_SHOWN: dict[tuple[str, int, int], tuple[Page, Rendered]] = {}


def pdfium(page: Page, *, dpi: int = 300) -> Rendered:
    return _once("pdfium", _pdfium, page, dpi)


def poppler(page: Page, *, dpi: int = 300) -> Rendered:
    return _once("poppler", _poppler, page, dpi)


def _once(name: str, render: Callable[[Page, int], Rendered], page: Page, dpi: int) -> Rendered:
    key = (name, id(page), dpi)
    if key not in _SHOWN:
        _SHOWN[key] = (page, render(page, dpi))
    return _SHOWN[key][1]


def _pdfium(page: Page, dpi: int) -> Rendered:
    opened = pypdfium2.PdfDocument(bytes_of(page))[0]
    bitmap = opened.render(scale=dpi / 72.0, rev_byteorder=True)
    rgb = np.ascontiguousarray(bitmap.to_numpy()[:, :, :3])
    return Rendered(rgb, (rgb.shape[1] / page.width_mm, rgb.shape[0] / page.height_mm))


def _poppler(page: Page, dpi: int) -> Rendered:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "page.pdf"
        path.write_bytes(bytes_of(page))
        words = ["pdftoppm", "-r", str(dpi), "-singlefile", str(path), str(path)]
        subprocess.run(words, check=True)
        rgb = np.asarray(Image.open(f"{path}.ppm").convert("RGB"))
    return Rendered(rgb, (dpi / 25.4, dpi / 25.4))


READERS: dict[str, Callable[..., Rendered]] = {"pdfium": pdfium, "poppler": poppler}
