"""What is said of a book that will not do, and that nothing was touched."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from moldwin.inputs.errors import InputError
from moldwin.learn.book import add_trials, read_trials, undo_last
from tests.learn.sample import trial

__all__ = ["ACTS", "adding", "content", "says"]


def says(path: object, act=read_trials) -> str:
    """What is said of a book that will not do; the file must stay as it was."""
    before = content(path)
    with pytest.raises(InputError) as caught:
        act(path)
    assert content(path) == before
    (fault,) = caught.value.faults
    return str(fault)


def content(path: object) -> object:
    try:
        return Path(str(path)).read_bytes(), sorted(os.listdir(Path(str(path)).parent))
    except (OSError, ValueError):
        return None


def adding(path: object) -> object:
    return add_trials(path, [trial(barrel_c=140.0)])


#: All that is done with a book.
ACTS = pytest.mark.parametrize("act", [read_trials, adding, undo_last])
