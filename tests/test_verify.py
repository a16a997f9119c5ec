"""verify finds faults planted in a good pack, each by measuring, not by the file's hash."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pypdfium2
import pypdfium2.raw as raw
import pytest
from msgspec.structs import replace

from glasswork.cli.kit import load_kit
from glasswork.framing.files import layer_drawings
from glasswork.framing.plan import plan_frame
from glasswork.model.frame import FramePlan
from glasswork.model.project import Project
from glasswork.model.report import REPORT_FILE, CheckReport
from glasswork.panel import Watch
from glasswork.pipeline import Pack, compose
from glasswork.planar import Area
from glasswork.verify import verify_pack
from glasswork.writers.report import write_report
from glasswork.writers.svg import write_cut_svg

ROOT = Path(__file__).parents[1]
Files = dict[str, bytes]


@pytest.fixture(scope="module")
def pack() -> Pack:
    project = Project(design="pilot-station.svg", films=2)
    drawing = (ROOT / "sample_designs" / project.design).read_bytes()
    watch = Watch(clock=lambda: 0.0)
    day = "2026-01-02T00:00:00Z"
    return compose(
        drawing, project, load_kit(project), name=project.design, watch=watch, created=day
    )


def off(files: Files) -> dict[str, CheckReport]:
    """The checks that fail, hashes aside."""
    checks = verify_pack(files)
    return {c.check: c for c in checks if not c.ok and c.check != "files unaltered"}


def test_a_good_pack_has_nothing_off(pack: Pack) -> None:
    assert [check for check in verify_pack(pack.files) if not check.ok] == []


def test_nothing_off_is_said_plainly(pack: Pack) -> None:
    """No check that holds to the last digit says that something is off by nothing."""
    for check in verify_pack(pack.files):
        assert not re.search(r"off by 0(\.0*)?( |,|$)", check.measured), check


def test_a_nearly_clear_pane_outside_the_openings_is_passed_over(pack: Pack) -> None:
    """As in drawings whose outermost panes lie beyond the cut frame's openings."""
    first = pack.report.panes[0]
    clear = ((255, 255, 255),) * 2
    for place in ((500.0, 500.0), (-500.0, -500.0)):
        beside = msgspec.structs.replace(first, id="P0", seed_point_mm=place, device=clear)
        report = msgspec.structs.replace(pack.report, panes=(*pack.report.panes, beside))
        found = off({**pack.files, REPORT_FILE: write_report(report)})
        assert not any(name.startswith("ink under the leads") for name in found), found


def edited(data: bytes, edit: Callable[[Any], None]) -> bytes:
    """A PDF changed by another program."""
    document = pypdfium2.PdfDocument(data)
    edit(document)
    buffer = io.BytesIO()
    document.save(buffer)
    return buffer.getvalue()


def moved(page: Any, a: float, d: float, e: float, f: float) -> None:
    for item in page.get_objects(max_depth=1):
        raw.FPDFPageObj_Transform(item.raw, a, 0, 0, d, e, f)
    page.gen_content()


def scaled_page(files: Files) -> None:
    files["films.pdf"] = edited(files["films.pdf"], lambda d: moved(d[0], 1.01, 1.01, 0, 0))


def moved_film(files: Files) -> None:
    files["films.pdf"] = edited(files["films.pdf"], lambda d: moved(d[1], 1, 1, 0.6, 0))


def mirrored_film(files: Files) -> None:
    def edit(document: Any) -> None:
        moved(document[0], -1, 1, document[0].get_size()[0], 0)

    files["films.pdf"] = edited(files["films.pdf"], edit)


