"""What is typed of the sheet judged by eye."""

from __future__ import annotations

import re

import pytest

from glasswork.errors import CalibrationError
from glasswork.readers.eye_answers import EyeAnswersFile, read_eye_answers
from glasswork.web.eye import ROWS, limited, matched, missing, told

NONE = EyeAnswersFile(matches={})


def test_rows_are_put_in_and_taken_out() -> None:
    answers = matched(matched(NONE, "yellow-75", "7,5"), "cyan-25", " 13 ")
    assert answers.matches == {"cyan-25": 13.0, "yellow-75": 7.5}
    assert list(answers.matches) == ["cyan-25", "yellow-75"]
    assert missing(answers) == 7
    assert matched(answers, "cyan-25", " ").matches == {"yellow-75": 7.5}
    assert NONE.matches == {}


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("14", "step 14 is not between 1 and 13"),
        ("0.5", "step 0.5 is not between 1 and 13"),
        ("nan", "step nan is not between"),
        ("inf", "step inf is not between"),
        ("seven", '"seven" is no number'),
        ("<b>" * 99, "is no number"),
    ],
)
def test_what_is_no_step_is_refused_with_its_row(text: str, what: str) -> None:
    with pytest.raises(CalibrationError, match=re.escape(what)) as caught:
        matched(NONE, "cyan-25", text)
    assert caught.value.where == "row cyan-25"
    assert "7.5" in caught.value.hint
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("limit", [None, 2.4])
def test_the_command_line_reads_what_is_kept(limit: float | None) -> None:
    answers = limited(NONE, limit)
    for number, row in enumerate(ROWS, start=1):
        answers = matched(answers, row, str(number + 0.5))
    assert read_eye_answers(told(answers), where="eye.toml") == answers
