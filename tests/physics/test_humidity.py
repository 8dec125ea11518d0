"""Humidity sources: limits, trends, shapes and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.humidity import (
    SALTS,
    glycerol_mass_fraction,
    glycerol_water_activity,
    salt_range,
    salt_uncertainty,
    salt_water_activity,
)

each_salt = pytest.mark.parametrize("salt", SALTS)


def test_salts_are_sorted_and_whole():
    assert list(SALTS) == sorted(SALTS)
    assert len(SALTS) == 17


@each_salt
def test_every_salt_stays_a_humidity_in_its_range(salt):
    fit = salt_range(salt)
    t = np.linspace(fit.low, fit.high, 50)
    aw, u = salt_water_activity(salt, t), salt_uncertainty(salt, t)
    assert np.all((aw > 0.05) & (aw < 1))
    assert np.all((u > 0) & (u < 0.04))


@each_salt
def test_scalar_equals_array_and_nan_stays_nan(salt):
    t = np.array([[293.15, 298.15], [296.0, np.nan]])
    for function in (salt_water_activity, salt_uncertainty):
        many = function(salt, t)
        assert np.isnan(many[1, 1])
        assert function(salt, 298.15) == many[0, 1]
        assert np.isscalar(function(salt, 298.15))


@each_salt
def test_leaving_the_range_warns_and_goes_on(salt):
    outside = salt_range(salt).high + 1.0
    with pytest.warns(OutOfRangeWarning, match=r"t over"):
        beyond = salt_water_activity(salt, outside)
    inside = salt_water_activity(salt, salt_range(salt).high)
    assert beyond != inside
    assert beyond == pytest.approx(inside, abs=0.02)
    at_the_end = salt_uncertainty(salt, salt_range(salt).high)
    assert salt_uncertainty(salt, outside, check=False) >= at_the_end


def test_a_salt_nobody_knows_is_refused_with_the_nearest():
    with pytest.raises(ValueError, match="did you mean MgCl2"):
        salt_water_activity("MgCl", 298.15)
    with pytest.raises(ValueError, match="unknown salt"):
        salt_range("CoCl2")


def test_celsius_is_refused():
    with pytest.raises(ValueError, match=r"add 273\.15"):
        salt_water_activity("NaCl", 25.0)


def test_straight_lines_go_through_their_rows_and_halve_between_them():
    assert salt_water_activity("KI", 298.15) == pytest.approx(0.6886)
    assert salt_water_activity("KI", 300.65) == pytest.approx((0.6886 + 0.6789) / 2)


W = np.linspace(0.0, 1.0, 4001)


def test_glycerol_ends_at_pure_water_and_at_nothing():
    assert glycerol_water_activity(np.array([0.0, 1.0]), 298.15) == pytest.approx([1.0, 0.0])


def test_glycerol_falls_without_a_jump_or_a_kink():
    aw = glycerol_water_activity(W, 298.15)
    step = np.diff(aw)
    assert np.all(step < 0)
    # the blend adds no jump: its steps stay near those of its neighbors
    joined = (W[:-1] > 0.25) & (W[:-1] < 0.45)
    assert np.max(np.abs(np.diff(step[joined]))) < 2e-6


def test_weak_baths_follow_norrish():
    # by hand, 20 wt%: mole fraction of glycerol .04664
    assert glycerol_water_activity(0.20, 298.15) == pytest.approx(0.9510, abs=1e-4)


def test_mass_fraction_is_the_inverse():
    aw = glycerol_water_activity(W, 298.15)
    assert glycerol_mass_fraction(aw, 298.15) == pytest.approx(W, abs=1e-9)


def test_mass_fraction_broadcasts_and_keeps_nan():
    w = glycerol_mass_fraction(np.array([[0.5], [0.6], [np.nan]]), np.array([294.15, 298.15]))
    assert w.shape == (3, 2)
    assert np.isnan(w[2]).all()
    assert glycerol_mass_fraction(0.6, 298.15) == w[1, 1]


def test_glycerol_warns_far_from_room_temperature():
    with pytest.warns(OutOfRangeWarning):
        glycerol_water_activity(0.5, 340.0)
    with pytest.warns(OutOfRangeWarning):
        glycerol_mass_fraction(0.5, 340.0)


@pytest.mark.parametrize("function", [glycerol_water_activity, glycerol_mass_fraction])
def test_percent_is_refused(function):
    with pytest.raises(ValueError, match="percentage"):
        function(80, 298.15)


@pytest.mark.parametrize(
    ("salt", "coldest", "hottest"),
    [("NaBr", 5, 55), ("NaCl", 0, 80), ("CH3COOK", 10, 30), ("KCl", 0, 90), ("KI", 5, 55)],
)
def test_ends_of_the_table(salt, coldest, hottest):
    """Both ends, of salts with a polynomial and of salts read between lines."""
    fit = salt_range(salt)
    assert (fit.low - 273.15, fit.high - 273.15) == pytest.approx((coldest, hottest))


def test_each_salt_is_known_over_the_temperatures_of_its_table():
    """Greenspan 1977: ends of the tables in °C, as printed."""
    printed = {"LiCl": (0, 100), "CH3COOK": (10, 30), "MgCl2": (0, 99), "K2CO3": (0, 30),
               "NaCl": (0, 80), "KCl": (0, 90), "KNO3": (0, 50), "K2SO4": (0, 50)}  # fmt: skip
    for salt, ends in printed.items():
        known = salt_range(salt)
        assert (known.low - 273.15, known.high - 273.15) == pytest.approx(ends), salt
