"""Gelatinization: limits, trends, impossible input."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.gelatinization import peak_in_liquid, share_by_heat, share_by_water


def test_plain_water_moves_nothing():
    assert peak_in_liquid(339.15, 0.0, 30.0) == 339.15


def test_the_peak_rises_with_plasticizer_and_with_its_strength():
    w = np.linspace(0.0, 0.4, 9)
    assert np.all(np.diff(peak_in_liquid(339.15, w, 30.0)) > 0)
    assert peak_in_liquid(339.15, 0.2, 60.0) > peak_in_liquid(339.15, 0.2, 30.0)


def test_more_plasticizer_than_water_is_an_extrapolation():
    with pytest.warns(OutOfRangeWarning, match="plasticizer"):
        peak_in_liquid(339.15, 0.7, 30.0)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        peak_in_liquid(339.15, 0.7, 30.0, check=False)


def test_heat_below_the_onset_melts_none_and_above_the_end_all():
    t = np.array([320.0, 335.0, 340.0, 345.0, 370.0])
    assert share_by_heat(t, 335.0, 345.0) == pytest.approx([0, 0, 0.5, 1, 1])


def test_a_starch_that_goes_at_once():
    assert share_by_heat([339.0, 341.0], 340.0, 340.0) == pytest.approx([0.0, 1.0])


def test_water_lets_none_some_and_all_go():
    x = np.array([0.0, 0.43, 0.9, 1.5, 9.0])
    found = share_by_water(x, 1.5, 0.43)
    assert found[[0, 1, 3, 4]] == pytest.approx([0, 0, 1, 1])
    assert 0.5 < found[2] < 1.0
    assert np.all(np.diff(share_by_water(np.linspace(0.43, 1.5, 20), 1.5, 0.43)) > 0)


def test_scalar_is_array():
    x = np.array([0.6, 1.1])
    assert share_by_water(x, 1.5, 0.4)[1] == share_by_water(1.1, 1.5, 0.4)
    assert share_by_heat(np.array([340.0]), 335.0, 345.0)[0] == share_by_heat(340.0, 335.0, 345.0)
    assert isinstance(share_by_water(1.1, 1.5, 0.4), float)


def test_nan_stays_nan():
    assert np.isnan(share_by_water(np.nan, 1.5, 0.4))
    assert np.isnan(share_by_heat(np.nan, 335.0, 345.0))
    assert np.isnan(peak_in_liquid(339.15, np.nan, 30.0))


@pytest.mark.parametrize(
    ("call", "slip"),
    [
        (lambda: peak_in_liquid(66.0, 0.1, 30.0), "273.15"),
        (lambda: peak_in_liquid(339.15, 12.0, 30.0), "percentage"),
        (lambda: peak_in_liquid(339.15, 0.1, -5.0), "shift"),
        (lambda: share_by_heat(88.0, 335.0, 345.0), "273.15"),
        (lambda: share_by_heat(350.0, 345.0, 335.0), "swapped"),
        (lambda: share_by_water(-1.0, 1.5, 0.4), "x_water"),
        (lambda: share_by_water(1.0, 0.4, 1.5), "swapped"),
    ],
)
def test_the_impossible_is_refused(call, slip):
    with pytest.raises(ValueError, match=slip):
        call()
