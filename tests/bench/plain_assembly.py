"""The whole job put together from general-purpose libraries, in the plainest way they offer.

It is the peer that the whole job is timed against: no glass colour is solved, no tolerance kept.
Run as a program: `python -m tests.bench.plain_assembly DRAWING FOLDER`.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

WIDTH_MM = 170.0


def main(drawing: Path, folder: Path) -> None:
    """Panes by shapely, two pictures at 600 dpi by LittleCMS and reportlab, DXF, preview."""
    folder.mkdir(parents=True, exist_ok=True)
    panes = split(drawing)
    pictures = [textured(panes, seed) for seed in (1, 2)]
    (folder / "films.pdf").write_bytes(pdf(pictures))
    (folder / "cut.dxf").write_text(dxf(panes))
    (folder / "preview.png").write_bytes(preview(panes))


def split(drawing: Path):  # type: ignore[no-untyped-def]
    """Stroked leads in one union; the holes of it are the panes."""
    import shapely
    from svgelements import SVG, Shape
    from svgelements import Path as SvgPath

    leads = []
    for element in SVG.parse(drawing).elements():
        if not isinstance(element, Shape) or element.stroke.value is None:
            continue
        for sub in SvgPath(element).as_subpaths():
            points = [(p.x, p.y) for p in SvgPath(sub).as_points()]
            if len(points) > 1:
                leads.append(shapely.LineString(points).buffer(element.stroke_width / 2))
    union = shapely.union_all(leads)
    return [shapely.Polygon(hole) for part in shapely.get_parts(union) for hole in part.interiors]


def textured(panes, seed: int):  # type: ignore[no-untyped-def]
    """The panes at 600 dpi, softly mottled, each pixel through a LittleCMS transform."""
    import numpy as np
    from PIL import Image, ImageChops, ImageCms, ImageDraw

    side = round(WIDTH_MM * 600 / 25.4)
    scale = side / max(pane.bounds[2] for pane in panes)
    glass = Image.new("RGB", (side, side), "white")
    draw = ImageDraw.Draw(glass)
    for n, pane in enumerate(panes):
        corners = [(x * scale, y * scale) for x, y in pane.exterior.coords]
        draw.polygon(corners, fill=f"hsl({40 * n % 360},70%,50%)")
    rough = np.random.default_rng(seed).integers(215, 256, (side // 20, side // 20), dtype=np.uint8)
    mottled = Image.fromarray(rough).resize((side, side), Image.Resampling.BICUBIC)
    seen = ImageChops.multiply(glass, mottled.convert("RGB"))
    srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    turned = ImageCms.applyTransform(seen, ImageCms.buildTransform(srgb, lab, "RGB", "LAB"))
    return Image.frombytes("RGB", turned.size, turned.tobytes())


def pdf(pictures) -> bytes:  # type: ignore[no-untyped-def]
    """One page a picture, by reportlab with its ASCII85 off."""
    from reportlab import rl_config
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=A4)
    for picture in pictures:
        canvas.drawImage(ImageReader(picture), 20, 200, WIDTH_MM / 25.4 * 72, WIDTH_MM / 25.4 * 72)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def dxf(panes) -> str:  # type: ignore[no-untyped-def]
    """Every pane's outline as a polyline, by ezdxf."""
    from io import StringIO

    import ezdxf

    document = ezdxf.new("R2010")
    for pane in panes:
        document.modelspace().add_lwpolyline(list(pane.exterior.coords), close=True)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue()


def preview(panes) -> bytes:  # type: ignore[no-untyped-def]
    """Panes as an SVG, rendered 1600 px wide by cairosvg."""
    import cairosvg

    outlines = "".join(
        f'<path fill="hsl({40 * n % 360},70%,50%)" d="M'
        + "L".join(f"{x:.3f},{y:.3f}" for x, y in pane.exterior.coords)
        + 'Z"/>'
        for n, pane in enumerate(panes)
    )
    right = max(pane.bounds[2] for pane in panes)
    bottom = max(pane.bounds[3] for pane in panes)
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {right} {bottom}">{outlines}</svg>'
    data: bytes = cairosvg.svg2png(svg.encode(), output_width=1600)
    return data


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
