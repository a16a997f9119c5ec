"""Opens a pack as a stranger would and measures it against what its report promises.

Nothing of the composition is reused: the pages are rendered, the cut files parsed, the sheets
opened by a DXF reader. Every line of the answer says what was promised, what was measured, and
the limit between them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from math import hypot
from typing import Any, Final

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from glasswork.errors import GlassworkError
from glasswork.model.geometry import Affine, Point, Region
from glasswork.model.report import REPORT_FILE, CheckReport, FilmPageReport, Report
from glasswork.planar import Area, AreaSet, last_holding
from glasswork.readers.dxf import read_dxf
from glasswork.readers.svg import read_svg
from glasswork.units import mm_to_pt, mm_to_px, pt_to_mm
from glasswork.writers.report import parse_report

RENDER_DPI: Final = 200.0
CLOSE_DPI: Final = 1200.0
MARK_LIMIT_MM: Final = 0.05
MARK_WINDOW_MM: Final = 2.6
"""Half the side of the square in which a mark stands alone."""
PAGES_LIMIT_MM: Final = 0.02
RULE_MM: Final = 100.0
RULE_LIMIT_MM: Final = 0.05
FACES_LIMIT_MM: Final = 0.01
BOX_LIMIT_MM: Final = 0.01
COLOUR_LIMIT: Final = 1
FLAT: Final = "clear"
SURFACE_RANGE: Final = 50
"""How much paler than its flat colour the brightest spots of a surface may be."""
TEXTURE_MM: Final = 0.6
TEXTURE_LIMIT: Final = 30.0
"""How far the middles of textured panes may lie from their flat colours, on average."""
PREVIEW_PX: Final = 1600
BARE_MM2: Final = 0.05
BARE_SHARE: Final = 0.35
PARTS_LIMIT_MM: Final = 0.05
TRIM_LINE_PX: Final = 5
"""Parts are trimmed so far beside their line, half of it inside, that the line itself is gone."""
SPOT_MM2: Final = 0.1
"""A bare spot smaller than this, in the bleed under a lead, shows no light."""
CLEAR_FROM: Final = 240
"""A pane whose lightest channel values are all at least this may look like bare film."""

REQUIRED: Final = (
    "films.pdf",
    "films-trim.svg",
    "frames/front-outer.svg",
    "frames/front-inner.svg",
    "frames/back-inner.svg",
    "frames/back-outer.svg",
    "frames/retainer.svg",
    "frames/sheet-1.svg",
    "frames/sheet-1.dxf",
    "template.pdf",
    "preview-lit.png",
    "preview-unlit.png",
    "preview-back.png",
    "guide.pdf",
    "project.toml",
)

Grey = NDArray[np.float64]
Rgb = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPicture:
    """A film page as another program renders it: whole at RENDER_DPI, and closer where asked."""

    facts: FilmPageReport
    page: Any
    rgb: Rgb

    @property
    def told(self) -> str:
        """ "film 1", "film 2, part 1", "film 1, copy 2" """
        facts = self.facts
        part = f", part {facts.part}" if facts.parts > 1 else ""
        copy = f", copy {facts.copy}" if facts.copy > 1 else ""
        return f"film {facts.film}{part}{copy}"

    def darkness(self, centre: Point, half_mm: float) -> tuple[Grey, Point]:
        """How dark a square round a place is, 0-1, at CLOSE_DPI; its top left corner in mm."""
        width, height = (pt_to_mm(side) for side in self.page.get_size())
        left, top = (max(0.0, value - half_mm) for value in centre)
        crop = (
            left,
            max(0.0, height - centre[1] - half_mm),
            max(0.0, width - centre[0] - half_mm),
            top,
        )
        bitmap = self.page.render(scale=CLOSE_DPI / 72.0, crop=tuple(mm_to_pt(mm) for mm in crop))
        return 1.0 - bitmap.to_numpy()[:, :, :3].mean(axis=2) / 255.0, (left, top)


@dataclass(frozen=True, slots=True, kw_only=True)
class RenderedFilms:
    """The pages of a films.pdf as another program shows them."""

    data: bytes
    pages: tuple[Any, ...]
    rgb: tuple[Rgb, ...]


def render_films(data: bytes) -> RenderedFilms:
    """Open and render film pages. One thread at a time may do so.

    Raises: RuntimeError, if it is no PDF
    """
    import pypdfium2

    pages = tuple(pypdfium2.PdfDocument(data))
    return RenderedFilms(data=data, pages=pages, rgb=tuple(_render(page) for page in pages))


def verify_pack(
    files: Mapping[str, bytes], *, films: Future[RenderedFilms] | None = None
) -> tuple[CheckReport, ...]:
    """Measure a pack.

    files : relative path → bytes
    films : the pages of these very files, being rendered already
    Returns: one line a check, failed ones included
    Raises: PackError, if there is no readable report
    """
    report = parse_report(files.get(REPORT_FILE, b""), where=REPORT_FILE)
    checks = [_present(files), _unaltered(files, report)]
    if not checks[0].ok:
        return tuple(checks)
    with ThreadPoolExecutor(1) as aside:  # PDF pages are rendered by one thread at a time
        if films is None:
            films = aside.submit(render_films, files["films.pdf"])
        frames, sheets, pictures = (
            _measured(measure, files, report) for measure in (_frames, _sheets, _pictures)
        )
        checks += _measured(partial(_films, films=films), files, report, name="films")
    papers = _measured(_papers, files, report)
    return (*checks, *frames, *sheets, *papers, *pictures)


def _measured(
    measure: Callable[[Mapping[str, bytes], Report], Iterator[CheckReport]],
    files: Mapping[str, bytes],
    report: Report,
    *,
    name: str = "",
) -> list[CheckReport]:
    """The checks up to the first file that cannot be read, which is told as one."""
    checks: list[CheckReport] = []
    try:
        checks.extend(measure(files, report))
    except (GlassworkError, ValueError, RuntimeError) as exc:
        name = name or measure.__name__.strip("_")
        checks.append(_check(name, "readable", f"{exc}", "", ok=False))
    return checks


def _check(name: str, promised: str, measured: str, limit: str, *, ok: bool) -> CheckReport:
    return CheckReport(check=name, promised=promised, measured=measured, limit=limit, ok=bool(ok))


def _within(name: str, promised: float, measured: float, limit: float, unit: str) -> CheckReport:
    return _check(
        name,
        f"{promised:.3f} {unit}",
        f"{measured:.3f} {unit}",
        f"± {limit:g} {unit}",
        ok=abs(measured - promised) <= limit,
    )


# -- the folder ------------------------------------------------------------------------------


def _present(files: Mapping[str, bytes]) -> CheckReport:
    missing = [name for name in REQUIRED if not files.get(name)]
    return _check(
        "files present",
        f"{len(REQUIRED)} files",
        f"missing: {', '.join(missing)}" if missing else f"{len(REQUIRED)} files",
        "all",
        ok=not missing,
    )


def _unaltered(files: Mapping[str, bytes], report: Report) -> CheckReport:
    told = report.files_sha256
    changed = [
        name for name in told if name not in files or sha256(files[name]).hexdigest() != told[name]
    ]
    return _check(
        "files unaltered",
        f"{len(told)} hashes",
        f"altered: {', '.join(changed)}" if changed else f"{len(told)} hashes",
        "all",
        ok=not changed,
    )


# -- film pages ------------------------------------------------------------------------------


def _films(
    files: Mapping[str, bytes], report: Report, *, films: Future[RenderedFilms]
) -> Iterator[CheckReport]:
    shown = films.result()
    if shown.data != files["films.pdf"]:
        shown = render_films(files["films.pdf"])
    pages = shown.pages
    promised = max((page.page for page in report.films.pages), default=0)
    yield _check("film pages", f"{promised}", f"{len(pages)}", "equal", ok=len(pages) == promised)
    if len(pages) != promised:
        return
    yield from _boxes(pages, report)
    yield _uncoloured(files["films.pdf"])
    pictures = [
        FilmPicture(facts=facts, page=pages[facts.page - 1], rgb=shown.rgb[facts.page - 1])
        for facts in report.films.pages
    ]
    yield from _marks(pictures)
    yield from _rules(pictures)
    yield _mirrors(pictures)
    yield from _parts(files, report)
    whole = _assembled(pictures)
    yield from _colours(whole, report)
    yield from _cover(whole, files, report)
    yield from _words("films.pdf", pages)


def _render(page: Any) -> Rgb:
    """The page as it is printed: pixels of pictures are taken as they are, none are blended."""
    bitmap = page.render(scale=RENDER_DPI / 72.0, rev_byteorder=True, no_smoothimage=True)
    return np.ascontiguousarray(bitmap.to_numpy()[:, :, :3])


def _assembled(pictures: list[FilmPicture]) -> list[FilmPicture]:
    """Films in parts laid together, each part trimmed as told, seen from the front."""
    whole = [picture for picture in pictures if picture.facts.parts == 1]
    groups: dict[tuple[int, int], list[FilmPicture]] = {}
    for picture in pictures:
        if picture.facts.parts > 1:
            groups.setdefault((picture.facts.copy, picture.facts.film), []).append(picture)
    return [*whole, *map(_joined, groups.values())]


def _joined(parts: list[FilmPicture]) -> FilmPicture:
    import cv2

    px = mm_to_px(1.0, dpi=RENDER_DPI)
    trims = [np.array(part.facts.trim_mm) for part in parts]
    left, top = np.min([trim.min(axis=0) for trim in trims], axis=0) - 1.0
    width, height = np.max([trim.max(axis=0) for trim in trims], axis=0) - (left, top) + 1.0
    place = Affine.shift(-float(left), -float(top))
    size = (round(width * px), round(height * px))
    rgb = np.full((size[1], size[0], 3), 255, np.uint8)
    for part, trim in zip(parts, trims, strict=True):
        back = Affine(*part.facts.panel_to_page_mm).inverse().then(place)
        matrix = np.array([(back.a, back.c, back.e * px), (back.b, back.d, back.f * px)])
        seen = cv2.warpAffine(
            part.rgb, matrix, size, flags=cv2.INTER_NEAREST, borderValue=(255, 255, 255)
        )
        kept = np.zeros(rgb.shape[:2], np.uint8)
        ring = np.round((trim - (left, top)) * px * 16.0).astype(np.int32)
        cv2.fillPoly(kept, [ring], 1, shift=4)
        cv2.polylines(kept, [ring], True, 0, TRIM_LINE_PX, shift=4)
        rgb = np.where(kept[..., None] > 0, np.minimum(rgb, seen), rgb)
    facts = structs.replace(parts[0].facts, panel_to_page_mm=(*place,), part=1, parts=1)
    return FilmPicture(facts=facts, page=None, rgb=rgb)


def _boxes(pages: Sequence[Any], report: Report) -> Iterator[CheckReport]:
    width, height = report.films.page_mm
    worst, nested = 0.0, True
    for page in pages:
        media = [pt_to_mm(value) for value in page.get_mediabox()]
        trim = [pt_to_mm(value) for value in page.get_trimbox()]
        worst = max(worst, abs(media[2] - media[0] - width), abs(media[3] - media[1] - height))
        nested &= media[0] <= trim[0] < trim[2] <= media[2]
        nested &= media[1] <= trim[1] < trim[3] <= media[3]
    yield _check(
        "film page size",
        f"{width:g} x {height:g} mm",
        f"off by {worst:.4f} mm",
        f"± {BOX_LIMIT_MM} mm",
        ok=worst <= BOX_LIMIT_MM,
    )
    yield _check(
        "page boxes nested", "trim inside media", str(nested).lower(), "all pages", ok=nested
    )


def _uncoloured(data: bytes) -> CheckReport:
    found = re.findall(rb"/(ICCBased|OutputIntents?|CalRGB|Lab)\b", data)
    return _check(
        "no colour management",
        "DeviceRGB only",
        b", ".join(sorted(set(found))).decode() or "DeviceRGB only",
        "none",
        ok=not found,
    )


def _centre_of_mark(picture: FilmPicture, expected: Point) -> Point:
    """Where the middle of a mark lies, in page mm: the centroid of what is dark."""
    part, (left, top) = picture.darkness(expected, MARK_WINDOW_MM)
    weight = np.where(part > 0.25, part, 0.0)
    total = float(weight.sum())
    if total <= 0.0:
        return (float("inf"), float("inf"))
    rows, columns = np.mgrid[0 : part.shape[0], 0 : part.shape[1]]
    px = mm_to_px(1.0, dpi=CLOSE_DPI)
    x = float((weight * (columns + 0.5)).sum()) / total / px + left
    y = float((weight * (rows + 0.5)).sum()) / total / px + top
    return (x, y)


def _marks(pictures: list[FilmPicture]) -> Iterator[CheckReport]:
    seen = [[_centre_of_mark(p, mark) for mark in p.facts.marks_mm] for p in pictures]
    off = [
        hypot(x - mark[0], y - mark[1])
        for picture, places in zip(pictures, seen, strict=True)
        for (x, y), mark in zip(places, picture.facts.marks_mm, strict=True)
    ]
    worst = max(off, default=float("inf"))
    yield _check(
        "registration marks",
        "where the report says",
        f"off by {worst:.3f} mm",
        f"{MARK_LIMIT_MM} mm",
        ok=worst <= MARK_LIMIT_MM,
    )
    first: dict[int, list[Point]] = {}
    apart: list[float] = []
    for picture, places in zip(pictures, seen, strict=True):
        back = Affine(*picture.facts.panel_to_page_mm).inverse()
        panel = [back.apply(place) for place in places]
        others = first.setdefault(picture.facts.part, panel)
        apart += [min(hypot(x - ox, y - oy) for ox, oy in others) for x, y in panel]
    yield _check(
        "film against film",
        "marks coincide",
        f"apart by {max(apart, default=float('inf')):.3f} mm",
        f"{PAGES_LIMIT_MM} mm",
        ok=max(apart, default=float("inf")) <= PAGES_LIMIT_MM,
    )


def _tick(picture: FilmPicture, end: Point, *, along: int) -> float:
    """Where the tick at a rule's end lies along the rule (0: x, 1: y), in page mm."""
    part, corner = picture.darkness(end, 1.2)
    profile = part if along == 0 else part.T
    middle = profile.shape[0] // 2
    clear = round(mm_to_px(0.35, dpi=CLOSE_DPI))
    bands = (profile[: middle - clear], profile[middle + clear :])
    line = max((band.sum(axis=0) for band in bands), key=lambda sums: float(sums.max()))
    line = np.where(line > 0.4 * line.max(initial=0.0), line, 0.0)
    if line.sum() <= 0.0:
        return float("inf")
    centre = float((line * (np.arange(len(line)) + 0.5)).sum() / line.sum())
    return centre / mm_to_px(1.0, dpi=CLOSE_DPI) + corner[along]


