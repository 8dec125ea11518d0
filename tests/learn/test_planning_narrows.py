"""Six trials by plan against six at random; what is fixed beforehand stands in `narrowing`.

A few makers with few samples, to save time; ``python -m tests.learn.narrowing 100`` asks the
hundred.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.learn.narrowing import narrowed, summary

MAKERS, COUNT = 10, 128
WAYS = ("one_by_one", "random")


@pytest.fixture(scope="module")
def found():
    return narrowed(MAKERS, count=COUNT, ways=WAYS)


@pytest.fixture(scope="module")
def said(found):
    return summary(found)


def test_there_are_makers_enough(found):
    assert len(found) == MAKERS
    assert all(one.before > 0.0 for one in found)


def test_six_trials_halve_what_is_not_known(said):
    assert said["one_by_one"]["left"] < 0.5


def test_one_by_one_leaves_most_makers_less_than_random_trials(found):
    assert np.mean([one.one_by_one < one.random for one in found]) > 0.6


def test_planned_trials_narrow_more_than_random_ones(said):
    assert said["one_by_one"]["over_random"] > 1.05


@pytest.mark.xfail(
    strict=True,
    reason="misses by 0.17: 1.33 times, one by one, and 1.22 times, six at once (100 makers, 512"
    " samples, medians; drawing makers anew moves them by 0.05). Random trials leave 0.48 of the"
    " spread: to know all would narrow it 1.93 times as much, and 1.5 times would leave about 0.21."
    " Planned ones leave 0.32. As spread that is left, random trials leave 1.45 times as much",
)
def test_planned_trials_narrow_one_and_a_half_times_as_much_as_random_ones(said):
    assert said["one_by_one"]["over_random"] >= 1.5
