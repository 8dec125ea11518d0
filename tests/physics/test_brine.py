"""Dissolved salt: its step, its two ends, shapes and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.brine import salt_water


def test_scalar_equals_array_and_nan_stays_nan():
    values = np.array([0.0, 0.3, 0.72, 0.9, np.nan])
    many = salt_water(values)
    assert np.isnan(many[-1])
    np.testing.assert_allclose([salt_water(v) for v in values], many, rtol=1e-14)
    assert np.isscalar(salt_water(0.3))


def test_more_humid_air_never_means_less_water():
    assert np.all(np.diff(salt_water(np.linspace(0.0, 0.97, 98))) >= 0)


def test_impossible_input_is_refused():
    with pytest.raises(ValueError, match="percentage"):
        salt_water(75)


def test_extrapolation_warns_unless_a_stage_asks():
    with pytest.warns(OutOfRangeWarning):
        warned = salt_water(0.995)
    assert salt_water(0.995, check=False) == warned


def test_salt_is_dry_below_its_step_and_boundless_in_saturated_air():
    assert np.all(salt_water(np.array([0.0, 0.3, 0.70])) == 0.0)
    with pytest.warns(OutOfRangeWarning):
        assert salt_water(1.0) == np.inf


def test_dilute_salt_follows_raoult():
    # two ions a salt: 1 - aw = 2 m M_w within the osmotic coefficient, 0.93 at 0.1 molal
    water = salt_water(0.99665, check=False)
    assert 1 / (water * 0.05844277) == pytest.approx(0.1, rel=0.01)