def _rules(pictures: list[FilmPicture]) -> Iterator[CheckReport]:
    """Rules are 100 mm of the finished print: on the page that much over the print scale."""
    for along, axis in ((0, "across"), (1, "down")):
        promised, measured = RULE_MM, 0.0
        for picture in pictures:
            for first, last in picture.facts.rules_mm:
                drawn = abs(last[along] - first[along])
                if drawn < abs(last[1 - along] - first[1 - along]):
                    continue
                ends = [_tick(picture, end, along=along) for end in (first, last)]
                length = abs(ends[1] - ends[0])
                if measured == 0.0 or abs(length - drawn) > abs(measured - promised):
                    promised, measured = drawn, length
        yield _within(f"100 mm rule {axis}", promised, measured, RULE_LIMIT_MM, "mm")


def _mirrors(pictures: list[FilmPicture]) -> CheckReport:
    wrong = [
        p.facts.film
        for p in pictures
        if Affine(*p.facts.panel_to_page_mm).mirrors != p.facts.mirrored
    ]
    return _check(
        "mirroring as told",
        "each page",
        f"wrong: film {wrong}" if wrong else "each page",
        "all",
        ok=not wrong,
    )


def _parts(files: Mapping[str, bytes], report: Report) -> Iterator[CheckReport]:
    """Of a film in parts: together they are the film, they lie over each other, and each pane is
    on one of them."""
    for film in sorted({page.film for page in report.films.pages if page.parts > 1}):
        pages = {page.part: page for page in report.films.pages if page.film == film}
        parts = [Area.of([Region(page.trim_mm)]) for page in pages.values()]
        whole = finished(files["films-trim.svg"], kerf_mm=0.0)
        (x, y), (px, py) = whole.bounds[:2], Area.union(parts).bounds[:2]
        inside = whole.mapped(Affine.shift(px - x, py - y)).grown(-PARTS_LIMIT_MM)
        lost = (inside - Area.union(parts)).area_mm2
        yield _check(
            f"parts of film {film} cover it",
            f"{len(parts)} parts",
            f"{lost:.2f} mm² left out",
            f"{BARE_MM2} mm²",
            ok=lost <= BARE_MM2,
        )
        told = sorted(name for page in pages.values() for name in page.panes)
        alone = len(told) == len(set(told)) and set(told) == {pane.id for pane in report.panes}
        yield _check(
            f"panes on parts of film {film}",
            "each on one",
            "each on one" if alone else f"{len(told)} places for {len(report.panes)} panes",
            "equal",
            ok=alone,
        )


