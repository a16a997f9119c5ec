"""What the eye found on the sheet, typed into a TOML file."""

from __future__ import annotations

import msgspec

from glasswork.readers.toml import decode_toml


class EyeAnswersFile(msgspec.Struct, frozen=True, kw_only=True):
    """matches : row of the sheet ("cyan-25") to the step; ink_limit : 2.4 for 240 %"""

    matches: dict[str, float]
    ink_limit: float | None = None


def read_eye_answers(data: bytes, *, where: str) -> EyeAnswersFile:
    """The answers in a TOML file.

    Raises: ProfileError, if a key is unknown or no number
    """
    return decode_toml(data, EyeAnswersFile, where=where)
