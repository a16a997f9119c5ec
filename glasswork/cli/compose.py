"""glasswork compose: a drawing becomes a pack."""

from __future__ import annotations

import hashlib
import os
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click
import msgspec

from glasswork.cli import shelf
from glasswork.cli.files import beside_or_named
from glasswork.cli.options import design_path, merge, with_settings
from glasswork.errors import ReadError
from glasswork.model.project import Project
from glasswork.model.report import REPORT_FILE
from glasswork.readers.project import read_project


@click.command("compose", context_settings={"show_default": True})
@click.argument("design", required=False)
@click.option("-o", "--output", metavar="PACK", required=True, help="Folder of the results.")
@click.option("--project", "project_file", metavar="FILE", help="Project file with the settings.")
@with_settings
@click.option("--json", "as_json", is_flag=True, help="Print the report instead of the table.")
def command(
    design: str | None, output: str, project_file: str | None, as_json: bool, **given: Any
) -> None:
    """Make a pack from DESIGN (SVG line art, or a PNG or JPEG of one).

    The pack holds the film prints, the frame cuts, previews, a guide and a report.
    """
    from glasswork.cli.cache import FolderCache
    from glasswork.cli.kit import load_kit
    from glasswork.cli.memory import for_one_job
    from glasswork.cli.packs import check_target, write_pack
    from glasswork.cli.progress import Progress
    from glasswork.panel import Watch
    from glasswork.pipeline import compose

    for_one_job()
    target = Path(output)
    check_target(target)
    path, project, beside = open_project(design, project_file, given)
    drawing = shelf.read_file(path)
    kit = load_kit(project, beside=beside)
    with Progress() as progress:
        pack = compose(
            drawing,
            settled(project, path=path, drawing=drawing, beside=beside, target=target),
            kit,
            name=path.name,
            watch=Watch(clock=time.perf_counter, begin=progress),
            created=today(),
            photo=photo_bytes(project, beside),
            cache=FolderCache(shelf.cache_folder()),
        )
        progress("writing")
        write_pack(target, pack.files)
    if as_json:
        click.echo(pack.files[REPORT_FILE].decode(), nl=False)
    else:
        from glasswork.cli.lastword import show_last_word

        show_last_word(pack.report, target=target, files=pack.files)


def open_project(
    design: str | None, project_file: str | None, given: dict[str, Any]
) -> tuple[Path, Project, Path | None]:
    """The drawing's path, the settings with the options applied, and the project's folder."""
    file = Path(project_file) if project_file else None
    known = read_project(shelf.read_file(file), where=file.name) if file else None
    path = design_path(design, file, known)
    project = merge(known or Project(design=path.name), given)
    if known and known.design_sha256 and design is None:
        seen = hashlib.sha256(shelf.read_file(path)).hexdigest()
        if seen != known.design_sha256:
            raise ReadError(
                str(path),
                f"is not the drawing of the project: sha256 {seen[:12]}…, "
                f"expected {known.design_sha256[:12]}…",
                "name the drawing on the command line to use it as it is now",
            )
    return path, project, file.parent if file else None


def photo_path(project: Project, beside: Path | None) -> Path | None:
    """Where the picture under the drawing is: beside the project file, or as it is named."""
    return beside_or_named(project.photo, beside) if project.photo else None


def photo_bytes(project: Project, beside: Path | None) -> bytes | None:
    """The picture under the drawing, if there is one."""
    path = photo_path(project, beside)
    return None if path is None else shelf.read_file(path)


def settled(
    project: Project, *, path: Path, drawing: bytes, beside: Path | None, target: Path
) -> Project:
    """The project as the pack keeps it: files named as seen from the pack's folder."""

    def from_pack(name: str) -> str:
        return Path(os.path.relpath(name, target)).as_posix()

    moved = {"design": from_pack(str(path))}
    photo = photo_path(project, beside)
    if photo is not None:
        moved["photo"] = from_pack(str(photo))
    if project.opening_drawing:
        moved["opening_drawing"] = from_pack(str(beside_or_named(project.opening_drawing, beside)))
    for key, kind in (
        ("palette", "palettes"),
        ("printer", "printers"),
        ("light", "lights"),
        ("board", "boards"),
        ("outer_board", "boards"),
        ("retainer_board", "boards"),
        ("cutter", "cutters"),
        ("page", "pages"),
    ):
        name = getattr(project, key)
        if name.lower().endswith(".toml"):
            moved[key] = from_pack(str(shelf.find(kind, name, beside=beside)))
    return msgspec.structs.replace(
        project, **moved, design_sha256=hashlib.sha256(drawing).hexdigest()
    )


def today() -> str:
    """ISO 8601 date and time of the run; $SOURCE_DATE_EPOCH pins it."""
    pinned = os.environ.get("SOURCE_DATE_EPOCH")
    moment = datetime.fromtimestamp(int(pinned), UTC) if pinned else datetime.now(UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")
