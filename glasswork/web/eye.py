"""What the eye found on its sheet, as it is typed in: pure functions over frozen values."""

from __future__ import annotations

from typing import Any

import msgspec

from glasswork.calibrate.byeye import COVERS, INKS, STEPS
from glasswork.errors import CalibrationError
from glasswork.readers.eye_answers import EyeAnswersFile

ROWS = tuple(f"{ink}-{cover}" for ink in INKS for cover in COVERS)
"""The rows of the sheet, by the names printed beside them."""


def matched(answers: EyeAnswersFile, row: str, text: str) -> EyeAnswersFile:
    """The answers with a row's step as it was typed; nothing takes it out.

    Raises: CalibrationError, if it is no step of the sheet
    """
    others = {key: step for key, step in answers.matches.items() if key != row}
    if text.strip():
        others[row] = _step(row, text)
    return msgspec.structs.replace(answers, matches={r: others[r] for r in ROWS if r in others})


def _step(row: str, text: str) -> float:
    where, hint = f"row {row}", "halves lie between two steps: 7.5"
    try:
        step = float(text.strip().replace(",", "."))
    except ValueError:
        raise CalibrationError(where, f'"{text.strip()[:20]}" is no number', hint) from None
    if not 1.0 <= step <= STEPS:
        raise CalibrationError(where, f"step {step:g} is not between 1 and {STEPS}", hint)
    return step


def limited(answers: EyeAnswersFile, ink_limit: float | None) -> EyeAnswersFile:
    """The answers with the ink limit of the last good square, 2.4 for 240 %; None leaves it."""
    return msgspec.structs.replace(answers, ink_limit=ink_limit)


def missing(answers: EyeAnswersFile) -> int:
    """How many rows have no step yet."""
    return sum(row not in answers.matches for row in ROWS)


def told(answers: EyeAnswersFile) -> bytes:
    """The answers as the TOML file that `glasswork calibrate --by-eye` reads."""
    plain: dict[str, Any] = msgspec.to_builtins(answers)
    return msgspec.toml.encode({key: value for key, value in plain.items() if value is not None})
