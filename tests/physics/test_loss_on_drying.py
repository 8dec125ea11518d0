"""Glycerol that leaves with the water, and drying curves taken apart."""

from __future__ import annotations

import math

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.loss_on_drying import _WAYS, fit_drying_curve, glycerol_flux, glycerol_lost
from moldwin.physics.vapor import glycerol_vapor_pressure

HOUR = 3600.0
SAMPLE, DISH = 5e-3, 20e-4
TIMES = np.array([30.0, 60.0, 90.0, 120.0, 180.0, 240.0]) * 60.0


def share_lost(t_c, time, activity=0.3, film=5e-3):
    """Of a 5 g sample in a 20 cm² dish, with more glycerol than it can lose."""
    return glycerol_flux(t_c + 273.15, activity, film) * DISH * time / SAMPLE


# ---------------------------------------------------------------------- evaporation


def test_the_vapor_pressure_behind_it_at_105_degrees():
    assert glycerol_vapor_pressure(378.15) == pytest.approx(36.0, abs=0.5)


@pytest.mark.parametrize(("t_c", "pct_an_hour", "half_digit"), [(105, 0.2, 0.05), (130, 1.1, 0.05)])
def test_five_grams_in_twenty_square_centimeters_lose_as_worked_out_by_hand(
    t_c, pct_an_hour, half_digit
):
    assert 100 * share_lost(t_c, HOUR) == pytest.approx(pct_an_hour, abs=half_digit)


@pytest.mark.parametrize(("activity", "pct"), [(0.2, 1.1), (0.6, 3.2)])
def test_ninety_minutes_at_130_degrees_fake_one_to_three_percent(activity, pct):
    assert 100 * share_lost(130, 1.5 * HOUR, activity) == pytest.approx(pct, abs=0.05)


def test_the_flux_is_an_ideal_gas_carried_through_a_film():
    # moles per volume from the gas law, written out apart from the code
    per_volume = glycerol_vapor_pressure(400.0) / (1.380649e-23 * 6.02214076e23 * 400.0)
    by_hand = 0.004 * 0.25 * per_volume * 92.0938e-3
    assert glycerol_flux(400.0, 0.25, 0.004) == pytest.approx(by_hand, rel=1e-9)


def test_a_little_time_takes_flux_times_area_times_time():
    assert glycerol_lost(1.0, 1e-6, DISH, 1e-3) == pytest.approx(1e-6 * DISH, rel=1e-5)


def test_much_time_takes_all_there_is_and_never_more():
    lost = glycerol_lost(np.logspace(2, 9, 30), 1e-5, DISH, 1e-3)
    assert np.all(np.diff(lost) >= 0.0)
    assert np.all(lost <= 1e-3)
    assert lost[-1] == pytest.approx(1e-3)


def test_half_gone_when_the_law_of_decay_says_so():
    flux = 1e-6
    half_time = math.log(2) * 1e-3 / (flux * DISH)
    assert glycerol_lost(half_time, flux, DISH, 1e-3) == pytest.approx(0.5e-3)


def test_hotter_wetter_with_glycerol_and_windier_take_more():
    base = glycerol_flux(378.15, 0.3, 0.005)
    assert glycerol_flux(388.15, 0.3, 0.005) > 1.8 * base  # the vapor pressure doubles in 10 K
    assert glycerol_flux(378.15, 0.6, 0.005) == pytest.approx(2 * base)
    assert glycerol_flux(378.15, 0.3, 0.010) == pytest.approx(2 * base)


def test_without_glycerol_nothing_leaves():
    assert glycerol_lost(HOUR, 1e-5, DISH, 0.0) == 0.0
    assert glycerol_flux(378.15, 0.0, 0.005) == 0.0


def test_scalar_and_array_agree_and_nan_stays_nan():
    t = np.array([360.0, np.nan, 400.0])
    flux = glycerol_flux(t, 0.3, 0.005)
    assert flux[0] == glycerol_flux(360.0, 0.3, 0.005)
    assert np.isnan(flux[1])
    lost = glycerol_lost(HOUR, flux, DISH, np.array([1e-3, 1e-3, 0.0]))
    assert lost[0] == glycerol_lost(HOUR, float(flux[0]), DISH, 1e-3)
    assert np.isnan(lost[1])
    assert lost[2] == 0.0
    assert np.isnan(glycerol_lost(HOUR, 1e-6, DISH, np.nan))


def test_outside_the_fit_of_the_vapor_pressure_it_warns():
    with pytest.warns(OutOfRangeWarning, match="glycerol_vapor_pressure"):
        glycerol_flux(280.0, 0.3, 0.005)
    glycerol_flux(280.0, 0.3, 0.005, check=False)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: glycerol_flux(105.0, 0.3, 0.005), "273.15"),
        (lambda: glycerol_flux(378.15, 30.0, 0.005), "activity"),
        (lambda: glycerol_flux(378.15, 0.3, 0.0), "film"),
        (lambda: glycerol_lost(-1.0, 1e-6, DISH, 1e-3), "time"),
        (lambda: glycerol_lost(HOUR, -1e-6, DISH, 1e-3), "flux"),
        (lambda: glycerol_lost(HOUR, 1e-6, -DISH, 1e-3), "area"),
        (lambda: glycerol_lost(HOUR, 1e-6, DISH, -1e-3), "glycerol"),
        (lambda: fit_drying_curve([1.0, 2.0], [0.1, 0.1], 1e-4), "three weighings"),
        (lambda: fit_drying_curve([1.0, 2.0, 2.0], [0.1, 0.1, 0.1], 1e-4), "rise"),
        (lambda: fit_drying_curve([0.0, 1.0, 2.0], [0.1, 0.1, 0.1], 1e-4), "above 0"),
        (lambda: fit_drying_curve([1.0, 2.0, 3.0], [0.1, 0.1], 1e-4), "three weighings"),
        (lambda: fit_drying_curve([1.0, 2.0, 3.0], [0.1, 0.1, 0.1], 0.0), "reading_u"),
    ],
)
def test_the_impossible_is_refused(call, said):
    with pytest.raises(ValueError, match=said):
        call()


