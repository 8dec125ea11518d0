"""A book for every test that asks for one."""

from __future__ import annotations

from pathlib import Path

import pytest

from moldwin.learn.book import add_trials
from tests.learn.sample import FULL, trial


@pytest.fixture
def book(tmp_path) -> Path:
    """A book with three trials."""
    path = tmp_path / "trials.sqlite"
    add_trials(path, [trial(**FULL), trial(), trial(barrel_c=130.0, filled=True)])
    return path
