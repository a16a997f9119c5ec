"""A whole pack, measured file by file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from hashlib import sha256
from typing import Final

from glasswork.errors import GlassworkError
from glasswork.model.report import REPORT_FILE, CheckReport, Report
from glasswork.verify.checks import check
from glasswork.verify.colours import colours, printed_leads
from glasswork.verify.frames import frames, sheets
from glasswork.verify.ink import cover, parts
from glasswork.verify.marks import boxes, marks, mirrors, rules, uncoloured
from glasswork.verify.shown import FilmPicture, RenderedFilms, assembled, render_films
from glasswork.verify.words import words
from glasswork.writers.report import parse_report

PREVIEW_PX: Final = 1600
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
        shown = films or aside.submit(render_films, files["films.pdf"])
        cut, nested, seen = (
            _measured(measure, files, report) for measure in (frames, sheets, _previews)
        )
        printed = _measured(partial(_films, shown=shown), files, report, name="films")
    read = _measured(_papers, files, report)
    return (*checks, *printed, *cut, *nested, *read, *seen)


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
        checks.append(check(name, "readable", f"{exc}", "", ok=False))
    return checks


def _present(files: Mapping[str, bytes]) -> CheckReport:
    missing = [name for name in REQUIRED if not files.get(name)]
    return check(
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
    return check(
        "files unaltered",
        f"{len(told)} hashes",
        f"altered: {', '.join(changed)}" if changed else f"{len(told)} hashes",
        "all",
        ok=not changed,
    )


def _films(
    files: Mapping[str, bytes], report: Report, *, shown: Future[RenderedFilms]
) -> Iterator[CheckReport]:
    films = shown.result()
    if films.data != files["films.pdf"]:
        films = render_films(files["films.pdf"])
    pages = films.opened()
    promised = max((page.page for page in report.films.pages), default=0)
    yield check("film pages", f"{promised}", f"{len(pages)}", "equal", ok=len(pages) == promised)
    if len(pages) != promised:
        return
    yield from boxes(pages, report)
    yield uncoloured(files["films.pdf"])
    pictures = [
        FilmPicture(facts=facts, page=pages[facts.page - 1], rgb=films.rgb[facts.page - 1])
        for facts in report.films.pages
    ]
    yield from marks(pictures)
    yield from rules(pictures)
    yield mirrors(pictures)
    yield from parts(files, report)
    whole = assembled(pictures)
    yield from colours(whole, report)
    yield from printed_leads(whole, report)
    yield from cover(whole, files, report)
    yield from words("films.pdf", pages)


def _papers(files: Mapping[str, bytes], _: Report) -> Iterator[CheckReport]:
    import pypdfium2

    for name in ("template.pdf", "guide.pdf"):
        yield from words(name, list(pypdfium2.PdfDocument(files[name])))


def _previews(files: Mapping[str, bytes], _: Report) -> Iterator[CheckReport]:
    for name in ("preview-lit.png", "preview-unlit.png", "preview-back.png"):
        width = _width_px(files[name])
        yield check(name, "1600 px wide", f"{width} px", "equal", ok=width == PREVIEW_PX)


def _width_px(data: bytes) -> int:
    """Of a picture whose checksums hold; 0 where it is damaged."""
    from io import BytesIO

    from PIL import Image

    try:
        picture = Image.open(BytesIO(data))
        width = picture.width
        picture.verify()
    except (OSError, SyntaxError):
        return 0
    return width
