"""Drawings that make no window: every one in tests/designs/refused says what its .error says."""

from __future__ import annotations

from pathlib import Path

import pytest

from glasswork.drawing.make import make_window
from glasswork.errors import GlassworkError
from glasswork.model.window import Sizing
from glasswork.readers.design import read_design

FOLDER = Path(__file__).parents[1] / "designs" / "refused"


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.svg")), ids=lambda p: p.stem)
def test_refused_with_these_words(path: Path) -> None:
    with pytest.raises(GlassworkError) as caught:
        make_window(read_design(path.read_bytes(), name=path.name), roles={}, sizing=Sizing())
    assert str(caught.value) == path.with_suffix(".error").read_text("utf-8").strip()


def test_deep_nesting_is_refused() -> None:
    for depth, said in ((300, "deeper than 200"), (5000, "deeper than 1000")):
        body = "<g>" * depth + '<path d="M1 1H9V9H1Z"/>' + "</g>" * depth
        data = f'<svg xmlns="http://www.w3.org/2000/svg" width="9mm">{body}</svg>'.encode()
        with pytest.raises(GlassworkError, match=said):
            read_design(data, name="deep.svg")


def test_a_use_that_uses_itself_is_refused() -> None:
    data = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9">'
        b'<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></svg>'
    )
    with pytest.raises(GlassworkError, match="deeper than 200"):
        read_design(data, name="ring.svg")


def test_uses_that_multiply_are_refused() -> None:
    groups = "".join(
        f'<g id="g{n}">' + f'<use href="#g{n - 1}"/>' * 10 + "</g>" for n in range(1, 9)
    )
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"><defs>'
        f'<path id="g0" d="M1 1H8V8Z"/>{groups}</defs><use href="#g8"/></svg>'
    ).encode()
    with pytest.raises(GlassworkError, match="more than"):
        read_design(data, name="many.svg")


def test_a_decompression_bomb_is_refused() -> None:
    import gzip

    data = gzip.compress(b"<svg>" + b" " * 300_000_000, compresslevel=9)
    assert len(data) < 1_000_000
    with pytest.raises(GlassworkError, match="more than 256 MB"):
        read_design(data, name="bomb.svgz")


def test_a_million_nodes_are_refused_in_time() -> None:
    import time

    zigzag = "".join(f"L{n % 1000} {n // 1000}" for n in range(1_000_000))
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" height="1000mm" '
        f'viewBox="0 0 1000 1000"><path fill="none" stroke="#000" d="M0 0{zigzag}Z"/></svg>'
    ).encode()
    started = time.perf_counter()
    with pytest.raises(GlassworkError, match="more than 400000 corners"):
        make_window(read_design(data, name="zigzag.svg"), roles={}, sizing=Sizing())
    assert time.perf_counter() - started < 60.0


@pytest.mark.parametrize(
    "roles",
    [{"reed": "stem"}, {"stroke>=2": "leading"}],
)
def test_unknown_roles_list_the_known_ones(roles: dict[str, str]) -> None:
    data = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" viewBox="0 0 60 80">'
        b'<rect x="2" y="2" width="56" height="76" fill="none" stroke="#000" stroke-width="3"/>'
        b"</svg>"
    )
    with pytest.raises(GlassworkError, match="known: border, mullion, bar, lead, paint"):
        make_window(read_design(data, name="a.svg"), roles=roles, sizing=Sizing())


def test_a_clearance_that_leaves_nothing_is_refused() -> None:
    data = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" viewBox="0 0 60 80">'
        b'<rect x="2" y="2" width="56" height="76" fill="none" stroke="#000" stroke-width="3"/>'
        b"</svg>"
    )
    sizing = Sizing(opening_mm=(40.0, 50.0), clearance_mm=25.0)
    with pytest.raises(GlassworkError, match="leaves nothing"):
        make_window(read_design(data, name="a.svg"), roles={}, sizing=sizing)


@pytest.mark.parametrize(
    "path",
    ["M5 5L5 5", "M5 5Z", "M5 5L9 5L5 5Z", "M5 5L9 5L7 5Z", "M5 5L5.0000001 5L5 5.0000001Z"],
)
def test_lines_without_extent_are_refused_not_tripped_over(path: str) -> None:
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" viewBox="0 0 60 80">'
        f'<path d="{path}" fill="none" stroke="#000" stroke-width="1"/></svg>'
    ).encode()
    with pytest.raises(GlassworkError, match=r"a\.svg"):
        make_window(read_design(data, name="a.svg"), roles={}, sizing=Sizing())
