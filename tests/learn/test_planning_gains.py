"""What trials would teach, where the answer is known beforehand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.inputs.read_job import read_job
from moldwin.learn.effort import EVENING_MIN, SETTLING_MIN, Effort, effort_of, evenings_of
from moldwin.learn.gains import (
    StraightLines,
    Tells,
    expected_best_chance,
    expected_success,
    reweighed,
    told_by,
)
from moldwin.learn.outcomes import Foresight, Setting, log_likelihood, simulate
from moldwin.learn.possible import Possible, possible_trials
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup
from tests.jobs import BAR, KELP

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


def expected_variance(weights, target):
    """What is left of a variance by weighing, averaged over the truths: the other way to it."""
    mean = weights @ target
    return (weights @ target**2 - mean**2).mean(axis=0)


def test_a_trial_that_tells_nothing_leaves_the_spread(known):
    unknown, truths = known
    weights = reweighed(np.zeros((TRUTHS, COUNT)), truths)
    assert expected_variance(weights, unknown) == pytest.approx(unknown.var(), rel=0.01)


@pytest.mark.parametrize("error", [0.3, 1.0, 3.0])
def test_a_normal_reading_leaves_what_the_textbook_says(known, error):
    unknown, truths = known
    weights = reweighed(shown(unknown, truths, error), truths)
    left = expected_variance(weights, unknown)
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


# -- straight lines ----------------------------------------------------------------------------


@pytest.mark.parametrize("error", [0.3, 1.0, 3.0])
def test_straight_lines_leave_of_a_normal_reading_what_the_textbook_says(known, error):
    unknown, _ = known
    lines = StraightLines(unknown[:, None])
    reading = Tells(unknown[None], np.array([error**2]))
    for again in (1, 2, 3):  # the same reading anew is worth as much each time
        left = unknown.var() / (1.0 + again * unknown.var() / error**2)
        assert lines.left(reading)[0] == pytest.approx(left, rel=1e-6)
        lines.learn(reading)
        assert lines.variance[0] == pytest.approx(left, rel=1e-6)


def test_straight_lines_learn_nothing_from_what_has_no_part_in_it(known):
    unknown, _ = known
    other = np.random.default_rng(9).normal(size=(1, COUNT))
    left = StraightLines(unknown[:, None]).left(Tells(other, np.array([0.1])))
    assert left[0] == pytest.approx(unknown.var(), rel=0.02)


def test_two_readings_learned_in_either_order_leave_the_same(known):
    unknown, _ = known
    rng = np.random.default_rng(5)
    readings = [Tells((unknown + rng.normal(size=COUNT))[None], np.array([u])) for u in (0.1, 2.0)]
    left = []
    for order in (readings, readings[::-1]):
        lines = StraightLines(np.stack([unknown, unknown**2], axis=1))
        for reading in order:
            lines.learn(reading)
        left.append(lines.variance)
    assert left[0] == pytest.approx(left[1])


@pytest.mark.parametrize("source", [BAR, KELP], ids=["bar", "kelp"])
def test_straight_lines_agree_with_weighing_on_what_one_trial_leaves(source):
    """The window's ends by two ways that share no code: within 15 % each, and in the same order."""
    setup = Setup(Bench(read_job(source), count=512))
    ground, foresight = possible_trials(setup), Foresight(setup)
    truths, ends = np.arange(200), ground.edges
    ways = []
    for one in ground.open[:: max(1, len(ground.open) // 12)]:
        foreseen = foresight.at(Setting(one.moisture, one.barrel, one.soak, one.mold))
        rng = np.random.default_rng(1)
        logs = [log_likelihood(foreseen, simulate(foreseen, int(i), rng)) for i in truths]
        weighed = expected_variance(reweighed(np.array(logs), truths), ends - ends.mean(axis=0))
        lines = StraightLines(ends).left(told_by(foreseen))
        ways.append(np.sqrt([weighed.mean(), lines.mean()]))
    weighed, lines = np.array(ways).T
    assert lines == pytest.approx(weighed, rel=0.15)
    assert np.corrcoef(weighed, lines)[0, 1] > 0.7


@pytest.mark.parametrize("limit", ["weld", "fill", "browning", "steam"])
def test_every_limit_that_makes_an_end_of_the_window_is_told_by_some_reading(limit):
    foreseen = Foresight(Setup(Bench(read_job(BAR), count=64))).at(Setting(0.10, 403.15, 420.0))
    margin = foreseen.barrel[limit]
    worse = replace(foreseen, barrel=foreseen.barrel | {limit: margin - 2.0 * margin.max()})
    before, after = (told_by(one).values for one in (foreseen, worse))
    assert np.abs(after - before).max() > 0.1


# -- what it costs -----------------------------------------------------------------------------


def a_setting(moisture=0.1, wait=0.0, soak=300.0, barrel=400.0):
    return Possible(moisture, barrel, soak, 333.0, 0.5, np.array([True]), 0.002, wait)


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


def test_a_part_that_cools_and_a_barrel_that_settles_take_their_time():
    one, hotter = a_setting(), a_setting(barrel=420.0)
    assert effort_of(one, cooling=120.0).minutes == effort_of(one).minutes + 2.0
    assert effort_of(hotter, [one]).minutes == effort_of(one, [one]).minutes + SETTLING_MIN


def test_without_the_press_an_evening_holds_more():
    assert evenings_of([Effort(EVENING_MIN, 0.0, 0.0, hot=False)]) == 1
    assert evenings_of([Effort(EVENING_MIN, 0.0, 0.0)]) == 2


def test_an_evening_is_full_sooner_or_later():
    assert evenings_of([]) == 0
    assert evenings_of([Effort(30.0, 0.0, 1.0)]) == 1
    assert evenings_of([Effort(EVENING_MIN, 0.0, 1.0)]) == 2
