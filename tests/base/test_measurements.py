"""What a measurement teaches: the linear shift, importance weights, and whether they agree."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.draws import DEFAULT_COUNT, Draws, effective_size, importance_weights
from moldwin.inputs.files import shipped
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.stages.state import Material


def _weighted(samples, weights):
    mean = float(weights @ samples)
    return mean, float(np.sqrt(weights @ (samples - mean) ** 2))


@pytest.mark.parametrize(("observed", "u"), [(3.0, 1.0), (-1.0, 0.3), (0.5, 5.0)])
def test_a_linear_gaussian_case_has_the_textbook_answer(observed, u):
    draws = Draws()
    prior = 2.0 * draws.scores("a") + 1.0 * draws.scores("b")
    draws.shift(["a", "b"], prior, observed, u)
    after = 2.0 * draws.scores("a") + 1.0 * draws.scores("b")
    variance = 1.0 / (1.0 / 5.0 + 1.0 / u**2)  # Bayes for two normals, by hand
    sd = np.sqrt(variance)
    assert after.mean() == pytest.approx(variance * observed / u**2, abs=3 * sd / 2048**0.5)
    # the standard error of a standard deviation is 1/sqrt(2n) of it
    assert after.std() == pytest.approx(sd, rel=3 / (2 * 2048) ** 0.5)


def test_each_column_moves_by_its_own_part():
    draws = Draws()
    predicted = 2.0 * draws.scores("a") + 1.0 * draws.scores("b")
    draws.shift(["a", "b", "c"], predicted, 4.0, 1.0)
    # the gain is covariance over variance: 2/6 and 1/6 of the reading, nothing for a bystander
    assert draws.scores("a").mean() == pytest.approx(4.0 / 3.0, abs=0.07)
    assert draws.scores("b").mean() == pytest.approx(2.0 / 3.0, abs=0.07)
    assert draws.scores("c").mean() == pytest.approx(0.0, abs=0.07)
    assert draws.scores("c").std() == pytest.approx(1.0, abs=0.05)


def test_shift_and_weights_agree_on_a_linear_gaussian_case():
    draws = Draws(count=8192)
    prior = draws.scores("a") + 0.5 * draws.scores("b")
    weights = importance_weights(prior, 1.2, 0.8)
    size = effective_size(weights)
    assert size > 0.3 * 8192  # otherwise the weights are no judge
    mean, sd = _weighted(prior, weights)
    draws.shift(["a", "b"], prior, 1.2, 0.8)
    after = draws.scores("a") + 0.5 * draws.scores("b")
    assert after.mean() == pytest.approx(mean, abs=3 * sd / size**0.5)
    assert after.std() == pytest.approx(sd, abs=3 * sd / (2 * size) ** 0.5)


def test_a_reading_without_error_pins_the_prediction():
    draws = Draws(count=512)
    prior = draws.scores("a") + draws.scores("b")
    draws.shift(["a", "b"], prior, 1.0, 0.0)
    after = draws.scores("a") + draws.scores("b")
    # what is left is the chance correlation of the two columns, of the order of 1/sqrt(n)
    assert after.std() < 0.05
    assert after.mean() == pytest.approx(1.0, abs=0.01)


def test_a_worthless_reading_changes_nothing_to_speak_of():
    draws = Draws(count=512)
    before = draws.scores("a").copy()
    draws.shift(["a"], before, 50.0, 1e6)
    assert draws.scores("a") == pytest.approx(before, abs=1e-4)


def test_what_has_no_spread_learns_nothing():
    draws = Draws(count=64)
    before = draws.scores("a").copy()
    draws.shift(["a"], np.full(64, 300.0), 310.0, 0.0)
    draws.shift(["a"], np.full(64, 300.0), 310.0, 5.0)
    assert draws.scores("a") == pytest.approx(before, abs=1e-12)


def test_the_order_of_names_does_not_matter():
    one, two = Draws(count=128), Draws(count=128)
    predicted = one.scores("a") - one.scores("b")
    one.shift(["a", "b"], predicted, 1.0, 1.0)
    two.shift(["b", "a", "b"], predicted, 1.0, 1.0)
    assert np.array_equal(one.scores("a"), two.scores("a"))
    assert np.array_equal(one.scores("b"), two.scores("b"))


# ------------------------------------------------------------------ the real case

_REAL = [
    # example, reading °C, u K, moisture of the strip %
    ("kelp-plant-labels.toml", 60.0, 9.0, 8.0),
    ("starch-glycerol-bar.toml", 45.0, 9.0, 10.0),
    ("dry-starch-no-glycerol.toml", 75.0, 9.0, 12.0),
]


def _prior(path, strip):
    """Glass transitions as they stand, and what each sample expects a bend test to read."""
    bench = Bench(read_job(path))
    material = Material(bench)
    w = bench.given("blend.softening_moisture", strip, "kg/kg", u=0.005)
    return material.at(bench.job.pellets.moisture).tg, material.glass_transition(w)


@pytest.mark.parametrize(("name", "reading", "u", "strip"), _REAL, ids=lambda v: str(v))
def test_shift_and_weights_agree_on_a_bend_test(name, reading, u, strip):
    path = shipped("examples") / name
    tg, predicted = _prior(path, strip / 100.0)
    weights = importance_weights(predicted, reading + 273.15, u)
    size = effective_size(weights)
    assert size > 0.15 * DEFAULT_COUNT  # enough to be a judge
    mean, sd = _weighted(tg, weights)
    sets = [
        f"blend.softening_c={reading}",
        f"blend.softening_u_c={u}",
        f"blend.softening_moisture_pct={strip}",
    ]
    told = read_job(path, sets)
    after = Material(Bench(told)).at(told.pellets.moisture).tg
    # three standard errors of the weighted sample: about 1 K for the mean
    assert after.mean() == pytest.approx(mean, abs=3 * sd / size**0.5)
    assert after.std() == pytest.approx(sd, abs=3 * sd / (2 * size) ** 0.5)
    # and the reading was worth something at all
    assert after.std() < 0.75 * tg.std()


# ------------------------------------------------------------------ weights


def test_weights_sum_to_one_even_far_from_every_sample():
    weights = importance_weights(np.linspace(0.0, 1.0, 50), 1e4, 1e-2)
    assert weights.sum() == pytest.approx(1.0)
    assert np.all(np.isfinite(weights))
    assert effective_size(weights) == pytest.approx(1.0, abs=1e-6)


def test_effective_size_runs_from_one_to_all():
    assert effective_size(np.full(400, 1 / 400)) == pytest.approx(400.0)
    assert effective_size(np.eye(400)[7]) == 1.0


def test_weights_follow_the_normal_law():
    weights = importance_weights(np.array([0.0, 1.0, 2.0]), 0.0, 1.0)
    assert weights / weights[0] == pytest.approx(np.exp([0.0, -0.5, -2.0]))