def _colours(pictures: list[FilmPicture], report: Report) -> Iterator[CheckReport]:
    import cv2

    worst, where, apart = 0, "", [0.0]
    px = mm_to_px(1.0, dpi=RENDER_DPI)
    side = 2 * round(TEXTURE_MM * px) + 1
    seeds = np.array([pane.seed_point_mm for pane in report.panes])
    flat = np.array([pane.finish == FLAT for pane in report.panes])
    for picture in pictures:
        film, (rows, columns) = picture.facts.film, picture.rgb.shape[:2]
        a, b, c, d, e, f = picture.facts.panel_to_page_mm
        column, row = ((seeds @ [[a, b], [c, d]] + [e, f]) * px).T.astype(int)
        inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        if not inside.all():
            lost = report.panes[int(np.argmin(inside))]
            worst, where = 255, f", pane {lost.id} lies off film {film}"
        promised = np.array([pane.device[film - 1] for pane in report.panes])

        plain, rough = flat & inside, ~flat & inside
        if plain.any():
            far = _apart(picture.rgb, row[plain], column[plain], promised[plain])
            if far.max() > worst:
                pane = report.panes[int(np.flatnonzero(plain)[np.argmax(far)])]
                worst, where = int(far.max()), f", pane {pane.id} on film {film}"
        if rough.any():
            around = np.asarray(cv2.blur(picture.rgb, (side, side)), np.uint8)
            apart += _apart(around, row[rough], column[rough], promised[rough]).tolist()
    yield _check(
        "device colours",
        "as reported",
        f"off by {worst}{where}",
        f"{COLOUR_LIMIT} of 255",
        ok=worst <= COLOUR_LIMIT,
    )
    textured = float(np.mean(apart[1:] or apart))
    yield _check(
        "glass that is not flat",
        "about its flat colour",
        f"off by {textured:.1f} on average" if apart[1:] else "none",
        f"{TEXTURE_LIMIT} of 255",
        ok=textured <= TEXTURE_LIMIT,
    )


