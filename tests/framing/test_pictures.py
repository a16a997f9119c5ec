"""Cut files as other programs draw them: the SVG by two renderers, the DXF by ezdxf's drawing."""

from __future__ import annotations

from io import BytesIO, StringIO

import cv2
import numpy as np
from msgspec.structs import replace
from PIL import Image

from glasswork.framing.files import layer_drawings, trim_drawing
from glasswork.framing.kerf import cut_paths
from glasswork.model.frame import CutDrawing, FrameLayer
from glasswork.model.geometry import Affine
from glasswork.planar import Area
from glasswork.writers.dxf import write_dxf
from glasswork.writers.svg import write_cut_svg

from windows import circle, cutter, tiled, two_light  # isort: skip

PX_PER_MM = 40
LIMIT_PX = 0.05 * PX_PER_MM
"""0.05 mm."""


def by_resvg(svg: bytes) -> np.ndarray:
    import resvg_py

    png = resvg_py.svg_to_bytes(svg_string=svg.decode(), dpi=25.4 * PX_PER_MM, background="#ffffff")
    return _dark(bytes(png))


def by_cairo(svg: bytes) -> np.ndarray:
    import cairosvg

    png = cairosvg.svg2png(bytestring=svg, dpi=25.4 * PX_PER_MM, background_color="white")
    return _dark(png)


def by_ezdxf(dxf: bytes, size_mm: tuple[float, float]) -> np.ndarray:
    """ezdxf's drawing frontend on a page of the file's size, its SVG drawn by resvg."""
    import ezdxf
    from ezdxf.addons.drawing import Frontend, RenderContext, layout, svg
    from ezdxf.addons.drawing.config import (
        BackgroundPolicy,
        ColorPolicy,
        Configuration,
        LineweightPolicy,
    )

    document = ezdxf.read(StringIO(dxf.decode()))
    backend = svg.SVGBackend()
    config = Configuration(
        color_policy=ColorPolicy.BLACK,
        background_policy=BackgroundPolicy.WHITE,
        lineweight_policy=LineweightPolicy.ABSOLUTE,
        lineweight_scaling=0.0,
        max_flattening_distance=0.002,
    )
    Frontend(RenderContext(document), backend, config=config).draw_layout(document.modelspace())
    from ezdxf.math import BoundingBox2d

    page = layout.Page(*size_mm, layout.Units.mm, margins=layout.Margins.all(0))
    text = backend.get_string(
        page,
        settings=layout.Settings(fit_page=False, scale=1),
        render_box=BoundingBox2d([(0.0, 0.0), size_mm]),
    )
    import resvg_py

    png = resvg_py.svg_to_bytes(svg_string=text, dpi=25.4 * PX_PER_MM, background="#ffffff")
    return _dark(bytes(png))


def by_outline(layer: FrameLayer, kerf_mm: float) -> np.ndarray:
    """The finished pieces grown by half the kerf, drawn corner to corner by OpenCV."""
    picture = np.full([round(side * PX_PER_MM) for side in layer.file_mm[::-1]], 255, np.uint8)
    grown = Area.of(layer.pieces).grown(kerf_mm / 2.0).mapped(layer.panel_to_file)
    for region in grown.regions():
        for ring in region.rings:
            # pixel centres lie half a pixel inside; 4 bits of fraction
            corners = (np.asarray(ring) * PX_PER_MM - 0.5) * 16
            cv2.polylines(picture, [corners.round().astype(np.int32)], True, 0, 4, shift=4)
    return picture < 128


def _dark(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(png)).convert("L")) < 128


def apart_px(one: np.ndarray, other: np.ndarray) -> float:
    """The furthest that a dark pixel of either lies from the other's dark ones."""
    rows, columns = (min(a, b) for a, b in zip(one.shape, other.shape, strict=True))
    assert abs(one.shape[0] - other.shape[0]) <= 2
    assert abs(one.shape[1] - other.shape[1]) <= 2
    worst = 0.0
    for a, b in ((one, other), (other, one)):
        far = cv2.distanceTransform((~b[:rows, :columns]).astype(np.uint8), cv2.DIST_L2, 5)
        dark = a[:rows, :columns]
        assert dark.any()
        worst = max(worst, float(far[dark].max()))
    return worst


