"""Distributions of one number, held against the percentiles of scipy.stats."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtri

from moldwin.base.quantities import STATUSES, Quantity

SHARES = np.array([0.01, 0.05, 0.2, 0.5, 0.8, 0.95, 0.99])
Z = ndtri(SHARES)


def _q(value, **spread):
    return Quantity("card.key", value, "1", **spread)


def test_u_is_a_normal():
    assert _q(5.0, u=2.0).samples(Z) == pytest.approx(stats.norm(5.0, 2.0).ppf(SHARES))


def test_factor_is_a_lognormal_whose_90_percent_band_is_value_over_and_times_factor():
    drawn = _q(600.0, factor=3.0).samples(Z)
    assert drawn[[1, 3, 5]] == pytest.approx([200.0, 600.0, 1800.0])
    sigma = np.log(3.0) / stats.norm.ppf(0.95)
    assert drawn == pytest.approx(stats.lognorm(sigma, scale=600.0).ppf(SHARES))
    assert sigma == pytest.approx(0.67, abs=0.005)  # as stated for the browning clock


def test_a_range_has_its_value_as_median_and_even_halves():
    drawn = _q(3.0, low=1.8, high=5.0).samples(Z)
    below, above = stats.uniform(1.8, 1.2), stats.uniform(3.0, 2.0)
    expected = np.where(SHARES <= 0.5, below.ppf(2 * SHARES), above.ppf(2 * SHARES - 1))
    assert drawn == pytest.approx(expected)


def test_a_symmetric_range_is_uniform():
    assert _q(2.0, low=1.0, high=3.0).samples(Z) == pytest.approx(
        stats.uniform(1.0, 2.0).ppf(SHARES)
    )


def test_a_range_with_log_is_even_in_the_logarithm():
    drawn = _q(1e7, low=1e6, high=1e8, log=True).samples(Z)
    assert drawn == pytest.approx(stats.loguniform(1e6, 1e8).ppf(SHARES))


def test_a_range_may_start_at_zero_or_below():
    assert _q(0.0, low=-1.0, high=2.0).samples(ndtri([0.25, 0.75])) == pytest.approx([-0.5, 1.0])
    assert _q(0.0, low=0.0, high=0.3).samples(ndtri([0.25, 0.75])) == pytest.approx([0.0, 0.15])


@pytest.mark.parametrize(("low", "high"), [(2.0, 8.5), (4.0, None), (None, 6.0)])
def test_u_with_hard_ends_is_a_cut_normal(low, high):
    a = -np.inf if low is None else (low - 5.0) / 2.0
    b = np.inf if high is None else (high - 5.0) / 2.0
    cut = stats.truncnorm(a, b, loc=5.0, scale=2.0)
    assert _q(5.0, u=2.0, low=low, high=high).samples(Z) == pytest.approx(cut.ppf(SHARES))


def test_hard_ends_are_never_passed():
    extreme = ndtri(np.array([1e-12, 1 - 1e-12]))
    for q in (
        _q(5.0, u=9.0, low=4.0, high=6.5),
        _q(5.0, low=4.0, high=6.5),
        _q(5.0, low=4.0, high=6.5, log=True),
    ):
        drawn = q.samples(extreme)
        assert drawn.min() >= 4.0 - 1e-9
        assert drawn.max() <= 6.5 + 1e-9


@pytest.mark.parametrize("score", [-40.0, -9.0, 9.0, 40.0])
def test_scores_that_a_measurement_pushed_far_out_still_give_a_number(score):
    for ends in ({"low": 4.0}, {"high": 6.5}, {"low": 4.0, "high": 6.5}):
        drawn = float(_q(5.0, u=2.0, **ends).samples(score))
        assert np.isfinite(drawn)
        assert ends.get("low", -np.inf) - 1e-9 <= drawn <= ends.get("high", np.inf) + 1e-9


def _kinds():
    return [
        _q(5.0, u=2.0),
        _q(5.0, u=2.0, low=2.0, high=8.0),
        _q(5.0, low=2.0, high=9.0),
        _q(5.0, low=2.0, high=9.0, log=True),
        _q(5.0, factor=1.7),
    ]


@pytest.mark.parametrize("q", _kinds(), ids=["u", "cut", "range", "log", "factor"])
def test_spread_zero_is_exact_and_two_doubles(q):
    z = ndtri(np.array([0.03, 0.4, 0.5, 0.6, 0.97]))
    assert np.array_equal(q.samples(z, 0.0), np.full(5, 5.0))
    single, double = q.samples(z), q.samples(z, 2.0)
    if q.log or q.factor:  # a ratio doubles in its logarithm
        single, double = np.log(single), np.log(double)
        assert double - np.log(5.0) == pytest.approx(2.0 * (single - np.log(5.0)), abs=1e-12)
    else:
        assert double - 5.0 == pytest.approx(2.0 * (single - 5.0), abs=1e-12)


@pytest.mark.parametrize("q", _kinds(), ids=["u", "cut", "range", "log", "factor"])
def test_samples_rise_with_the_score(q):
    assert np.all(np.diff(q.samples(np.linspace(-3, 3, 61))) > 0)
    assert not q.exact


@pytest.mark.parametrize(
    "spread", [{}, {"u": 0.0}, {"factor": 1.0}, {"low": 1.0}, {"low": 5.0, "high": 5.0}], ids=str
)
def test_what_has_no_spread_is_exact(spread):
    q = _q(5.0, **spread)
    assert q.exact
    assert np.array_equal(q.samples(Z), np.full(len(Z), 5.0))


def test_scalar_as_array():
    q = _q(5.0, u=2.0)
    assert float(q.samples(1.0)) == 7.0
    assert q.samples(np.array([[1.0], [2.0]])).shape == (2, 1)


def test_the_statuses_are_those_of_the_contract():
    assert STATUSES == ("measured", "read", "memory", "derived", "assumed")
