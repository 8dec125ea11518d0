"""What trials would teach, where the answer is known beforehand."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.learn.effort import EVENING_MIN, Effort, effort_of, evenings_of
from moldwin.learn.gains import (
    expected_best_chance,
    expected_success,
    expected_variance,
    reweighed,
)
from moldwin.learn.possible import Possible

COUNT, TRUTHS = 1500, 200


@pytest.fixture
def known():
    """A normal unknown, and the truths taken from it."""
    return np.random.default_rng(3).normal(size=COUNT), np.arange(TRUTHS)


def shown(unknown, truths, error):
    """Log-likelihood of a reading with this error, drawn for each truth."""
    noise = np.random.default_rng(4).normal(size=len(truths)) * error
    reading = unknown[truths] + noise
    return -0.5 * ((reading[:, None] - unknown) / error) ** 2


def test_a_trial_that_tells_nothing_leaves_the_spread(known):
    unknown, truths = known
    weights = reweighed(np.zeros((TRUTHS, COUNT)), truths)
    assert expected_variance(weights, unknown[:, None])[0] == pytest.approx(unknown.var(), rel=0.01)


@pytest.mark.parametrize("error", [0.3, 1.0, 3.0])
def test_a_normal_reading_leaves_what_the_textbook_says(known, error):
    unknown, truths = known
    weights = reweighed(shown(unknown, truths, error), truths)
    left = expected_variance(weights, unknown[:, None])[0]
    assert left == pytest.approx(1.0 / (1.0 + 1.0 / error**2), rel=0.1)


def test_two_trials_are_the_sum_of_their_logarithms(known):
    unknown, truths = known
    one, two = shown(unknown, truths, 1.0), shown(unknown, truths, 0.5)
    both = reweighed(one + two, truths)
    alone = reweighed(one, truths) * reweighed(two, truths)
    assert both == pytest.approx(alone / alone.sum(axis=1, keepdims=True))


def test_a_truth_does_not_count_for_itself(known):
    unknown, truths = known
    weights = reweighed(shown(unknown, truths, 1.0), truths)
    assert np.all(weights[truths, truths] == 0.0)
    assert weights.sum(axis=1) == pytest.approx(1.0)


def test_knowing_all_lets_everybody_choose_what_works_for_them():
    works = np.array([[1.0, 0.0, 1.0, 0.0], [0.0, 1.0, 0.0, 1.0]])
    none, all_known = np.full((4, 4), 0.25), np.eye(4)
    assert expected_best_chance(none, works) == 0.5
    assert expected_best_chance(all_known, works) == 1.0


def test_a_good_trial_needs_no_second():
    works = np.zeros((1, 3))
    weights = np.full((3, 3), 1 / 3)
    assert expected_success(weights, works, np.ones(3)) == 1.0
    assert expected_success(weights, works, np.zeros(3)) == 0.0


def a_setting(moisture=0.1, wait=0.0, soak=300.0):
    return Possible(moisture, 400.0, soak, 333.0, 0.5, np.array([True]), 0.002, wait)


def test_pellets_conditioned_for_one_trial_serve_the_next():
    there, jar = a_setting(), a_setting(0.08, wait=9.0)
    assert effort_of(there).wait == 0.0
    assert effort_of(jar).wait == 9.0
    assert effort_of(jar).minutes > effort_of(there).minutes
    assert effort_of(jar, [jar]) == effort_of(there)


def test_a_longer_soak_takes_longer():
    assert (
        effort_of(a_setting(soak=1200.0)).minutes == effort_of(a_setting(soak=600.0)).minutes + 10
    )


def test_an_evening_is_full_sooner_or_later():
    assert evenings_of([]) == 0
    assert evenings_of([Effort(30.0, 0.0, 1.0)]) == 1
    assert evenings_of([Effort(EVENING_MIN, 0.0, 1.0)]) == 2
