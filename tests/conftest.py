"""Fixtures that every test folder may use."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return Path(__file__).parents[1]
