"""Steps on a project, undone and done again, as pure functions."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glasswork.errors import ProfileError
from glasswork.model.project import Project
from glasswork.web.state import (
    KEPT,
    History,
    Patch,
    cast,
    done,
    glazed,
    made,
    redone,
    surfaced,
    undone,
)

START = History(present=Project(design="d.svg", glass={"A1": "ruby"}))

_names = st.sampled_from(["A1", "A2", "B7"])
_patches = st.one_of(
    st.builds(
        lambda panes, glass: glazed(panes, glass),
        st.sets(_names, min_size=1),
        st.sampled_from(["ruby", "cobalt", None]),
    ),
    st.builds(surfaced, st.sets(_names, min_size=1), st.sampled_from(["seedy", "opal", None])),
    st.builds(cast, st.sets(_names, min_size=1), st.sampled_from(["bar", "border", None])),
    st.builds(made, _names, st.sampled_from(["cut", "printed", None])),
    st.builds(lambda r: Patch(roles={"frame": r}), st.sampled_from(["border", "bar", None])),
    st.builds(lambda f: Patch(values={"films": f}), st.sampled_from(["auto", 1, 2, 3])),
    st.builds(lambda w: Patch(values={"width": w}), st.sampled_from([None, 80.0, 120.0])),
)


def test_a_step_is_put_in_and_taken_back() -> None:
    after = done(START, glazed(["A1", "A2"], "cobalt"), label="cobalt")
    assert after.present.glass == {"A1": "cobalt", "A2": "cobalt"}
    back = undone(after)
    assert back.present.glass == {"A1": "ruby"}
    assert redone(back) == after


@settings(max_examples=60, deadline=None)
@given(st.lists(_patches, max_size=12))
def test_all_undone_is_the_beginning_and_all_redone_the_end(patches: list[Patch]) -> None:
    history = START
    for patch in patches:
        history = done(history, patch, label="step")
    end = history.present
    for _ in patches:
        history = undone(history)
    assert history.present == START.present
    for _ in patches:
        history = redone(history)
    assert history.present == end


@settings(max_examples=30, deadline=None)
@given(st.lists(_patches, max_size=8), st.integers(0, 8))
def test_a_history_is_read_back_as_it_was_written(patches: list[Patch], back: int) -> None:
    history = START
    for patch in patches:
        history = done(history, patch, label="step")
    for _ in range(back):
        history = undone(history)
    assert msgspec.json.decode(msgspec.json.encode(history), type=History) == history


def test_a_new_step_forgets_what_was_taken_back() -> None:
    history = undone(done(START, glazed(["A1"], "cobalt"), label="a"))
    history = done(history, glazed(["A1"], "amber"), label="b")
    assert history.future == ()
    assert redone(history) == history


def test_nothing_changed_is_no_step() -> None:
    assert done(START, glazed(["A1"], "ruby"), label="same") is START


def test_nothing_to_undo_leaves_it_as_it_is() -> None:
    assert undone(START) is START
    assert redone(START) is START


@pytest.mark.parametrize(
    "patch",
    [
        Patch(values={"films": 7}),
        surfaced(["A1"], "velvet"),
        Patch(layers={"lead": "glued"}),  # type: ignore[dict-item]
        Patch(widths={"lead": -1.0}),
        Patch(member_roles={"L0404": "beam"}),  # type: ignore[dict-item]
        Patch(values={"nonsense": 1}),
        Patch(values={"width": -3.0}),
        Patch(values={"width": 50.0, "height": 60.0}),
        Patch(values={"copies": 0}),
    ],
)
def test_what_does_not_fit_is_refused_and_nothing_changes(patch: Patch) -> None:
    with pytest.raises(ProfileError):
        done(START, patch, label="wrong")


def test_the_history_has_an_end() -> None:
    history = START
    for i in range(KEPT + 20):
        history = done(history, glazed(["A1"], f"g{i}"), label=str(i))
    assert len(history.past) == KEPT
