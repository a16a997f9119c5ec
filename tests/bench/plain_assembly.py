"""The whole job put together from general-purpose libraries, in the plainest way they offer.

It is the peer that the whole job is timed against. From the same drawing, at the same size, it
makes the same kinds of files: films.pdf with two textured A4 pages at 600 dpi, frame layers as SVG,
a sheet as DXF, a template, three previews 1600 px wide, a guide, a report; then it opens them again
and looks. It solves no colour (a ready table is looked up), keeps no tolerance, nests nothing,
names no member and finds no fault. Nothing in it is made slow: reportlab's ASCII armour is off,
pictures stay 8-bit, like films share one picture.

Run as a program: `python -m tests.bench.plain_assembly DRAWING FOLDER WIDTH_MM [differ]`.
"""

from __future__ import annotations

import json
import sys
import time
from io import BytesIO, StringIO
from itertools import pairwise
from pathlib import Path

import numpy as np
import shapely
from PIL import Image, ImageChops, ImageDraw, ImageFilter
from reportlab import rl_config
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

rl_config.useA85 = 0

DPI = 600
LEFT_MM, TOP_MM = 12.0, 20.0
BORDER_MM, BOARD_MM, KERF_MM = 3.0, 2.0, 0.15
LAYERS = ("front-outer", "front-inner", "back-inner", "back-outer", "retainer")
GLASSES = 12
SHOWN_PX, ROOM = 1600, 0.13


def main(drawing: Path, folder: Path, width_mm: float, *, differ: bool) -> None:
    """Every file of a pack, and the seconds that each part took, on standard output."""
    (folder / "frames").mkdir(parents=True, exist_ok=True)
    marks = [("imports", time.perf_counter())]

    def done(part: str) -> None:
        marks.append((part, time.perf_counter()))

    leads, panes = split(drawing, width_mm)
    done("panes")
    frame = frame_layers(panes, leads)
    done("frame")
    table = Table()
    glass = painted(panes, leads)
    pictures = []
    for seed in (2, 1) if differ else (1,):
        seen = mottled(glass, seed)
        pictures.append(seen.filter(table))
    look = seen.resize(shown_px(leads), Image.Resampling.BOX)
    del glass, seen
    done("pictures")
    films(folder / "films.pdf", pictures, leads)
    done("films.pdf")
    cut_files(folder / "frames", frame)
    template(folder / "template.pdf", frame)
    done("cut files")
    lit = previews(folder, look, leads)
    done("previews")
    guide(folder / "guide.pdf", panes, lit)
    report(folder / "report.json", panes, frame)
    done("guide")
    check(folder, pictures, panes)
    done("check")
    seconds = {b: round(at - before, 3) for (_, before), (b, at) in pairwise(marks)}
    print(json.dumps(seconds))


# -- shapes --------------------------------------------------------------------------------------


def split(drawing: Path, width_mm: float):  # type: ignore[no-untyped-def]
    """Stroked leads in one union, scaled to the width; the holes of it are the panes."""
    from svgelements import SVG, Shape
    from svgelements import Path as SvgPath

    lines, widths = [], []
    for element in SVG.parse(drawing).elements():
        if not isinstance(element, Shape) or element.stroke.value is None:
            continue
        for sub in SvgPath(element).as_subpaths():
            points = [(p.x, p.y) for p in SvgPath(sub).as_points()]
            if len(points) > 1:
                lines.append(shapely.LineString(points))
                widths.append(element.stroke_width)
    union = shapely.union_all(shapely.buffer(lines, np.array(widths) / 2, join_style="mitre"))
    left, top, right, _ = union.bounds
    union = shapely.transform(union, lambda at: (at - (left, top)) * (width_mm / (right - left)))
    return union, [shapely.Polygon(hole) for hole in union.interiors]


def frame_layers(panes, leads):  # type: ignore[no-untyped-def]
    """Each layer of the frame: the border's ring, as wide as the leads leave it, or wider."""
    outline = shapely.Polygon(leads.exterior)
    opening = shapely.unary_union(panes).envelope
    inner = outline.difference(opening)
    outer = outline.difference(opening.buffer(0.5, join_style="mitre"))
    rings = dict(zip(LAYERS, (outer, inner, inner, outer, inner), strict=True))
    return {name: ring.buffer(KERF_MM / 2, join_style="mitre") for name, ring in rings.items()}


# -- pictures ------------------------------------------------------------------------------------


class Table(ImageFilter.Color3DLUT):
    """A ready 33³ table from seen colour to what each of two films prints: half the density."""

    def __init__(self) -> None:
        ramp = np.linspace(0, 1, 33) ** 0.5
        blue, green, red = np.meshgrid(ramp, ramp, ramp, indexing="ij")
        super().__init__(33, np.stack([red, green, blue], axis=-1).astype(np.float32).ravel())


