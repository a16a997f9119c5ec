"""Project files: `Project` in, TOML out, with only what differs from the defaults."""

from __future__ import annotations

import msgspec

from glasswork.model.project import Project

HEADER = "# Glasswork project file: glasswork compose --project THIS -o PACK\n"


def write_project(project: Project) -> bytes:
    """The project as TOML; reading it back gives an equal project.

    Every profile is named, defaults included, so that a later default changes nothing here.
    """
    plain = msgspec.to_builtins(project)
    kept = {key: value for key, value in plain.items() if value not in (None, "", {})}
    kept = {"design": kept.pop("design"), **kept}
    tables = {key: kept.pop(key) for key in list(kept) if isinstance(kept[key], dict)}
    return HEADER.encode() + msgspec.toml.encode({**kept, **tables})
