"""The error tree and its one-line form."""

from __future__ import annotations

import pytest

from glasswork import errors
from glasswork.errors import DrawingError, Faults, GlassworkError, ReadError, raise_all


def test_a_fault_says_where_what_and_what_to_do() -> None:
    fault = DrawingError("rose.svg, pane B7", "0.2 mm² is under 0.5 mm²", "merge it")
    assert str(fault) == "rose.svg, pane B7: 0.2 mm² is under 0.5 mm²; merge it"


def test_several_faults_are_raised_once_and_flattened() -> None:
    first, second, third = (ReadError("a", "x"), DrawingError("b", "y"), ReadError("c", "z"))
    with pytest.raises(Faults) as caught:
        raise_all([first, Faults([second, third])])
    assert caught.value.each() == (first, second, third)
    assert str(caught.value).splitlines() == ["a: x", "b: y", "c: z"]


def test_one_fault_is_raised_as_itself_and_none_not_at_all() -> None:
    raise_all([])
    with pytest.raises(ReadError):
        raise_all([ReadError("a", "x")])


def test_the_tree_in_the_docstring_is_the_tree() -> None:
    classes = {
        name
        for name, thing in vars(errors).items()
        if isinstance(thing, type) and issubclass(thing, GlassworkError)
    }
    for name in classes:
        assert name in (errors.__doc__ or "")