def drawings(plan) -> list[CutDrawing]:
    small = two_light(56.0, 70.0, lead_mm=1.6)
    made, _ = plan(small)
    round_, _ = plan(tiled(circle(24.0), [], border_mm=4.0))
    front_outer, _, back_inner, *_ = layer_drawings(made, cutter())
    return [front_outer, back_inner, trim_drawing(made), layer_drawings(round_, cutter())[0]]


def test_cut_paths_draw_the_finished_pieces(plan) -> None:
    made, _ = plan(two_light(56.0, 70.0, lead_mm=1.6))
    for layer in (made.layers[1], made.layers[2]):
        bare = replace(layer, marks=())
        paths = cut_paths(bare, cutter())
        picture = by_resvg(write_cut_svg(paths, layer.file_mm, title="t"))
        assert apart_px(picture, by_outline(bare, 0.15)) <= LIMIT_PX


def test_the_template_draws_the_finished_pieces(plan) -> None:
    """template.pdf, drawn by pdfium, against the pieces drawn by OpenCV: within 0.05 mm."""
    import pypdfium2

    from glasswork.model.sheet import Document, PageSize
    from glasswork.sheets import template
    from glasswork.writers.pdf import write_pdf

    made, _ = plan(two_light(56.0, 70.0, lead_mm=1.6))
    page = PageSize(name="a4", title="A4", width_mm=210.0, height_mm=297.0)
    sheets = template.template_pages(made, page, design_label="t")
    data = write_pdf(Document(title="t", pages=sheets, created="2026-01-01T00:00:00Z"))
    spots = template._place(made.layers, page)
    pdf = pypdfium2.PdfDocument(data)
    pictures = {
        spot.page: np.asarray(
            pdf[spot.page].render(scale=25.4 * PX_PER_MM / 72.0, grayscale=True).to_numpy()
        ).squeeze()
        < 110
        for spot in spots[:2]
    }
    for spot in spots[:2]:
        dark = pictures[spot.page]
        for piece in spot.layer.pieces:
            shape = Area.of((piece.mapped(spot.to_page),))
            far = cv2.distanceTransform((~dark).astype(np.uint8), cv2.DIST_L2, 5)
            for region in shape.regions():
                for ring in region.rings:
                    at = _points_along(ring)
                    columns, rows = np.floor(at * PX_PER_MM).astype(int).T
                    assert far[rows, columns].max() <= LIMIT_PX


def _points_along(ring) -> np.ndarray:
    """Points every tenth of a millimetre along a ring."""
    found = []
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        count = max(2, int(np.hypot(b[0] - a[0], b[1] - a[1]) / 0.1))
        found.append(np.linspace(a, b, count, endpoint=False))
    return np.concatenate(found)


def test_a_tenth_of_a_millimetre_would_be_seen(plan) -> None:
    """The comparison itself can fail."""
    made, _ = plan(tiled(circle(24.0), [], border_mm=4.0))
    drawing = layer_drawings(made, cutter())[0]
    moved = [path.mapped(Affine.shift(0.1, 0.0)) for path in drawing.paths]
    one, other = (
        by_resvg(write_cut_svg(paths, drawing.size_mm, title="t"))
        for paths in (drawing.paths, moved)
    )
    assert apart_px(one, other) > LIMIT_PX


def test_svg_and_dxf_draw_alike(plan, tmp_path) -> None:
    for drawing in drawings(plan):
        svg = write_cut_svg(drawing.paths, drawing.size_mm, title=drawing.title)
        dxf = write_dxf(drawing.paths, drawing.size_mm, title=drawing.title)
        picture = by_resvg(svg)
        others = {"cairo": by_cairo(svg), "ezdxf": by_ezdxf(dxf, drawing.size_mm)}
        for name, other in others.items():
            far = apart_px(picture, other)
            if far > LIMIT_PX:
                Image.fromarray(picture).save(tmp_path / "resvg.png")
                Image.fromarray(other).save(tmp_path / f"{name}.png")
            assert far <= LIMIT_PX, (
                f"{drawing.file} by {name}: {far / PX_PER_MM:.3f} mm, {tmp_path}"
            )
