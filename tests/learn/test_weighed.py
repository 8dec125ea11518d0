"""Weighings move the draws: the linear update against weights, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.draws import Draws, importance_weights
from moldwin.inputs.errors import InputError
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.learn.weighed import move_draws, taken_up


def _read(grams, hours=None):
    hours = range(len(grams)) if hours is None else hours
    times = tuple(3600.0 * hour for hour in hours)
    return JarWeighings("m.csv", times, tuple(1e-3 * g for g in grams), 1e-5)


def test_changes_are_per_mass_of_the_pellets_and_the_tray_does_not_matter():
    plain = taken_up(_read((100.0, 98.0, 97.0)), 0.1, 0.0, 0.12, 0.0)
    on_tray = taken_up(_read((140.0, 138.0, 137.0)), 0.1, 0.0, 0.12, 0.0)
    unknown = taken_up(_read((140.0, 138.0, 137.0)), None, 0.04, 0.12, 0.0)
    for found in (plain, on_tray, unknown):
        assert found.taken == pytest.approx([-0.02, -0.03])
        assert found.times.tolist() == [3600.0, 7200.0]
        assert found.hours == 2.0


def test_a_coarse_scale_is_less_sure():
    fine, coarse = (
        taken_up(_read((100.0, 98.0, 97.0)), 0.1, 0.0, 0.12, step) for step in (1e-5, 1e-3)
    )
    assert np.all(coarse.errors > fine.errors)


def test_many_weighings_are_thinned_to_eight_that_span_them():
    found = taken_up(_read(np.linspace(100.0, 97.0, 60)), 0.1, 0.0, 0.12, 0.0)
    assert len(found.times) == 8
    assert found.times[-1] == 59 * 3600.0


@pytest.mark.parametrize(
    ("grams", "mass", "tray", "says"),
    [
        ((80.0, 79.0), 0.1, 0.0, "less than the pellets alone"),
        ((30.0, 29.0), None, 0.04, "less than the empty tray"),
        ((100.0, 70.0), 0.1, 0.0, "cannot; was something added"),
        ((100.0, 250.0), 0.1, 0.0, "cannot; was something added"),
    ],
)
def test_what_cannot_be_of_these_pellets_is_refused(grams, mass, tray, says):
    with pytest.raises(InputError, match=says):
        taken_up(_read(grams), mass, tray, 0.12, 0.0)


def test_the_linear_update_agrees_with_weights():
    """One rate, one reading: what shifting and what weighing make of it."""
    draws = Draws(seed=3, count=4096)
    weighed = taken_up(_read((100.0, 99.2), hours=(0, 5)), 0.1, 0.0, 0.12, 5e-4)

    def predict(on):
        return -0.010 * np.exp(0.4 * on.scores("rate"))[:, None]

    prior = predict(draws)[:, 0]
    weights = importance_weights(prior, float(weighed.taken[0]), float(weighed.errors[0]))
    by_weights = float(weights @ prior)
    spread = float(np.sqrt(weights @ (prior - by_weights) ** 2))
    move_draws(draws, ["rate"], weighed, predict)
    moved = predict(draws)[:, 0]
    assert moved.mean() == pytest.approx(by_weights, abs=0.15 * spread)
    assert moved.std() == pytest.approx(spread, rel=0.25)


def test_far_and_effective():
    weighed = taken_up(_read((100.0, 99.0)), 0.1, 0.0, 0.12, 1e-5)
    near = np.linspace(-0.012, -0.008, 50)[:, None]
    assert not weighed.far_from(near)
    assert weighed.far_from(near - 0.05)
    assert 1.0 <= weighed.effective(near) <= 50.0