def changed_colour(files: Files) -> None:
    """A green square over one pane's middle."""
    report = msgspec.json.decode(files["report.json"])
    place = report["films"]["pages"][1]["panel_to_page_mm"]
    x, y = max(report["panes"], key=lambda pane: pane["area_mm2"])["seed_point_mm"]

    def edit(document: Any) -> None:
        page = document[1]
        left = (place[0] * x + place[4]) * 72 / 25.4
        bottom = page.get_size()[1] - (place[3] * y + place[5]) * 72 / 25.4
        square = raw.FPDFPageObj_CreateNewRect(left - 2, bottom - 2, 4, 4)
        raw.FPDFPageObj_SetFillColor(square, 9, 200, 9, 255)
        raw.FPDFPath_SetDrawMode(square, raw.FPDF_FILLMODE_WINDING, 0)
        raw.FPDFPage_InsertObject(page.raw, square)
        page.gen_content()

    files["films.pdf"] = edited(files["films.pdf"], edit)


def pale_leads(files: Files) -> None:
    """A lead of another black than told."""
    report = msgspec.json.decode(files["report.json"])
    device = report["films"]["leads"]["device"]
    report["films"]["leads"]["device"] = [[value + 9 for value in film] for film in device]
    files["report.json"] = msgspec.json.encode(report)


def wrong_page(files: Files) -> None:
    files["films.pdf"] = edited(files["films.pdf"], lambda d: d[0].set_mediabox(0, 0, 612, 792))


def lost_page(files: Files) -> None:
    files["films.pdf"] = edited(files["films.pdf"], lambda d: d.del_page(1))


def managed_colour(files: Files) -> None:
    files["films.pdf"] += b"\n9 0 obj <</OutputIntents []>> endobj\n"


def lost_file(files: Files) -> None:
    del files["frames/back-outer.svg"]


def stretched_back(files: Files) -> None:
    svg = files["frames/back-inner.svg"].replace(
        b'<g id="cut"', b'<g id="cut" transform="scale(1.001)"'
    )
    files["frames/back-inner.svg"] = svg


def inches_in_dxf(files: Files) -> None:
    name = "frames/sheet-1.dxf"
    lines = files[name].split(b"\n")
    lines[next(i for i, line in enumerate(lines) if b"$INSUNITS" in line) + 2] = b"1"
    files[name] = b"\n".join(lines)