def _apart(seen: Rgb, row: Any, column: Any, promised: Any) -> NDArray[np.intp]:
    """How far the pixels at these places lie from what was promised, the worst channel of each."""
    far: NDArray[np.intp] = np.abs(seen[row, column].astype(int) - promised).max(axis=1)
    return far


def _cover(
    pictures: list[FilmPicture], files: Mapping[str, bytes], report: Report
) -> Iterator[CheckReport]:
    """Nothing inside the frame's openings, nor the bleed's breadth under it, is bare film.

    Glass that is not flat has bare spots of its own: there the bleed alone is measured, and by its
    share, for bleed that is missing is missing all along the edge.
    """
    facts = next(frame for frame in report.frames if frame.file == "frames/front-inner.svg")
    solid = finished(files[facts.file], kerf_mm=facts.kerf_mm).mapped(
        Affine(*facts.panel_to_file_mm).inverse()
    )
    bleed = max(0.0, report.registration.bleed_mm - 0.1)
    holes = [Region(hole) for region in solid.regions() for hole in region.holes]
    glazed = last_holding([pane.seed_point_mm for pane in report.panes], AreaSet.of_regions(holes))
    openings = [Area.of([holes[i]]) for i in sorted(set(glazed)) if i >= 0]
    seen = Area.union([opening.grown(bleed) for opening in openings])
    most = BARE_MM2
    if any(pane.finish != FLAT for pane in report.panes):
        seen -= Area.union(openings)
        most = BARE_SHARE * seen.area_mm2
    for picture in pictures:
        bare = _bare_mm2(picture, seen, report)
        yield _check(
            f"ink under the leads, {picture.told}",
            f"ink {bleed:.2f} mm under every lead",
            f"{bare:.2f} mm² bare",
            f"{most:.2f} mm²",
            ok=bare <= most,
        )