# ------------------------------------------------------------------------- the curve


def loss(a, tau, r, times=TIMES):
    return a * -np.expm1(-times / tau) + r * times


@pytest.mark.parametrize("tau", [600.0, 1800.0, 5400.0])
@pytest.mark.parametrize("r", [0.0, 1e-7, 3e-6])
def test_a_clean_curve_gives_back_what_it_was_made_of(tau, r):
    curve = fit_drying_curve(TIMES, loss(0.12, tau, r), 1e-7)
    assert curve.amplitude == pytest.approx(0.12, rel=1e-4)
    assert curve.tail == pytest.approx(r, abs=5e-10)
    assert curve.rest == pytest.approx(0.12 * math.exp(-TIMES[-1] / tau), abs=1e-6)


def slab_left(fourier):
    """What is left of a slab by its own series, on the slowest constant (many terms by hand)."""
    odd = np.arange(1, 60, 2)[:, None]
    return (8 / np.pi**2 * np.exp(-(odd**2) * fourier) / odd**2).sum(axis=0)


def sphere_left(fourier):
    n = np.arange(1, 60)[:, None]
    return (6 / np.pi**2 * np.exp(-(n**2) * fourier) / n**2).sum(axis=0)


@pytest.mark.parametrize("left", [lambda f: np.exp(-f), slab_left, sphere_left])
@pytest.mark.parametrize(
    ("tau", "r", "u"), [(1200.0, 5e-7, 1e-4), (3600.0, 5e-7, 1e-4), (1200.0, 3e-6, 2e-3)]
)
def test_whichever_way_it_dries_the_stated_uncertainty_covers_noisy_weighings(left, tau, r, u):
    rng = np.random.default_rng(20260)
    remaining = 0.1 * left(TIMES / tau)
    tails, rests = [], []
    for _ in range(60):
        wet_error, errors = u * rng.standard_normal(), u * rng.standard_normal(len(TIMES))
        curve = fit_drying_curve(TIMES, 0.1 - remaining + r * TIMES + errors + wet_error, u)
        tails.append((curve.tail - r) / curve.tail_u)
        rests.append((curve.rest - remaining[-1]) / curve.rest_u)
    for misses in (tails, rests):
        assert np.mean(np.abs(misses) < 2.0) >= 0.9
    assert 0.5 < np.sqrt(np.mean(np.square(tails))) < 1.3  # neither too sure nor shy


def test_the_slow_end_of_a_slab_is_not_taken_for_a_steady_loss():
    slab = slab_left(TIMES / 6000.0)
    curve = fit_drying_curve(TIMES, 0.1 * (1 - slab), 1e-5)
    assert abs(curve.rest - 0.1 * slab[-1]) < 2 * curve.rest_u
    assert not curve.tail_is_seen


def test_a_flat_end_shows_no_tail_and_a_steady_loss_does():
    flat = fit_drying_curve(TIMES, loss(0.1, 900.0, 0.0), 1e-4)
    steady = fit_drying_curve(TIMES, loss(0.1, 900.0, 1e-6), 1e-4)
    assert not flat.tail_is_seen
    assert steady.tail_is_seen


def test_slow_water_and_a_tail_cannot_be_told_apart_early_on():
    early = fit_drying_curve(TIMES[:3], loss(0.1, 7200.0, 0.0, TIMES[:3]), 1e-4)
    late = fit_drying_curve(TIMES, loss(0.1, 1200.0, 0.0), 1e-4)
    assert early.tail_u > 20 * late.tail_u
    assert early.rest > 0.01


def test_a_mixture_that_dries_in_no_single_way_is_less_sure():
    mixed = 0.5 * (loss(0.1, 500.0, 0.0) + loss(0.1, 6000.0, 0.0))
    curve = fit_drying_curve(TIMES, mixed, 1e-5)
    alike = fit_drying_curve(TIMES, loss(0.1, curve.time_constant, curve.tail), 1e-5)
    assert curve.tail_u > 3 * alike.tail_u


def test_water_that_comes_back_is_no_negative_tail():
    curve = fit_drying_curve([1800.0, 3600.0, 5400.0], [0.100, 0.098, 0.096], 1e-3)
    assert curve.tail >= 0.0
    assert curve.amplitude >= 0.0


def test_a_sample_that_loses_nothing_has_nothing_to_lose():
    curve = fit_drying_curve([1800.0, 3600.0, 5400.0], [0.0, 0.0, 0.0], 1e-4)
    assert curve.amplitude == pytest.approx(0.0, abs=1e-3)
    assert curve.rest == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("way", _WAYS)
def test_every_way_of_drying_ends_with_the_same_slowest_time(way):
    """Their time constants are compared with one another: an e-th is left after each, at last."""
    assert way(7.0) / way(6.0) == pytest.approx(np.exp(-1.0), rel=1e-6)
    assert way(1e-12) == pytest.approx(1.0, abs=1e-5)