def torn_dxf(files: Files) -> None:
    name = "frames/sheet-1.dxf"
    files[name] = files[name][: len(files[name]) // 2] + b"\n  9\nnonsense"


def empty_dxf(files: Files) -> None:
    from glasswork.writers.dxf import write_dxf

    files["frames/sheet-1.dxf"] = write_dxf((), (100.0, 100.0), title="sheet 1")


def loose_font(files: Files) -> None:
    from reportlab.pdfgen.canvas import Canvas

    buffer = io.BytesIO()
    canvas = Canvas(buffer)
    canvas.setFont("Helvetica", 10)
    canvas.drawString(100, 100, "guide")
    canvas.save()
    files["guide.pdf"] = buffer.getvalue()


def text_off_the_page(files: Files) -> None:
    files["guide.pdf"] = edited(files["guide.pdf"], lambda d: moved(d[0], 1, 1, 400, 0))


def tiny_text(files: Files) -> None:
    files["guide.pdf"] = edited(files["guide.pdf"], lambda d: moved(d[0], 0.5, 0.5, 0, 0))


def small_preview(files: Files) -> None:
    from PIL import Image

    picture = Image.open(io.BytesIO(files["preview-lit.png"])).resize((800, 1000))
    buffer = io.BytesIO()
    picture.save(buffer, "PNG")
    files["preview-lit.png"] = buffer.getvalue()


def damaged_preview(files: Files) -> None:
    data = bytearray(files["preview-back.png"])
    data[len(data) // 2] ^= 1
    files["preview-back.png"] = bytes(data)


def no_preview(files: Files) -> None:
    files["preview-back.png"] = b"no picture"


def wrong_thickness(files: Files) -> None:
    report = msgspec.json.decode(files["report.json"])
    report["thickness_mm"] = 7.0
    files["report.json"] = msgspec.json.encode(report)


@pytest.mark.parametrize(
    ("plant", "found_by"),
    [
        (scaled_page, {"100 mm rule across", "100 mm rule down", "registration marks"}),
        (moved_film, {"registration marks", "film against film"}),
        (mirrored_film, {"device colours", "registration marks"}),
        (changed_colour, {"device colours"}),
        (pale_leads, {"printed leads"}),
        (wrong_page, {"film page size"}),
        (lost_page, {"film pages"}),
        (managed_colour, {"no colour management"}),
        (lost_file, {"files present"}),
        (stretched_back, {"inner front on back"}),
        (inches_in_dxf, {"frames/sheet-1.dxf unit"}),
        (torn_dxf, {"sheets"}),
        (empty_dxf, {"sheets"}),
        (loose_font, {"guide.pdf fonts"}),
        (text_off_the_page, {"guide.pdf texts"}),
        (tiny_text, {"guide.pdf texts"}),
        (small_preview, {"preview-lit.png"}),
        (damaged_preview, {"preview-back.png"}),
        (no_preview, {"preview-back.png"}),
        (wrong_thickness, {"thickness is the sum of layers"}),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_planted_faults_are_found(
    pack: Pack, plant: Callable[[Files], None], found_by: set[str]
) -> None:
    files = dict(pack.files)
    plant(files)
    assert found_by <= set(off(files))


def _planned(pack: Pack) -> tuple[Any, FramePlan, Any]:
    """The window, plan and kit that the pack was made of."""
    from glasswork.drawing.make import make_window
    from glasswork.model.window import Sizing
    from glasswork.readers.svg import read_svg

    kit = load_kit(Project(design="x"))
    drawing = (ROOT / "sample_designs" / pack.report.design).read_bytes()
    window, _ = make_window(read_svg(drawing, name="x"), roles={}, sizing=Sizing())
    plan, _ = plan_frame(window, kit.board, kit.cutter, printer=kit.printer, films=2)
    return window, plan, kit


def test_a_forgotten_kerf_is_found(pack: Pack) -> None:
    _, plan, kit = _planned(pack)
    no_kerf = replace(kit.cutter, kerf_mm=0.0, kerf_by_thickness=())
    files = dict(pack.files)
    for drawing in layer_drawings(plan, no_kerf):
        files[f"{drawing.file}.svg"] = write_cut_svg(drawing.paths, drawing.size_mm, title="")
    assert "frames/front-inner.svg finished area" in off(files)


def test_missing_bleed_is_found(pack: Pack) -> None:
    from glasswork.colour.glazing import choose_glass
    from glasswork.colour.separate import separate
    from glasswork.drawing.neighbours import colour_groups
    from glasswork.model.sheet import Document
    from glasswork.sheets.films import film_pages
    from glasswork.writers.pdf import write_pdf

    window, plan, kit = _planned(pack)
    window, _ = choose_glass(window, kit.palette, chosen={}, groups=colour_groups(window))
    films, _ = separate(window, kit.palette, kit.printer, kit.light, films=2)
    bare = replace(
        plan,
        glass_limit=tuple(
            (pane.id, Area.of([pane.region]).grown(-0.3).regions()) for pane in window.panes
        ),
    )
    pages, _ = film_pages(window, films, bare, kit.page, printer=kit.printer, design_label="x")
    files = dict(pack.files)
    files["films.pdf"] = write_pdf(Document(title="x", pages=pages, created="2026-01-02"))
    assert "ink under the leads, film 1" in off(files)


def test_any_altered_file_is_named(pack: Pack) -> None:
    files = dict(pack.files)
    files["project.toml"] += b"# mine\n"
    altered = next(check for check in verify_pack(files) if check.check == "files unaltered")
    assert not altered.ok
    assert "project.toml" in altered.measured


def test_broken_files_are_said_not_raised(pack: Pack) -> None:
    files = dict(pack.files)
    files["films.pdf"] = b"%PDF-1.4 nothing"
    files["frames/front-inner.svg"] = b"<svg"
    assert {"films", "frames"} <= set(off(files))