def _bare_mm2(picture: FilmPicture, seen: Area, report: Report) -> float:
    """Bare film inside an area, less the panes whose glass is nearly clear on this film."""
    import cv2

    to_page = Affine(*picture.facts.panel_to_page_mm)
    px = mm_to_px(1.0, dpi=RENDER_DPI)
    placed = seen.mapped(to_page)
    left, top = (max(0, int(edge * px) - 2) for edge in placed.bounds[:2])
    right, bottom = (int(edge * px) + 3 for edge in placed.bounds[2:])
    rgb = picture.rgb[top:bottom, left:right]
    mask = np.zeros(rgb.shape[:2], np.uint8)
    for region in placed.regions():
        rings = [
            np.round((np.array(ring) * px - (left, top)) * 16.0).astype(np.int32)
            for ring in region.rings
        ]
        cv2.fillPoly(mask, rings, 1, shift=4)
    seen_px = np.asarray(cv2.erode(mask, np.ones((3, 3), np.uint8))) > 0
    light = np.asarray(cv2.inRange(rgb, (CLEAR_FROM,) * 3, (255,) * 3)) > 0
    bare = (light & seen_px).astype(np.uint8)
    _, labels = cv2.connectedComponents(bare, connectivity=8, ltype=cv2.CV_32S)
    spots = cv2.morphologyEx(bare, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    counts = np.bincount(labels[spots > 0], minlength=int(labels.max()) + 1) / px**2
    counts[counts < SPOT_MM2] = 0.0
    counts[0] = 0.0
    for pane in report.panes:
        paler = 0 if pane.finish == FLAT else SURFACE_RANGE
        if min(pane.device[picture.facts.film - 1]) >= CLEAR_FROM - paler:
            x, y = to_page.apply(pane.seed_point_mm)
            counts[labels[int(y * px) - top, int(x * px) - left]] = 0.0
    return float(counts.sum())


# -- frame files -----------------------------------------------------------------------------


def finished(data: bytes, *, kerf_mm: float) -> Area:
    """What a cut file leaves standing once the kerf is gone, in file mm.

    Raises: ReadError, if the file is not what a cutter reads
    """
    art = read_svg(data, name="cut file")
    kept: list[Area] = []
    gone: list[Area] = []
    for mark in art.marks:
        solid = "outline" in mark.names
        if not solid and not {"inside", "holes"} & set(mark.names):
            continue
        for points, closed in mark.paths:
            if not closed or len(points) < 3:
                raise ValueError("an open cut path")
            grown = Area.of([Region(points)]).grown(
                -kerf_mm / 2.0 if solid else kerf_mm / 2.0, join="mitre"
            )
            (kept if solid else gone).append(grown)
    if not kept:
        raise ValueError("no outline to cut")
    return Area.union(kept) - Area.union(gone) if gone else Area.union(kept)


def _frames(files: Mapping[str, bytes], report: Report) -> Iterator[CheckReport]:
    shapes: dict[str, Area] = {}
    for frame in report.frames:
        shape = finished(files[frame.file], kerf_mm=frame.kerf_mm)
        shapes[frame.file] = shape.mapped(Affine(*frame.panel_to_file_mm).inverse())
        yield _within(
            f"{frame.file} finished area",
            frame.area_mm2,
            shape.area_mm2,
            max(0.5, 0.002 * frame.area_mm2),
            "mm²",
        )
        parts = len(shape.regions())
        yield _check(
            f"{frame.file} pieces", f"{frame.pieces}", f"{parts}", "equal", ok=parts == frame.pieces
        )
    for level in ("inner", "outer"):
        front, back = (shapes.get(f"frames/{face}-{level}.svg") for face in ("front", "back"))
        if front is not None and back is not None:
            apart = front.apart_mm(back)
            yield _check(
                f"{level} front on back",
                "coincide",
                f"apart by {apart:.4f} mm",
                f"{FACES_LIMIT_MM} mm",
                ok=apart <= FACES_LIMIT_MM,
            )
    total = sum(thickness for _, thickness in report.fit.layers_mm)
    yield _within("thickness is the sum of layers", report.thickness_mm, total, 0.001, "mm")


def _sheets(files: Mapping[str, bytes], _: Report) -> Iterator[CheckReport]:
    for name in sorted(files):
        if not re.fullmatch(r"frames/sheet-\d+\.dxf", name):
            continue
        drawing = read_dxf(files[name], name=name)
        yield _check(f"{name} unit", "mm", f"code {drawing.units}", "code 4", ok=drawing.units == 4)
        art = read_svg(files[name.replace(".dxf", ".svg")], name=name)
        cut = frozenset({"outline", "inside", "holes"})
        points = [
            point
            for mark in art.marks
            if cut & set(mark.names)
            for path, _ in mark.paths
            for point in path
        ]
        box = drawing.extents(cut)
        drawn = (box.width, box.height)
        asked = tuple(
            max(p[axis] for p in points) - min(p[axis] for p in points) for axis in (0, 1)
        )
        off = max(abs(a - b) for a, b in zip(drawn, asked, strict=True))
        yield _check(
            f"{name} as its SVG",
            f"{asked[0]:.2f} x {asked[1]:.2f} mm",
            f"{drawn[0]:.2f} x {drawn[1]:.2f} mm",
            "± 0.05 mm",
            ok=off <= 0.05,
        )


# -- paper and pictures ----------------------------------------------------------------------


def _papers(files: Mapping[str, bytes], _: Report) -> Iterator[CheckReport]:
    import pypdfium2

    for name in ("template.pdf", "guide.pdf"):
        yield from _words(name, list(pypdfium2.PdfDocument(files[name])))


def _words(name: str, pages: Sequence[Any]) -> Iterator[CheckReport]:
    loose, outside, small = _texts(pages)
    yield _check(
        f"{name} fonts",
        "embedded",
        f"{loose} loose" if loose else "embedded",
        "all",
        ok=loose == 0,
    )
    yield _check(
        f"{name} texts",
        "on the page, 7 pt or more",
        f"{outside} off the page, smallest {small:.1f} pt",
        "none, 7 pt",
        ok=outside == 0 and small >= 6.99,
    )


def _texts(pages: Sequence[Any]) -> tuple[int, int, float]:
    """Text objects: how many use a font that is not embedded, how many leave the page, and the
    smallest size in pt."""
    import pypdfium2.raw as raw

    loose, outside, small = 0, 0, 999.0
    for page in pages:
        width, height = page.get_size()
        for item in _text_objects(page):
            left, bottom, right, top = item.get_bounds()
            outside += left < -0.5 or bottom < -0.5 or right > width + 0.5 or top > height + 0.5
            font = raw.FPDFTextObj_GetFont(item.raw)
            loose += raw.FPDFFont_GetIsEmbedded(font) != 1
            small = min(small, _size_pt(raw, item))
    return loose, outside, small


def _text_objects(page: Any) -> Iterator[Any]:
    """The texts among a page's objects, without making objects of the thousands of others."""
    import pypdfium2
    import pypdfium2.raw as raw

    found = [
        raw.FPDFPage_GetObject(page.raw, n) for n in range(raw.FPDFPage_CountObjects(page.raw))
    ]
    kinds = [raw.FPDFPageObj_GetType(item) for item in found]
    if raw.FPDF_PAGEOBJ_FORM in kinds:
        yield from page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT])
        return
    for item, kind in zip(found, kinds, strict=True):
        if kind == raw.FPDF_PAGEOBJ_TEXT:
            yield pypdfium2.PdfObject(item, page=page, pdf=page.pdf)


def _size_pt(raw: Any, item: Any) -> float:
    from ctypes import byref, c_float

    size = c_float()
    raw.FPDFTextObj_GetFontSize(item.raw, byref(size))
    matrix = item.get_matrix()
    return float(size.value * hypot(matrix.b, matrix.d))


def _pictures(files: Mapping[str, bytes], _: Report) -> Iterator[CheckReport]:
    """Their checksums hold, and they are as wide as they should be."""
    from io import BytesIO

    from PIL import Image

    for name in ("preview-lit.png", "preview-unlit.png", "preview-back.png"):
        picture = Image.open(BytesIO(files[name]))
        picture.verify()
        width = picture.width
        yield _check(name, "1600 px wide", f"{width} px", "equal", ok=width == PREVIEW_PX)
