"""The one strict TOML decoder: every profile and project file goes through it."""

from __future__ import annotations

import re
import tomllib
from difflib import get_close_matches
from math import isfinite
from typing import Any, Final, TypeVar

import msgspec
from msgspec import inspect

from glasswork.errors import GlassworkError, ProfileError, raise_all

T = TypeVar("T")


def decode_toml(data: bytes, type_: type[T], *, where: str) -> T:
    """A TOML file as a typed object.

    data : UTF-8 text, with or without a byte order mark
    type_ : a msgspec Struct (or anything msgspec can convert to)
    where : the file's name, for messages

    Unknown keys are refused whatever the Struct's own setting, each with the keys that are valid
    in its place; so are numbers that are not finite.

    Raises: ProfileError, or Faults where several keys are wrong
    """
    table = _table(data, where=where)
    raise_all(_faults(table, inspect.type_info(type_), where=where, path=""))
    try:
        return msgspec.convert(table, type_)
    except msgspec.ValidationError as exc:
        what, key = in_plain_words(exc)
        choices = _choices(inspect.type_info(type_), key) if "enum value" in what else ()
        hint = f"choose one of: {', '.join(choices)}" if choices else "correct this key"
        raise ProfileError(_place(where, key), what, hint) from exc


def _table(data: bytes, *, where: str) -> dict[str, Any]:
    try:
        return tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n"))
    except UnicodeDecodeError as exc:
        raise ProfileError(
            where, f"byte {exc.start} is not UTF-8 text", "save the file as UTF-8"
        ) from exc
    except tomllib.TOMLDecodeError as exc:
        raise ProfileError(where, f"not TOML: {exc}", "mend the file at that place") from exc
    except RecursionError as exc:
        raise ProfileError(where, "nested too deeply", "this is not a profile") from exc


def _place(where: str, key: str) -> str:
    return f"{where}, {key}" if key else where


_WORDS: Final = {
    "int": "a whole number",
    "float": "a number",
    "str": "text",
    "bool": "true or false",
    "array": "a list",
    "object": "a table",
    "null": "nothing",
}
"""msgspec's names of kinds in a maker's words."""


def in_plain_words(fault: msgspec.ValidationError) -> tuple[str, str]:
    """What is wrong with a value, in a maker's words, and the key it stands under."""
    what, _, path = str(fault).partition(" - at `$")
    missing = what.removeprefix("Object missing required field ")
    if missing != what:
        return f"{missing} is missing".replace("`", '"'), path.rstrip("`").lstrip(".")
    told = re.sub(r"`([a-z| ]+)`", lambda kinds: _kinds(kinds[1]), what).replace("`", '"')
    return told[0].lower() + told[1:], path.rstrip("`").lstrip(".")


def _kinds(names: str) -> str:
    """ "int | null" as "a whole number"; a name of no kind stays in quotes."""
    found = [name for name in names.split(" | ") if name != "null"] or ["null"]
    if any(name not in _WORDS for name in found):
        return f'"{names}"'
    return " or ".join(_WORDS[name] for name in found)


def _faults(value: Any, kind: inspect.Type, *, where: str, path: str) -> list[GlassworkError]:
    """Unknown keys and numbers that are not finite, anywhere below."""
    if isinstance(value, float) and not isfinite(value):
        return [
            ProfileError(_place(where, path), f"{value} is not a finite number", "give a number")
        ]
    if isinstance(value, list):
        inner = _item(kind)
        return [
            fault
            for number, item in enumerate(value)
            if not (isinstance(item, float) and isfinite(item))
            for fault in _faults(item, inner, where=where, path=f"{path}[{number}]")
        ]
    if not isinstance(value, dict):
        return []
    known = _keys(kind)
    faults: list[GlassworkError] = []
    for key, item in value.items():
        below = f"{path}.{key}" if path else key
        if known is not None and key not in known:
            faults.append(_unknown(key, known, where=_place(where, path)))
            continue
        inner = known[key] if known is not None else _item(kind)
        faults += _faults(item, inner, where=where, path=below)
    return faults


def _unknown(key: str, known: dict[str, inspect.Type], *, where: str) -> ProfileError:
    near = get_close_matches(key, known, n=1)
    meant = f'did you mean "{near[0]}"? ' if near else ""
    return ProfileError(where, f'unknown key "{key}"', f"{meant}valid keys: {', '.join(known)}")


def _structs(kind: inspect.Type) -> list[inspect.StructType]:
    if isinstance(kind, inspect.StructType):
        return [kind]
    if isinstance(kind, inspect.UnionType):
        return [found for part in kind.types for found in _structs(part)]
    return []


def _keys(kind: inspect.Type) -> dict[str, inspect.Type] | None:
    """The keys a table may have here; None if any will do."""
    structs = _structs(kind)
    if not structs:
        return None
    return {field.encode_name: field.type for struct in structs for field in struct.fields}


def _choices(kind: inspect.Type, path: str) -> tuple[str, ...]:
    """The values that may stand under a key, as TOML writes them; none where any may."""
    for part in re.findall(r"[^.\[\]]+|\[", path):
        if part == "[":
            kind = _item(kind)
        elif part.strip(".").isidentifier():
            kind = (_keys(kind) or {}).get(part, inspect.AnyType())
    parts = kind.types if isinstance(kind, inspect.UnionType) else (kind,)
    values = [v for one in parts if isinstance(one, inspect.LiteralType) for v in one.values]
    values += [e.value for one in parts if isinstance(one, inspect.EnumType) for e in one.cls]
    return tuple(f'"{value}"' if isinstance(value, str) else f"{value}" for value in values)


def _item(kind: inspect.Type) -> inspect.Type:
    """The type of what a list or a free table holds; "any" where that is not one type."""
    if isinstance(kind, inspect.DictType):
        return kind.value_type
    if isinstance(kind, inspect.ListType | inspect.VarTupleType):
        return kind.item_type
    if isinstance(kind, inspect.UnionType):
        for part in kind.types:
            if isinstance(part, inspect.ListType | inspect.VarTupleType | inspect.DictType):
                return _item(part)
    return inspect.AnyType()
