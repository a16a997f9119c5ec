"""How the pack is made: printing, and the light box. The settings belong to the project."""

from __future__ import annotations

from glasswork.web.pages.shell import Bench
from glasswork.web.parts import choice, entry, tag

FACES = {
    "front": "to the front",
    "back": "to the back",
    "together": "to each other",
}
PRINTING = (("copies", "Copies of the panel"), ("dpi", "Dots an inch, for surfaces"))
LIGHT_BOX = (
    ("light_depth", "LEDs to diffuser, mm"),
    ("evenness", "Least over most light, 0 to 1"),
    ("supply", "Supply, volts"),
)


def show_making(bench: Bench) -> None:
    """Two cards of fields."""
    project = bench.session.project
    with tag("section", cls="card", aria_labelledby="printing"):
        tag("h2", "Printing", id="printing")
        choice(
            "Printed sides look",
            FACES,
            project.ink_faces,
            bench.setting("ink_faces"),
            id="set-ink-faces",
        )
        _fields(bench, PRINTING)
    with tag("section", cls="card", aria_labelledby="lightbox"):
        tag("h2", "Light box", id="lightbox")
        _fields(bench, LIGHT_BOX)


def _fields(bench: Bench, fields: tuple[tuple[str, str], ...]) -> None:
    with tag("div", cls="fields"):
        for key, name in fields:
            now = f"{getattr(bench.session.project, key):g}"
            entry(name, now, bench.setting(key), id=f"set-{key.replace('_', '-')}")
