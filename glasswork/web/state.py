"""What can be done to a project, and how it is undone: pure functions over frozen values.

A `Change` keeps only what it touches, before and after, so that a long history stays small.

Cannot occur: a history whose past does not lead to its present.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final, Literal

import msgspec

from glasswork.errors import ProfileError
from glasswork.model.project import LayerUse, LeadRole, MemberRole, Project
from glasswork.readers.project import check_settings

MAPS: Final = (
    "glass",
    "surfaces",
    "members",
    "member_roles",
    "roles",
    "widths",
    "layers",
)
"""Tables of a project; every other key is a single value."""

KEPT: Final = 200
"""Steps that can be undone."""


class Patch(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Values to put into a project. In a table, None takes the entry out."""

    values: dict[str, Any] = {}
    glass: dict[str, str | None] = {}
    surfaces: dict[str, str | None] = {}
    members: dict[str, Literal["cut", "printed"] | None] = {}
    member_roles: dict[str, MemberRole | None] = {}
    roles: dict[str, str | None] = {}
    widths: dict[LeadRole, float | None] = {}
    layers: dict[LeadRole, LayerUse | None] = {}


class Change(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One step: its name, the patch that does it, and the patch that takes it back."""

    label: str
    does: Patch
    undoes: Patch


class History(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A project with what led to it and what was taken back, each oldest first."""

    present: Project
    past: tuple[Change, ...] = ()
    future: tuple[Change, ...] = ()


def glazed(panes: Iterable[str], glass: str | None) -> Patch:
    """Give panes a glass; None leaves them to the drawing and the automatic scheme."""
    return Patch(glass=dict.fromkeys(panes, glass))


def surfaced(panes: Iterable[str], surface: str | None) -> Patch:
    """Give panes a surface of their own; None leaves them to what is said for all."""
    return Patch(surfaces=dict.fromkeys(panes, surface))


def made(member: str, how: Literal["cut", "printed"] | None) -> Patch:
    """Have a member cut or printed; None leaves it to cutter and board."""
    return Patch(members={member: how})


def cast(members: Iterable[str], role: MemberRole | None) -> Patch:
    """Give single members a role; None leaves it to the drawing."""
    return Patch(member_roles=dict.fromkeys(members, role))


def patched(project: Project, patch: Patch) -> Project:
    """The project with the patch put in.

    Raises: ProfileError, if a key is unknown or a value out of its domain
    """
    plain: dict[str, Any] = msgspec.to_builtins(project)
    plain.update(patch.values)
    for name in MAPS:
        table = dict(plain[name])
        for key, value in getattr(patch, name).items():
            if value is None:
                table.pop(key, None)
            else:
                table[key] = value
        plain[name] = table
    try:
        changed = msgspec.convert(plain, Project, strict=False)
    except msgspec.ValidationError as exc:
        raise ProfileError("setting", str(exc), "the project was left as it is") from exc
    check_settings(changed, where="setting")
    return changed


def reversal(project: Project, patch: Patch) -> Patch:
    """The patch that takes this one back, as seen before it is put in."""
    plain: Mapping[str, Any] = msgspec.to_builtins(project)
    tables = {name: {key: plain[name].get(key) for key in getattr(patch, name)} for name in MAPS}
    return Patch(values={key: plain.get(key) for key in patch.values}, **tables)


def done(history: History, patch: Patch, *, label: str) -> History:
    """The history with one step more; what was taken back before is forgotten.

    A patch that changes nothing is no step.
    Raises: ProfileError, if the patch does not fit
    """
    after = patched(history.present, patch)
    if after == history.present:
        return history
    step = Change(label=label, does=patch, undoes=reversal(history.present, patch))
    return History(present=after, past=(*history.past, step)[-KEPT:], future=())


def undone(history: History) -> History:
    """One step back; the same history if there is none."""
    if not history.past:
        return history
    *past, step = history.past
    return History(
        present=patched(history.present, step.undoes),
        past=tuple(past),
        future=(step, *history.future),
    )


def redone(history: History) -> History:
    """One step forward again; the same history if nothing was taken back."""
    if not history.future:
        return history
    step, *future = history.future
    return History(
        present=patched(history.present, step.does),
        past=(*history.past, step),
        future=tuple(future),
    )
