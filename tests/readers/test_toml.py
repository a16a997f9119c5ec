"""Strict TOML: unknown keys, wrong types and broken files, each with its place."""

from __future__ import annotations

import msgspec
import pytest

from glasswork.errors import Faults, ProfileError
from glasswork.readers.toml import decode_toml


class _Part(msgspec.Struct, frozen=True):
    width: float
    note: str = ""


class _File(msgspec.Struct, frozen=True):
    name: str
    part: tuple[_Part, ...] = ()
    free: dict[str, str] = msgspec.field(default_factory=dict)
    pair: tuple[float, float] | None = None


def _decode(text: str) -> _File:
    return decode_toml(text.encode(), _File, where="ferry.toml")


def test_reads_what_is_right() -> None:
    found = _decode('name = "pilot"\npair = [1, 2.5]\n[[part]]\nwidth = 3\n[free]\nx = "y"\n')
    assert found == _File("pilot", (_Part(3.0),), {"x": "y"}, (1.0, 2.5))


def test_byte_order_mark_and_windows_line_ends_are_read() -> None:
    assert decode_toml(b'\xef\xbb\xbfname = "a"\r\n', _File, where="f").name == "a"


@pytest.mark.parametrize(
    ("text", "where", "what", "hint"),
    [
        ('nmae = "a"\nname = "b"', "ferry.toml", 'unknown key "nmae"', 'did you mean "name"?'),
        (
            'name = "a"\n[[part]]\nwidth = 1\n[[part]]\nwidht = 1',
            "ferry.toml, part[1]",
            'unknown key "widht"',
            "valid keys: width, note",
        ),
        ("pair = [1, 2]", "ferry.toml", '"name" is missing', ""),
        ('name = "a"\npair = [1]', "ferry.toml, pair", "length 2", ""),
        (
            'name = "a"\n[[part]]\nwidth = "1"',
            "ferry.toml, part[0].width",
            "expected a number, got text",
            "",
        ),
        ('name = "a"\n[[part]]\nwidth = nan', "ferry.toml, part[0].width", "not a finite", ""),
        ('name = "a"\n[free]\nx = 3', "ferry.toml, free", "expected text, got a whole number", ""),
        ("name = 1 2", "ferry.toml", "line 1", ""),
    ],
)
def test_each_fault_names_its_place(text: str, where: str, what: str, hint: str) -> None:
    with pytest.raises(ProfileError) as caught:
        _decode(text)
    assert caught.value.where.startswith(where)
    assert what in caught.value.what
    assert hint in caught.value.hint
    assert "\n" not in str(caught.value)


def test_all_unknown_keys_are_reported_at_once() -> None:
    with pytest.raises(Faults) as caught:
        _decode('name = "a"\none = 1\ntwo = 2')
    assert len(caught.value.faults) == 2


def test_not_utf8_and_too_deep() -> None:
    with pytest.raises(ProfileError, match="not UTF-8"):
        decode_toml(b'name = "\xff"', _File, where="f")
    with pytest.raises(ProfileError, match=r"nested too deeply|not TOML"):
        decode_toml(b"name = " + b"[" * 100_000, _File, where="f")
