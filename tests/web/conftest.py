"""One server and one browser for the tests that only read or add projects."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Server, browsing, serving


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    with browsing() as context:
        yield context


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A tab; an error in its scripts, or a request to anywhere else, fails the test."""
    tab = browser.new_page()
    faults: list[str] = []
    tab.on("pageerror", lambda error: faults.append(str(error)))
    tab.on(
        "request",
        lambda request: (
            None
            if request.url.startswith(("http://127.0.0.1:", "data:", "blob:"))
            else faults.append(f"asks {request.url}")
        ),
    )
    yield tab
    tab.close()
    assert faults == []


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    """A drawing with a lead that stops short, and one drawn twice (invented)."""
    path = tmp_path / "reed-gate.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="120mm" viewBox="0 0 90 120">'
        '<g fill="none" stroke="#000"><rect x="3" y="3" width="84" height="114" stroke-width="4"/>'
        '<path d="M45 3V117" stroke-width="1"/><path d="M45 3V117" stroke-width="1"/>'
        '<path d="M3 40H45" stroke-width="1"/><path d="M3 80H43.9" stroke-width="1"/>'
        '<path d="M45 60H87" stroke-width="1"/></g></svg>'
    )
    return path
