"""Isotherms from a few points: exact where it must be, honest about how sure, and never wild."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.isotherm_fit import fit_gab, gab_log_spread
from moldwin.physics.sorption import gab

RICE = (0.0743, 26.87, 0.7842)
#: A wide guess about a polymer nobody measured, as the seaweed's card has it.
GUESS = np.log([0.10, 10.0, 0.85])
CORRELATION = np.array([[1.0, -0.6, -0.7], [-0.6, 1.0, 0.3], [-0.7, 0.3, 1.0]])
SPREAD = np.array([0.25, 0.55, 0.06])
PRIOR = CORRELATION * np.outer(SPREAD, SPREAD)
EDGES = np.array([0.30, 0.45, 0.60, 0.75])


def test_many_sharp_points_give_the_set_that_made_them():
    aw = np.linspace(0.05, 0.9, 30)
    fit = fit_gab(aw, gab(aw, *RICE), 1e-7, GUESS, PRIOR)
    assert fit.settled
    assert np.exp(fit.mean) == pytest.approx(RICE, rel=1e-5)
    off = np.log(RICE) - GUESS  # the points are met: what is left is how far off the prior lies
    assert fit.misfit == pytest.approx(off @ np.linalg.inv(PRIOR) @ off, rel=1e-3)


def test_points_that_say_nothing_leave_the_prior():
    fit = fit_gab([0.3, 0.6], [0.05, 0.2], np.inf, GUESS, PRIOR)
    assert fit.mean == pytest.approx(GUESS, abs=1e-12)
    assert fit.covariance == pytest.approx(PRIOR, rel=1e-9)


def test_one_more_point_never_widens_the_curve():
    aw, wide = np.array([0.33, 0.53, 0.75]), np.inf
    before = np.inf
    for known in range(4):
        u = np.where(np.arange(3) < known, 0.004, wide)
        fit = fit_gab(aw, gab(aw, *np.exp(GUESS)), u, GUESS, PRIOR)
        spread = gab_log_spread(EDGES, fit.mean, fit.covariance)
        assert np.all(spread <= before + 1e-12)
        before = spread


def test_where_only_the_monolayer_is_open_it_is_the_weighted_mean_of_logarithms():
    """C and K known: ln xm joins prior and point as two readings of one number (small errors)."""
    tight = np.diag([0.01, 1e-7, 1e-7]) ** 2
    aw, u = 0.53, 0.01
    x = gab(aw, *np.exp(GUESS)) * 1.01
    fit = fit_gab(aw, x, u * x, GUESS, tight)
    expected = GUESS[0] + np.log(1.01) * 0.01**2 / (0.01**2 + u**2)
    assert fit.mean[0] == pytest.approx(expected, abs=1e-4)
    assert fit.covariance[0, 0] == pytest.approx(0.5 * 0.01**2, rel=0.02)


def test_an_unsure_humidity_counts_by_the_slope():
    aw, x = np.array([0.35, 0.7]), gab(np.array([0.35, 0.7]), *RICE)
    slope = (gab(aw + 1e-6, *RICE) - gab(aw - 1e-6, *RICE)) / 2e-6
    start, tight = np.log(RICE), PRIOR / 1e4
    by_aw = fit_gab(aw, x, 1e-6, start, tight, u_aw=0.02)
    by_x = fit_gab(aw, x, 0.02 * slope, start, tight)
    assert by_aw.covariance == pytest.approx(by_x.covariance, rel=1e-3)


def _users(points, count, seed):
    """Truths from the prior, and what each user reads at so many humidities."""
    rng = np.random.default_rng(seed)
    truth = GUESS + rng.standard_normal((count, 3)) @ np.linalg.cholesky(PRIOR).T
    truth[:, 2] = np.minimum(truth[:, 2], np.log(1.05))
    aw = np.sort(rng.uniform(0.15, 0.85, (count, points)), axis=-1)
    x = gab(aw, *np.exp(truth).T[..., None])
    u = 0.002 + 0.02 * x
    read = np.maximum(x + u * rng.standard_normal(x.shape), 1e-3)
    return truth, aw, read, u


@pytest.mark.parametrize("points", [2, 3, 5, 8])
def test_the_truth_lies_in_the_ninety_percent_band_nine_times_in_ten(points):
    truth, aw, read, u = _users(points, 2000, seed=points)
    fit = fit_gab(aw, read, u, GUESS, PRIOR)
    assert np.all(fit.settled)
    found = 0.0
    for edge in EDGES:
        xm, c, k = np.exp(truth).T
        spread = np.array(
            [gab_log_spread(edge, m, v) for m, v in zip(fit.mean, fit.covariance, strict=True)]
        )
        off = np.log(gab(edge, xm, c, k) / gab(edge, *np.exp(fit.mean).T))
        found += np.mean(np.abs(off) <= 1.6449 * spread) / len(EDGES)
    assert 0.85 <= found <= 0.95


@pytest.mark.parametrize("x", [(0.9, 1.5, 3.0), (0.01, 0.02, 0.05), (0.3, 0.2, 0.1)])
def test_points_far_from_the_prior_get_an_answer_and_a_misfit_that_tells(x):
    """Ten times as wet as thought, a fifth of it, and falling with humidity."""
    fit = fit_gab([0.3, 0.6, 0.9], x, 0.005, GUESS, PRIOR)
    assert fit.settled
    assert np.all(np.isfinite(fit.mean))
    assert fit.misfit > 20.0


def test_many_users_at_once_are_one_after_another():
    _, aw, read, u = _users(3, 40, seed=9)
    together = fit_gab(aw, read, u, GUESS, PRIOR, u_aw=0.01)
    for i in range(40):
        alone = fit_gab(aw[i], read[i], u[i], GUESS, PRIOR, u_aw=0.01)
        assert alone.mean == pytest.approx(together.mean[i], abs=1e-7)
        assert alone.covariance == pytest.approx(together.covariance[i], rel=1e-5)


def test_a_single_point_may_be_a_plain_number():
    one = fit_gab(0.53, 0.121, 0.002, GUESS, PRIOR)
    assert one.mean == pytest.approx(fit_gab([0.53], [0.121], [0.002], GUESS, PRIOR).mean)


def test_nan_in_nan_out_for_that_user_only():
    fit = fit_gab([[0.3, 0.6], [0.3, 0.6]], [[0.08, np.nan], [0.08, 0.14]], 0.003, GUESS, PRIOR)
    assert np.isnan(fit.mean[0]).all()
    assert np.isfinite(fit.mean[1]).all()
    assert np.isnan(gab_log_spread(np.nan, GUESS, PRIOR))


def test_scalar_equals_array():
    many = gab_log_spread(EDGES, GUESS, PRIOR)
    assert many.tolist() == [gab_log_spread(a, GUESS, PRIOR) for a in EDGES]


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: fit_gab(53, 0.1, 0.002, GUESS, PRIOR), "a percentage"),
        (lambda: fit_gab(0.5, 0.0, 0.002, GUESS, PRIOR), "x must be above 0"),
        (lambda: fit_gab(0.5, 0.1, 0.0, GUESS, PRIOR), "u_x must lie in"),
        (lambda: fit_gab(0.5, 0.1, 0.002, GUESS, np.eye(2)), "3 by 3"),
        (lambda: fit_gab(0.5, 0.1, 0.002, GUESS, np.zeros((3, 3))), "in every direction"),
        (lambda: fit_gab(0.5, 0.1, 0.002, GUESS, PRIOR, u_aw=2.0), "u_aw must lie in"),
        (lambda: gab_log_spread(53, GUESS, PRIOR), "a percentage"),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
