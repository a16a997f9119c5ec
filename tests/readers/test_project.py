"""Project files: read, refused, and written back equal."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from glasswork.errors import ProfileError
from glasswork.model.project import Project
from glasswork.model.window import Role
from glasswork.readers.project import read_project, scale_factor, sizing_of
from glasswork.writers.project import write_project


def test_every_key_is_read() -> None:
    text = b"""
    design = "ferry.svg"
    films = 2
    opening = [120, 180.5]
    clearance = 0.4
    scale = "1:24"
    [roles]
    "stroke>=2.5" = "bar"
    [glass]
    P1 = "ruby"
    [members]
    M1 = "printed"
    """
    project = read_project(text, where="ferry.toml")
    assert project.films == 2
    assert project.opening == (120.0, 180.5)
    assert project.glass == {"P1": "ruby"}
    assert project.roles == {"stroke>=2.5": "bar"}
    sizing = sizing_of(project, where="ferry.toml")
    assert sizing.scale == pytest.approx(1 / 24)
    assert sizing.opening_mm == (120.0, 180.5)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('design="a.svg"\npallete="x"', "pallete"),
        ('design="a.svg"\nfilms=4', "films"),
        ("films=2", "design"),
        ('design="a.svg"\nwidth=-3', "width -3 mm is not over 0"),
        ('design="a.svg"\nwidth=nan', "width"),
        ('design="a.svg"\nwidth=30\nopening=[40,50]', "both say the size"),
        ('design="a.svg"\nopening=[4,50]\nclearance=2', "leaves nothing"),
        ('design="a.svg"\nscale="1:0"', "scale"),
        ('design="a.svg"\n[members]\nm="glued"', "glued"),
        ("design = ", "wrong.toml"),
    ],
)
def test_wrong_projects_are_refused(text: str, said: str) -> None:
    with pytest.raises(ProfileError) as caught:
        read_project(text.encode(), where="wrong.toml")
    assert said in str(caught.value)
    assert "wrong.toml" in str(caught.value)


@pytest.mark.parametrize(("text", "factor"), [("1:24", 1 / 24), ("1/12", 1 / 12), ("0.5", 0.5)])
def test_scales(text: str, factor: float) -> None:
    assert scale_factor(text, where="t") == pytest.approx(factor)


_WORD = st.text("abcdefghij-", min_size=1, max_size=8)


@given(
    palette=_WORD,
    films=st.sampled_from(["auto", 1, 2, 3]),
    width=st.none() | st.floats(1, 500),
    glass=st.dictionaries(_WORD, _WORD, max_size=3),
)
def test_written_projects_read_back_equal(
    palette: str, films: object, width: float | None, glass: dict[str, str]
) -> None:
    project = msgspec.convert(
        {"design": "d.svg", "palette": palette, "films": films, "width": width, "glass": glass},
        Project,
    )
    assert read_project(write_project(project), where="t") == project


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ('films = "1"', {'"auto"', "1", "2", "3"}),
        ('ink_faces = "up"', {'"front"', '"back"', '"together"'}),
        ('[member_roles]\nL0404 = "beam"', {f'"{role}"' for role in Role}),
    ],
)
def test_a_wrong_choice_is_told_the_right_ones(text: str, choices: set[str]) -> None:
    with pytest.raises(ProfileError) as refused:
        read_project(f'design = "a.svg"\n{text}\n'.encode(), where="a.toml")
    told = refused.value.hint.removeprefix("choose one of: ")
    assert set(told.split(", ")) == choices
