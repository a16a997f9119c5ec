"""Every file of a pack but the report, from the models the stages made."""

from __future__ import annotations

from collections.abc import Sequence

from glasswork.model.film import Separation
from glasswork.model.frame import Cutter, FramePlan
from glasswork.model.project import Project
from glasswork.model.sheet import Document, Page
from glasswork.model.window import Window
from glasswork.writers.pdf import write_pdf
from glasswork.writers.preview import preview_back, preview_lit, preview_unlit
from glasswork.writers.project import write_project


def pack_files(
    window: Window,
    separation: Separation,
    plan: FramePlan,
    cutter: Cutter,
    *,
    film_pages: Sequence[Page],
    template_pages: Sequence[Page],
    guide_pages: Sequence[Page],
    project: Project,
    created: str,
) -> dict[str, bytes]:
    """Relative path → bytes."""
    name = window.name

    def pdf(title: str, pages: Sequence[Page]) -> bytes:
        return write_pdf(Document(title=f"{name}: {title}", pages=tuple(pages), created=created))

    return {
        "films.pdf": pdf("films", film_pages),
        "template.pdf": pdf("frame template", template_pages),
        "guide.pdf": pdf("guide", guide_pages),
        "preview-lit.png": preview_lit(window, separation, plan),
        "preview-unlit.png": preview_unlit(window, separation, plan),
        "preview-back.png": preview_back(window, separation, plan),
        "project.toml": write_project(project),
    }