def colour(number: int) -> str:
    return f"hsl({360 * (number * 5 % GLASSES) // GLASSES},70%,50%)"


def painted(panes, leads) -> Image.Image:  # type: ignore[no-untyped-def]
    """The panes at 600 dpi, flat."""
    scale = DPI / 25.4
    size = tuple(round(side * scale) for side in leads.bounds[2:])
    glass = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(glass)
    for number, pane in enumerate(panes):
        outline = shapely.get_coordinates(pane.exterior) * scale
        draw.polygon(outline.ravel().tolist(), fill=colour(number))
    return glass


def mottled(glass: Image.Image, seed: int) -> Image.Image:
    """Softly uneven, as rolled glass is."""
    rough = (glass.height // 20, glass.width // 20)
    noise = np.random.default_rng(seed).integers(215, 256, rough, dtype=np.uint8)
    soft = Image.fromarray(noise).resize(glass.size, Image.Resampling.BICUBIC)
    return ImageChops.multiply(glass, soft.convert("RGB"))


def shown_px(leads) -> tuple[int, int]:  # type: ignore[no-untyped-def]
    """Columns and rows of the panel in a picture 1600 px wide with room round it."""
    wide, high = leads.bounds[2:]
    scale = SHOWN_PX / (wide + 2 * ROOM * max(wide, high))
    return round(wide * scale), round(high * scale)


def previews(folder: Path, glass: Image.Image, leads) -> Image.Image:  # type: ignore[no-untyped-def]
    """Lit, unlit and from the back, leads drawn by cairosvg."""
    import cairosvg

    wide, high = leads.bounds[2:]
    room = ROOM * max(wide, high)
    box = f"{-room} {-room} {wide + 2 * room} {high + 2 * room}"
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}">'
        f'<path fill="#181818" fill-rule="evenodd" d="{path_data(leads)}"/></svg>'
    )
    frame = Image.open(BytesIO(cairosvg.svg2png(svg.encode(), output_width=SHOWN_PX)))
    corner = ((frame.width - glass.width) // 2, (frame.height - glass.height) // 2)
    dark = Image.new("RGB", frame.size, "#0a0a0c")
    dark.paste(glass, corner)
    glow = dark.filter(ImageFilter.GaussianBlur(40))
    dark.paste(frame, mask=frame.getchannel("A"))
    lit = ImageChops.screen(dark, glow)
    day = Image.new("RGB", frame.size, "#b8b0a0")
    day.paste(ImageChops.multiply(glass, Image.new("RGB", glass.size, "#606060")), corner)
    day.paste(frame, mask=frame.getchannel("A"))
    lit.save(folder / "preview-lit.png")
    day.save(folder / "preview-unlit.png")
    Image.blend(lit, day, 0.5).transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(
        folder / "preview-back.png"
    )
    return lit


# -- files ---------------------------------------------------------------------------------------


def path_data(shape) -> str:  # type: ignore[no-untyped-def]
    """Polygons as SVG path data."""
    return "".join(
        "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in ring.coords[:-1]) + "Z"
        for part in shapely.get_parts(shape)
        for ring in (part.exterior, *part.interiors)
    )


def fill(canvas: Canvas, shape, left_mm: float, top_mm: float, *, solid: bool = True) -> None:  # type: ignore[no-untyped-def]
    """A shape on an A4 page, panel mm from a corner."""
    path = canvas.beginPath()
    for part in shapely.get_parts(shape):
        for ring in (part.exterior, *part.interiors):
            points = [((left_mm + x) * mm, A4[1] - (top_mm + y) * mm) for x, y in ring.coords[:-1]]
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            path.close()
    canvas.drawPath(path, stroke=int(not solid), fill=int(solid), fillMode=0)


def films(file: Path, pictures: list[Image.Image], leads) -> None:  # type: ignore[no-untyped-def]
    """An A4 page a film: the picture, the leads over it, a mark at each corner."""
    canvas = Canvas(str(file), pagesize=A4)
    wide, high = leads.bounds[2:]
    for film in (1, 2):
        picture = ImageReader(pictures[min(film, len(pictures)) - 1])
        low = A4[1] - (TOP_MM + high) * mm
        canvas.drawImage(picture, LEFT_MM * mm, low, wide * mm, high * mm)
        fill(canvas, leads, LEFT_MM, TOP_MM)
        for x in (LEFT_MM - 4, LEFT_MM + wide + 4):
            for y in (TOP_MM - 4, TOP_MM + high + 4):
                canvas.line((x - 2) * mm, A4[1] - y * mm, (x + 2) * mm, A4[1] - y * mm)
                canvas.line(x * mm, A4[1] - (y - 2) * mm, x * mm, A4[1] - (y + 2) * mm)
        canvas.drawString(LEFT_MM * mm, A4[1] - 8 * mm, f"film {film} of 2: print at 100 %")
        canvas.showPage()
    canvas.save()


def template(file: Path, frame) -> None:  # type: ignore[no-untyped-def]
    """An A4 page a layer, at 1:1."""
    canvas = Canvas(str(file), pagesize=A4)
    for name, shape in frame.items():
        fill(canvas, shape, LEFT_MM, TOP_MM, solid=False)
        canvas.drawString(LEFT_MM * mm, A4[1] - 8 * mm, f"{name}, {BOARD_MM:g} mm")
        canvas.showPage()
    canvas.save()


def cut_files(folder: Path, frame) -> None:  # type: ignore[no-untyped-def]
    """An SVG a layer, and all of them beside each other in a DXF."""
    import ezdxf

    document = ezdxf.new("R2010", units=4)
    for number, (name, shape) in enumerate(frame.items()):
        left, top, right, bottom = shape.bounds
        (folder / f"{name}.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{right - left}mm" '
            f'height="{bottom - top}mm" viewBox="{left} {top} {right - left} {bottom - top}">'
            f'<path fill="none" stroke="black" stroke-width="0.1" d="{path_data(shape)}"/></svg>'
        )
        for part in shapely.get_parts(shape):
            for ring in (part.exterior, *part.interiors):
                points = [(x + number * (right + 5), -y) for x, y in ring.coords[:-1]]
                document.modelspace().add_lwpolyline(points, close=True)
    stream = StringIO()
    document.write(stream)
    (folder / "sheet-1.dxf").write_text(stream.getvalue())


def guide(file: Path, panes, lit: Image.Image) -> None:  # type: ignore[no-untyped-def]
    """The picture, the glasses with their numbers, the steps."""
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Image as Picture
    from reportlab.platypus import PageBreak, Paragraph, SimpleDocTemplate, Table

    style = getSampleStyleSheet()
    small = lit.resize((lit.width // 2, lit.height // 2))
    kept = BytesIO()
    small.save(kept, "PNG")
    areas: dict[str, list[float]] = {}
    for number, pane in enumerate(panes):
        areas.setdefault(colour(number), []).append(pane.area)
    rows = [["glass", "panes", "mm²"]]
    rows += [[name, str(len(some)), f"{sum(some):.0f}"] for name, some in areas.items()]
    steps = ("Print the films.", "Cut the boards.", "Trim, pin and glue.", "Light the panel.")
    SimpleDocTemplate(str(file), pagesize=A4).build(
        [
            Paragraph("A lit panel", style["Title"]),
            Picture(kept, 120 * mm, 120 * mm * small.height / small.width),
            PageBreak(),
            Table(rows),
            *(Paragraph(f"{n}. {step}", style["Normal"]) for n, step in enumerate(steps, 1)),
        ]
    )


def report(file: Path, panes, frame) -> None:  # type: ignore[no-untyped-def]
    told = [
        {"pane": n, "glass": colour(n), "mm2": pane.area, "at": pane.centroid.coords[0]}
        for n, pane in enumerate(panes)
    ]
    layers = {name: shape.area for name, shape in frame.items()}
    file.write_text(json.dumps({"panes": told, "layers": layers}, indent=1))


def check(folder: Path, pictures: list[Image.Image], panes) -> None:  # type: ignore[no-untyped-def]
    """The pages rendered at 200 dpi, the colour in the middle of each pane; the files opened."""
    import ezdxf
    import pypdfium2

    px, of = 200 / 25.4, DPI / 25.4
    middles = [pane.representative_point().coords[0] for pane in panes]
    for film, page in enumerate(pypdfium2.PdfDocument(folder / "films.pdf")):
        seen = page.render(scale=200 / 72).to_pil()
        picture = pictures[min(film, len(pictures) - 1)]
        for x, y in middles:
            shown = seen.getpixel((int((LEFT_MM + x) * px), int((TOP_MM + y) * px)))
            meant = picture.getpixel((int(x * of), int(y * of)))
            if max(abs(a - b) for a, b in zip(shown, meant, strict=True)) > 40:
                raise SystemExit(f"a colour is off: {shown}, {meant}")
    for name in ("template", "guide"):
        len(pypdfium2.PdfDocument(folder / f"{name}.pdf"))
    for name in ("lit", "unlit", "back"):
        Image.open(folder / f"preview-{name}.png").load()
    if len(ezdxf.readfile(folder / "frames" / "sheet-1.dxf").modelspace()) < len(LAYERS):
        raise SystemExit("a layer is missing")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), float(sys.argv[3]), differ="differ" in sys.argv[4:])
