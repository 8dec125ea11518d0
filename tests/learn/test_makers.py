"""Synthetic makers: the truth lies inside the 90 % interval about nine times in ten.

A few here; ``python -m tests.learn.makers 200`` reports the whole.
"""

from __future__ import annotations

import pytest

from tests.learn.makers import covered, maker

_MAKERS = 24
#: At 90 %, fewer of 24 makers than this would come once in a thousand times.
_FEWEST = 16


@pytest.fixture(scope="module")
def results():
    return covered([maker(seed) for seed in range(_MAKERS)])


def test_truth_lies_inside(results):
    for name, found in results.items():
        fewest = _FEWEST if found["makers"] == _MAKERS else _FEWEST // 2 - 1
        assert found["inside"] * found["makers"] >= fewest, name


def test_intervals_narrow_where_trials_tell(results):
    """A wide interval holds every truth: these must have become narrower by a fifth at least."""
    for name in ("browning limit", "glass transition", "fill margin at 125 °C"):
        assert results[name]["narrowed_to"] < 0.8, name
